"""Good orders of many passes, and the bounds that they are held to."""
