"""Targets: a folder each, with a description and templates."""
