"""Grids that change independently of each other: moves in time, and the delays between tracks."""
