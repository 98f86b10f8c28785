"""Bringing a machine up: the line to its controller, the record, and what drives both."""
