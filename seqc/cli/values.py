"""Values that options take beside those that click has."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import click

UNITS_US = {
    "ms": 1_000,
    "s": 1_000_000,
    "min": 60_000_000,
    "h": 3_600_000_000,
    "d": 86_400_000_000,
}
LONGEST_US = 100 * 365 * UNITS_US["d"]


class Number(click.FloatRange):
    """A number within bounds, of which "not a number" and infinity are none."""

    def convert(
        self,
        value: Any,  # noqa: ANN401
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> float:
        """The number; a call that can't be read ends with exit status 2."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number to reckon with", param, ctx)
        return number


class Duration(click.ParamType[int]):
    """A time with its unit, such as `24h` or `90 min`, in microseconds."""

    name = "time"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> int:
        """The time; a call that can't be read ends with exit status 2."""
        if isinstance(value, int):
            return value
        found = re.fullmatch(r"(\d{1,12}(?:\.\d+)?) ?([a-z]+)", str(value).strip())
        unit = UNITS_US.get(found[2]) if found else None
        if found is None or unit is None:
            self.fail(f"{value!r} is not a time: write 24h, 90min, 30s or 7d", param, ctx)
        time_us = round(float(found[1]) * unit)
        if not 0 < time_us <= LONGEST_US:
            self.fail(f"{value!r} is not between 1 us and 100 years", param, ctx)
        return time_us


class NewFolder(click.Path):
    """A folder that is to be filled, made where it isn't there; its name can't be empty."""

    def __init__(self) -> None:
        super().__init__(path_type=Path, file_okay=False)

    def convert(
        self,
        value: Any,  # noqa: ANN401
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> Any:  # noqa: ANN401
        """The path; an empty one would be the folder that the caller is in."""
        if not str(value).strip():
            self.fail("a folder needs a name; `.` is the one you are in", param, ctx)
        return super().convert(value, param, ctx)
