"""The fewest passes of a load, and their best order, proven."""
