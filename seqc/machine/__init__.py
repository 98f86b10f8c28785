"""The model: parts, lanes, glyphs, electrics, motion and the step table."""
