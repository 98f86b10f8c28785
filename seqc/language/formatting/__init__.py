"""Lays a machine file out as the examples are, with its comments, and means the same by it."""

from seqc.language.formatting.document import formatted

__all__ = ["formatted"]
