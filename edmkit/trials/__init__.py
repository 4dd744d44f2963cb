"""The trial book: what was burned and measured, what it teaches, which trial next."""
