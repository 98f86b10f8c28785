"""Items and the grids that show them."""

from __future__ import annotations

from seqc.language.limits import MAX_CELLS, MAX_COPIES
from seqc.language.quantities import LENGTH, MASS, TIME
from seqc.language.schema import Schema, art, choice, count, measure, ratio, word
from seqc.language.tables.common import DAY, MANY, METRE, MISFEED_ENTRY, depth, two_ways

CELLS = {
    "item": Schema(
        (
            word("tone", "dark").told(
                "How it looks, in a word of your own.",
                "Nothing in plan or times; lists and pages say it.",
            ),
            count("stock", 0, MANY, "260").told(
                "How many there are, in all magazines together.",
                "Forecast: how long they last. Simulator: a magazine can run empty.",
                "not counted",
            ),
            measure("diameter", LENGTH, 100, METRE, example="8 mm").told(
                "Across a round item.",
                "Times: how quickly it rolls on rails.",
                "unknown, which rails don't allow",
            ),
            measure("mass", MASS, 1, 10**9).told(
                "Of one item.",
                "Times: the drag of the air on light balls that fall.",
                "unknown, and drag isn't reckoned",
            ),
            choice("steel", "steel").told(
                "It is of steel, so that magnets can hold it.",
                "Check: the distance of its lanes from magnets.",
                "nothing is said of magnets",
            ),
            MISFEED_ENTRY.told(
                "How often such an item doesn't come when the metering gate lets it go.",
                "Forecast: wrong cells. Simulator: as a fault that can be switched on.",
                "never",
            ),
            ratio("bounce", 0, 990_000, "0.6").told(
                "The part of its speed that an item keeps when it bounces where a path ends.",
                "Times: how long it still moves there.",
                "none",
            ),
            measure("recirculate", TIME, 0, 366 * DAY, example="25 s").told(
                "How long after it has left the picture an item is back in its magazine.",
                "Forecast: a stock that comes back in time lasts without end.",
                "never back: the stock is used up",
            ),
        ),
        required=("tone",),
    ),
    "grid": Schema(
        (
            count("columns", 1, MAX_CELLS, "4").told(
                "How many columns of cells, counted from the left.",
                "Plan: a `per column` linkage has one actuator for each.",
                "as many as the `shape` has",
            ),
            count("rows", 1, MAX_CELLS, "6").told(
                "How many rows of cells, counted from the top.",
                "Plan: a `per row` linkage has one actuator for each.",
                "as many as the `shape` has",
            ),
            art("shape", "shape", "|.-| |..|").told(
                "Which cells there are: `-` marks a cell that is absent, anything else one that "
                "is there.",
                "Plan: absent cells need no item, and leave their linkages free.",
                "every cell of the rectangle",
            ),
            count("copies", 2, MAX_COPIES, "6").told(
                "As many grids alike, called after this one with `_1`, `_2` and so on; each has "
                "actuators of its own, and a text that is shown is dealt out over them.",
                "Plan, electrics and forecast: everything, as many times.",
                "this grid alone",
            ),
            two_ways("lanes at").told(
                "Where the lane of the first cell (row 1, column 1) is seen: to the right, and "
                "down.",
                "Check: the distance of lanes from magnets.",
                "not told",
            ),
            two_ways("lane pitch").told(
                "From one column to the next to the right, and from one row to the next down.",
                "Check: the distance of lanes from magnets.",
                "none",
                beside="lanes at 0 mm 0 mm",
            ),
            depth("lanes depth").told(
                "How far the lanes run behind the plane of who looks.",
                "Check: the distance of lanes from magnets.",
                "0 mm",
                beside="lanes at 0 mm 0 mm",
            ),
            measure("lanes start", LENGTH, 0, 100 * METRE, example="180 mm").told(
                "How far above the first row the lanes begin.",
                "Check: the distance of lanes from magnets.",
                "0 mm",
                beside="lanes at 0 mm 0 mm",
            ),
        ),
    ),
}
