"""Glyphs, from art in the language and from font files, and the texts that show them."""

from seqc.fonts.dressing import dress
from seqc.fonts.text import TextError, glyph_names, text_of

__all__ = ["TextError", "dress", "glyph_names", "text_of"]
