"""The spares sheet: what must be at hand, and when what is worn is exchanged."""

from __future__ import annotations

import math

from seqc.forecast.result import Forecast
from seqc.forecast.span import lived, spoken
from seqc.report.sheets.sheet import Sheet, Table

HEAD = ("part", "in use", "at hand", "exchange after", "exchanged on")


def spares_sheet(forecast: Forecast) -> Sheet:
    """A row for each type of part with a rated life, those that fail most often first."""
    rows = tuple(
        (
            spare.kind,
            f"{spare.parts:,}",
            f"{math.ceil(spare.enough):,}",
            lived(spare.interval_h),
            "",
        )
        for spare in forecast.spares
    )
    told = (
        f"For {spoken(forecast.tally.running_us)} of {forecast.programme}. The number at hand is "
        "exceeded with one chance in ten. Rated lives are statistics, not promises.",
    )
    table = Table("Spares", HEAD, rows, figures=(1, 2))
    title = f"Spares of {forecast.machine.name}"
    return Sheet("spares", title, told, (table,) if rows else ())
