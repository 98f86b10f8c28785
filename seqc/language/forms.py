"""The keywords that begin statements: how each is written, an example, and what it declares."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Form:
    """How a statement is written, what the maker fills in in capitals, and what it declares."""

    head: str
    example: str
    means: str


FORMS = {
    "machine": Form(
        "machine NAME",
        "machine berth_board",
        "The name of the machine, once in its file.",
    ),
    "include": Form(
        'include "FILE"',
        'include "coils.lanes"',
        "Reads another file as if it stood here, once: for coils, relays and fonts that machines "
        "share. It lies in the folder of the machine file or below it, or in one that the call "
        "allows with `--include DIR`.",
    ),
    "item": Form(
        "item NAME { ... }",
        "item slate { tone dark }",
        "One kind of loose item; each lane has a magazine of it wherever the lane offers it.",
    ),
    "grid": Form(
        "grid NAME { ... }",
        "grid numeral { columns 4 rows 6 }",
        "A picture of cells, each at the end of a lane; rows count from the top, columns from the "
        "left, both from 1.",
    ),
    "lane": Form(
        "lane GRID = shown <- GATE <- GATE <- SELECTOR(ITEM, ITEM) [on { ... }]",
        "lane numeral = shown <- swap <- drop <- pick(slate, chalk)",
        "The way of the items to every cell of a grid, read from the place that is `shown` back to "
        "the magazines. The gate next to the selector meters: thrown and back at rest, it lets one "
        "item through. A selector offers its first input at rest and its second one thrown; inputs "
        "may be selectors again. Gates below `shown`, written before it, let the old items go "
        "first; without one, the arriving item pushes the old one out. A second lane of a grid "
        "that ends in `on { |#..#| }` is for the cells that are marked there: its gates are the "
        "same, its magazines and selectors its own, and with an item alone these cells never "
        "change.",
    ),
    "selector": Form(
        "selector NAME { ... }",
        "selector pick { per row coil small }",
        "A two-position part that offers one of two inputs, and the linkage by which one actuator "
        "moves it in many lanes.",
    ),
    "gate": Form(
        "gate NAME { ... }",
        "gate drop { per column coil small open 60 ms }",
        "A two-position part that holds what waits above it and lets one item through a cycle, and "
        "its linkage.",
    ),
    "path": Form(
        "path GATE -> GATE { ... }",
        "path drop -> swap { roll 120 mm at 9 deg }",
        "The way from a gate to the next one, or to `shown`, and how long items take for it.",
    ),
    "coil": Form(
        "coil NAME { ... }",
        "coil small { 12 V 8.2 ohm pulse 40 ms travel 18 ms }",
        "A type of latching solenoid, as its data sheet tells it; as many actuators have it as the "
        "parts that name it need.",
    ),
    "relay": Form(
        "relay NAME { ... }",
        "relay card { operate 10 ms release 6 ms }",
        "A type of changeover relay, as its data sheet tells it.",
    ),
    "outputs": Form(
        "outputs NAME { ... }",
        "outputs bus { bits 24 }",
        "A row of outputs of the controller, one bit each.",
    ),
    "drive": Form(
        "drive PART, PART { ... }",
        "drive pick, drop, swap { changeover pair relay card from bus }",
        "What gives the actuators of some selectors and gates their two polarities, and from which "
        "outputs.",
    ),
    "supply": Form(
        "supply NAME { ... }",
        "supply bench { 12 V limit 4 A margin 20 % }",
        "A source of current for coils.",
    ),
    "font": Form(
        'font NAME for GRID { ... }, or font NAME for GRID from "FILE" { ... }',
        'font harbour for numeral { mark "#" slate glyph "0" { |#| } }',
        "The glyphs of a grid, drawn here or read from a file of a bitmap font.",
    ),
    "programme": Form(
        "programme NAME { ... }",
        'programme count { show "0123456789" every 1 s repeat }',
        "What is shown, frame by frame, and how often it changes.",
    ),
    "clock": Form(
        "clock NAME { ... }",
        "clock day { hours minutes on numeral }",
        "A programme that tells the time of a whole day, two numerals a hand.",
    ),
    "together": Form(
        "together NAME { ... }",
        "together wall { plays day  plays blink }",
        "Programmes that are played side by side in one build, each on grids of its own, in step. "
        "It is what is built, unless another programme is asked for.",
    ),
    "tolerance": Form(
        "tolerance SHARE",
        "tolerance 5 %",
        "How much the times of parts may differ from what is written, for all that tell nothing "
        "themselves; once.",
    ),
    "controller": Form(
        "controller { ... }",
        "controller { clock 16 MHz +- 0.5 % }",
        "What is known of the controller; once.",
    ),
    "air": Form(
        "air { ... }",
        "air { 5 C to 40 C }",
        "The coldest and the warmest air around the machine; once.",
    ),
}

KEYWORDS = tuple(FORMS)
