"""The way from a machine file to checked firmware tables."""
