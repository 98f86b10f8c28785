"""Part 3: step tables to files, through the templates of a target."""
