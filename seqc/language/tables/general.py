"""What is said once for the whole machine."""

from __future__ import annotations

from seqc.language.quantities import CURRENT, FREQUENCY, TEMPERATURE
from seqc.language.schema import Schema, measure, name, varying
from seqc.language.tables.common import TOLERANCE_ENTRY
from seqc.machine.controller import ASSUMED_CLOCK_PPM
from seqc.machine.span import ASSUMED_PPM
from seqc.machine.winding import AMBIENT_C, REFERENCE_C

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
            measure("draws", CURRENT, 1, 10**8, example="60 mA").told(
                "The current that it always draws.",
                "What its supply has left for coils, and the energy.",
                "not counted",
            ),
            name("on", "bench", "supply").told(
                "The supply that feeds it.",
                "As its current.",
                "the only one",
                beside="draws 60 mA",
            ),
        ),
        required=("clock",),
    ),
    "air": Schema(
        (
            varying("", TEMPERATURE, -60_000, 120_000, "temperature", "5 C to 40 C").told(
                "The coldest and the warmest air around the coils.",
                "Plan: the peak of supplies, since cold coils draw more. Check: heat and pull-in.",
                f"from {REFERENCE_C:g} to {AMBIENT_C:g} C",
            ),
        ),
        required=("temperature",),
    ),
}
