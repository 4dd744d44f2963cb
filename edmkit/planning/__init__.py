"""From drawing to burn card."""
