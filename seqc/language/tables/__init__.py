"""The settings of every block: phrases, dimensions, bounds, and what each of them means.

The reader, the reference and the editor all go by these tables. The bounds only keep out what can't
be meant; whether a value is wise is for later stages to say.
Times are in us, lengths in um, angles in millidegrees, shares in ppm, and so on as in the model.
"""

from __future__ import annotations

from seqc.language.tables.cells import CELLS
from seqc.language.tables.electrics import ELECTRICS
from seqc.language.tables.general import GENERAL
from seqc.language.tables.parts import PARTS
from seqc.language.tables.pictures import PICTURES
from seqc.language.tables.switching import SWITCHING

SCHEMAS = CELLS | PARTS | ELECTRICS | SWITCHING | PICTURES | GENERAL
