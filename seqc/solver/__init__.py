"""Part 2: reachability, passes and their order."""
