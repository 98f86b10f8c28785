"""The best order of few passes whose needs leave actuators open: all states of a pass at once."""
