"""A machine without papers: readings in, what its switches mean out."""
