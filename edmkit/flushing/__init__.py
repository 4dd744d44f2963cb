"""Flushing: what reaches the gap, what clogs it, what the meters and the dial say of it."""
