"""Loads whose needs come in very many ways, section by section.

A section is a set of selectors that no condition ties to others, say those of one row. In a given
order of passes each section takes its shortest path by itself, and what a load takes is the sum
over sections. The ways of a need, all choices of a way in each section, are never put together.
"""
