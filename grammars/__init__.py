"""Grammars of the language, for lark."""
