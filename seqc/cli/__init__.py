"""Commands: read arguments, call, print."""
