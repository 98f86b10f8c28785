"""A machine with cells that never change, and a selector that is mirrored in some."""

from __future__ import annotations

PARTS = """
item slate { tone dark   stock 200 }
item chalk { tone light  stock 200 }
coil small { 12 V  12 ohm  9 mH  pulse 30 ms  travel 16 ms  minimum off 40 ms }
supply bench { 12 V  limit 6 A  margin 20 % }
tolerance 2 %
"""

FRAMED = f"""
# A frame around the numeral that never changes, and selectors built in pairs, back to back.
machine lock_gauge
{PARTS}
grid numeral {{ columns 5  rows 7 }}
lane numeral = shown <- swap <- drop <- pick(slate, chalk)
lane numeral = shown <- swap <- drop <- slate on {{
    |#####|
    |#...#|
    |#...#|
    |#...#|
    |#...#|
    |#...#|
    |#####|
}}
selector pick {{
    per row  coil small  settle 8 ms
    mirrored {{ |.....| |..#..| |..#..| |..#..| |..#..| |..#..| |.....| }}
}}
gate drop {{ per column  coil small  open 45 ms  refill 60 ms }}
gate swap {{ whole grid  coil small  open 70 ms }}
path drop -> swap  {{ falls in 150 ms }}
path swap -> shown {{ falls in 90 ms }}
outputs bus {{ bits 24  shift register }}
drive pick, drop, swap {{ bridge  dead time 1 ms  from bus }}
font own for numeral {{
    mark "#" chalk
    mark "." slate
    glyph "0" {{ |.....| |.###.| |.#.#.| |.#.#.| |.#.#.| |.###.| |.....| }}
    glyph "1" {{ |.....| |..#..| |..#..| |..#..| |..#..| |..#..| |.....| }}
    glyph "2" {{ |.....| |.###.| |...#.| |.###.| |.#...| |.###.| |.....| }}
}}
programme count {{ show "012"  every 2 s  repeat }}
"""
