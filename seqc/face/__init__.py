"""The stretches of the way from a machine file to checked firmware tables, a module each."""
