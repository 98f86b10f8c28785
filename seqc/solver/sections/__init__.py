"""Loads whose needs come in very many ways, section by section.

A section is a set of selectors that no condition ties to others, say those of one row. What a load
takes is then a sum over sections: between two needs at least what each section must move, and in a
given order of needs just the shortest path of each section by itself. So the shortest way through
all needs by these sums bounds every order, and where its own order takes no more it is best. The
ways of a need, all choices of a way in each section, are never put together.
"""
