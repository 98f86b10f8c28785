"""Part 1: text to machine, with every diagnostic."""

from seqc.language.declared import Declared
from seqc.language.reading import read, read_sketch, read_text

__all__ = ["Declared", "read", "read_sketch", "read_text"]
