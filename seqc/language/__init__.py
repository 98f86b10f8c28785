"""Part 1: text to machine, with every diagnostic."""
