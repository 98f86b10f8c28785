"""Which glyphs can be made at all, and the smallest repairs of those that can't."""
