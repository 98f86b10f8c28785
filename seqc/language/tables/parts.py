"""Selectors, gates and the paths between them."""

from __future__ import annotations

from seqc.language.quantities import ANGLE, LENGTH, SPEED, TIME
from seqc.language.schema import Schema, art, choice, continuing, measure, name, ratio, varying
from seqc.language.tables.common import (
    METRE,
    MINUTE,
    MISFEED_ENTRY,
    TOLERANCE_ENTRY,
    depth,
    two_ways,
)

_FEWER = "Plan: which glyphs can be made, and in how many passes. Electrics: how many actuators."

_LINKAGE = (
    choice("linkage", "per row").told("One actuator moves the part in a whole row.", _FEWER),
    choice("linkage", "per column").told("One actuator moves the part in a whole column.", _FEWER),
    choice("linkage", "per cell").told("Each cell has an actuator of its own.", _FEWER),
    choice("linkage", "whole grid").told("One actuator moves the part in all cells.", _FEWER),
    art("map", "linkage").told(
        "A letter or digit for every cell; cells with equal ones are moved by one actuator.",
        _FEWER,
    ),
)

_PART = (
    *_LINKAGE,
    name("coil", "small", "coil").told(
        "The type of coil that moves it.",
        "Times, current and life: those of the coil.",
    ),
    varying("settle", TIME, 0, MINUTE, example="8 ms").told(
        "How long the part still shakes once it has moved.",
        "Load time: nothing follows from the part before it has settled.",
        "0 ms",
    ),
    two_ways("magnets at").told(
        "Where the magnet of its first actuator is: to the right, and down.",
        "Check: the distance of lanes from magnets.",
        "not told",
    ),
    two_ways("magnet pitch").told(
        "From the magnet of one actuator to the next: to the right, and down.",
        "Check: the distance of lanes from magnets.",
        "none",
        beside="magnets at 0 mm -90 mm",
    ),
    depth("magnets depth").told(
        "How far the magnets are behind the plane of who looks.",
        "Check: the distance of lanes from magnets.",
        "0 mm",
        beside="magnets at 0 mm -90 mm",
    ),
)

PARTS = {
    "selector": Schema(
        (
            *_PART,
            art("mirrored", "mirrored", "|.#| |..|").told(
                "The cells, marked `#`, in which it is mounted the other way round: there it "
                "offers its second input at rest and its first one thrown.",
                "Plan: which glyphs can be made, and in how many passes.",
                "in none",
            ),
        ),
        required=("linkage", "coil"),
    ),
    "gate": Schema(
        (
            *_PART,
            measure("open", TIME, 1, MINUTE, example="60 ms").told(
                "How long it stays thrown, from when it has settled, to let one item through.",
                "Load time; change time, for the gate above the picture.",
            ),
            measure("refill", TIME, 0, MINUTE, example="70 ms").told(
                "How long after it is back at rest the next item waits above it.",
                "Load time: the gate isn't cycled again before.",
                "0 ms",
            ),
            MISFEED_ENTRY.told(
                "How often an item stays above it when it is cycled: a metering gate brings the "
                "next frame again, below it the lane jams.",
                "Forecast: wrong cells, jams, the time between visits. Simulator: as a fault that "
                "can be switched on.",
                "never",
            ),
        ),
        required=("linkage", "coil", "open"),
    ),
    "path": Schema(
        (
            measure("roll", LENGTH, 100, 100 * METRE, "course", "120 mm at 9 deg").told(
                "The length of a slope that items roll down; the time is worked out, for solid "
                "spheres.",
                "Load time, change time and cadence.",
            ),
            measure("fall", LENGTH, 100, 100 * METRE, "course").told(
                "The height that items fall freely; the time is worked out.",
                "Load time, change time and cadence.",
            ),
            varying("falls in", TIME, 1, MINUTE, "course", "330 ms").told(
                "The time as it was measured, from the open gate to the arrival.",
                "Load time, change time and cadence.",
            ),
            continuing(measure("at", ANGLE, 1, 90_000)).told(
                "How steep the slope is, from the horizontal.",
                "The time of the path, and the friction that keeps items from slipping.",
                "needed with `roll`",
                beside="roll 120 mm",
            ),
            continuing(measure("on rails", LENGTH, 100, METRE, "surface", "5 mm")).told(
                "Items roll on two rails, so far apart; they need their diameter.",
                "The time of the path: items on rails roll more slowly.",
                "items roll on a plane",
                beside="roll 120 mm at 9 deg",
            ),
            continuing(measure("in groove", ANGLE, 1, 180_000, "surface", "90 deg")).told(
                "Items roll in a groove with this angle between its sides.",
                "The time of the path: items in a groove roll more slowly.",
                "items roll on a plane",
                beside="roll 120 mm at 9 deg",
            ),
            ratio("resistance", 0, 10**6, "0.01").told(
                "The coefficient of rolling resistance: the slope on which an item just keeps on.",
                "The time of the path.",
                "none",
                beside="roll 120 mm at 9 deg",
            ),
            measure("start speed", SPEED, 0, 100 * METRE).told(
                "How quickly an item already moves where the path begins.",
                "The time of the path.",
                "from rest",
                beside="roll 120 mm at 9 deg",
            ),
            measure("first falls", LENGTH, 0, METRE, example="8 mm").told(
                "How far an item falls from the gate to where its roll begins.",
                "The time of the path.",
                "it rolls from the gate on",
                beside="roll 120 mm at 9 deg",
            ),
            varying("settle", TIME, 0, MINUTE, example="90 ms").told(
                "How long an item still moves once it has arrived.",
                "Change time and cadence: the next gate waits for it.",
                "0 ms",
            ),
            TOLERANCE_ENTRY.told(
                "How much the time of this path may differ, either way, where it has no tolerance "
                "of its own.",
                "Load time and cadence, which hold for every combination.",
                "that of the whole machine",
            ),
        ),
        required=("course",),
    ),
}
