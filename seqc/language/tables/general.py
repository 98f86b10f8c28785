"""What is said once for the whole machine."""

from __future__ import annotations

from seqc.language.quantities import FREQUENCY
from seqc.language.schema import Schema, varying
from seqc.language.tables.common import TOLERANCE_ENTRY
from seqc.machine.controller import ASSUMED_CLOCK_PPM
from seqc.machine.span import ASSUMED_PPM

GENERAL = {
    "tolerance": Schema(
        (
            TOLERANCE_ENTRY.told(
                "How much the times of parts may differ from what is written, either way, where "
                "nothing else is told.",
                "Load time and cadence, which hold for every combination.",
                f"{ASSUMED_PPM / 10_000:g} %, with a warning",
            ),
        ),
        required=("tolerance",),
    ),
    "controller": Schema(
        (
            varying("clock", FREQUENCY, 10**6, 10**13, example="16 MHz +- 0.5 %").told(
                "The rate of its clock, and how much that may differ.",
                "Times: all of them stretch alike.",
                f"off by {ASSUMED_CLOCK_PPM / 10_000:g} % at most",
            ),
        ),
        required=("clock",),
    ),
}
