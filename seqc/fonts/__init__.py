"""Glyphs, from art in the language and from font files."""
