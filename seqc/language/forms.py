"""The keywords that begin statements, each with a statement as an example of its form."""

from __future__ import annotations

FORMS = {
    "machine": "machine berth_board",
    "include": 'include "coils.lanes"',
    "item": "item slate { tone dark }",
    "grid": "grid numeral { columns 4 rows 6 }",
    "lane": "lane numeral = shown <- swap <- drop <- pick(slate, chalk)",
    "selector": "selector pick { per row coil small }",
    "gate": "gate drop { per column coil small open 60 ms }",
    "path": "path drop -> swap { roll 120 mm at 9 deg }",
    "coil": "coil small { 12 V 8.2 ohm pulse 40 ms travel 18 ms }",
    "relay": "relay card { operate 10 ms release 6 ms }",
    "outputs": "outputs bus { bits 24 }",
    "drive": "drive pick, drop, swap { changeover pair relay card from bus }",
    "supply": "supply bench { 12 V limit 4 A margin 20 % }",
    "font": 'font harbour for numeral { mark "#" slate glyph "0" { |#| } }',
    "programme": 'programme count { show "0123456789" every 1 s repeat }',
    "clock": "clock day { hours minutes on numeral }",
    "tolerance": "tolerance 5 %",
    "controller": "controller { clock 16 MHz +- 0.5 % }",
}

KEYWORDS = tuple(FORMS)
