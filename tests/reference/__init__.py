"""Independent answers to what the solver answers; nothing here imports the solver."""
