"""Before a machine exists: which cells' parts one actuator is to move, found from the glyphs.

`wants` says what the cells want of the selectors, `question` what is asked of a design, `search`
answers with the fewest actuators, `listing` picks the designs worth showing, and `writing` puts one
into the text of a machine file.
"""
