"""A small clock in the language, in pieces that tests replace."""

from __future__ import annotations

import pathlib

from seqc import fonts, language
from seqc.language.reading import read_text
from seqc.machine.findings import Findings
from seqc.machine.model import Machine

GRID = "grid face { columns 1 rows 1 copies 4 }"
SMALL = "coil small { 12 V 8 ohm 8 mH pulse 40 ms travel 18 ms }"
PICK = "selector pick { per row coil small }"
CLOCK = "clock day { hours minutes on face }"
DIGITS = " ".join(f'glyph "{digit}" {{ |{"#."[digit % 2]}| }}' for digit in range(10))

TEXT = f"""machine quay_clock
item slate {{ tone dark stock 90 }}
item chalk {{ tone light stock 90 }}
{GRID}
lane face = shown <- swap <- drop <- pick(slate, chalk)
{PICK}
gate drop {{ per column coil small open 60 ms refill 70 ms }}
gate swap {{ whole grid coil small open 80 ms }}
path drop -> swap {{ falls in 200 ms }}
path swap -> shown {{ falls in 90 ms }}
{SMALL}
relay card {{ operate 8 ms release 5 ms }}
outputs bus {{ bits 48 }}
drive pick, drop, swap {{ changeover pair relay card from bus }}
supply bench {{ 12 V limit 8 A }}
font plain for face {{ mark "#" slate mark "." chalk {DIGITS} }}
{CLOCK}
"""


def changed(old: str, new: str) -> str:
    """The text with one piece replaced."""
    assert TEXT.count(old) == 1
    return TEXT.replace(old, new)


def errors(text: str) -> list[str]:
    """Each finding of a text as `line:column code`."""
    findings = Findings()
    read_text(text, "quay.lanes", findings)
    return [f"{f.place.line}:{f.place.column} {f.code}" for f in findings]


def machine_of(text: str, folder: pathlib.Path) -> Machine:
    """The machine of a text that is without findings."""
    path = folder / "quay.lanes"
    path.write_text(text, encoding="utf-8")
    findings = Findings()
    declared = language.read(path, findings)
    assert list(findings) == []
    assert declared
    machine = fonts.dress(declared, findings)
    assert list(findings) == []
    return machine
