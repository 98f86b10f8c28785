"""Sheets for the bench: one A4 page each, black on white, with boxes to tick."""
