"""Machine files beyond the examples, each with what the others lack."""

from __future__ import annotations

HEAD = """\
item slate { tone dark diameter 8 mm }
item chalk { tone light diameter 8 mm }
coil small { 12 V 15 ohm 9 mH pulse 30 ms travel 16 ms minimum off 30 ms max pulse 60 ms }
coil large { 12 V 8.2 ohm 14 mH pulse 40 ms travel 24 ms minimum off 40 ms max pulse 80 ms }
"""
CARD = "relay card { operate 8 ms release 5 ms }\n"

TWO_GRIDS = f"""\
machine two_grids
{HEAD}{CARD}
grid tens {{ columns 2 rows 3 }}
grid ones {{ columns 2 rows 3 }}
lane tens = shown <- swap <- drop <- pick(slate, chalk)
lane ones = shown <- swap <- drop <- pick(slate, chalk)
selector pick {{ per row coil small settle 8 ms }}
gate drop {{ per column coil small open 45 ms refill 60 ms }}
gate swap {{ whole grid coil large open 70 ms }}
path drop -> swap {{ falls in 200 ms }}
path swap -> shown {{ falls in 150 ms settle 20 ms }}
outputs bus {{ bits 24 shift register active low }}
drive pick, drop, swap {{ changeover pair relay card from bus }}
supply bench {{ 12 V limit 4 A margin 20 % }}
font left for tens {{
    mark "#" slate mark "." chalk
    glyph "0" {{ |##| |#.| |##| }} glyph "1" {{ |.#| |.#| |.#| }}
}}
font right for ones {{
    mark "#" slate mark "." chalk
    glyph "0" {{ |##| |##| |##| }} glyph "1" {{ |#.| |.#| |#.| }}
}}
programme count {{ show "0011" on tens show "0101" on ones every 2 s repeat }}
"""

DUMPED = f"""\
machine dumped
{HEAD}
grid ring {{ columns 3 rows 3 shape {{ |###| |#-#| |###| }} }}
lane ring = dump <- shown <- low <- high <- drop <- pick(slate, chalk)
selector pick {{ map {{ |aab| |a-b| |ccb| }} coil small settle 8 ms }}
gate drop {{ map {{ |abc| |d-e| |fgh| }} coil small open 45 ms refill 60 ms }}
gate high {{ per column coil large open 70 ms refill 20 ms }}
gate low {{ per row coil large open 70 ms }}
gate dump {{ whole grid coil large open 100 ms }}
path drop -> high {{ fall 60 mm }}
path high -> low {{ roll 60 mm at 9 deg }}
path low -> shown {{ roll 60 mm at 12 deg on rails 6 mm settle 10 ms }}
outputs bus {{ bits 36 direct pins }}
drive pick, drop, high, low, dump {{ bridge dead time 1 ms from bus }}
supply bench {{ 12 V limit 6 A }}
font f for ring {{
    mark "#" slate mark "." chalk
    glyph "a" {{ |###| |#-#| |###| }} glyph "b" {{ |#.#| |.-.| |#.#| }}
}}
programme p {{ show "abb" every 4 s repeat }}
"""

SINGLE = f"""\
machine single
{HEAD}{CARD}
grid dot {{ columns 1 rows 1 }}
lane dot = shown <- drop <- pick(slate, chalk)
selector pick {{ per cell coil small settle 8 ms }}
gate drop {{ per cell coil large open 45 ms }}
path drop -> shown {{ falls in 200 ms settle 20 ms }}
outputs low {{ bits 3 active low }}
outputs high {{ bits 4 }}
drive pick {{ shared reverser relay card from low at 1 }}
drive drop {{ bridge dead time 500 us pulse switch from high }}
supply bench {{ 12 V limit 2 A margin 20 % }}
font f for dot {{ mark "#" slate mark "." chalk glyph "a" {{ |#| }} glyph "b" {{ |.| }} }}
programme p {{ show "ab" every 1 s repeat }}
"""

MIXED = f"""\
machine mixed
{HEAD}
item glass {{ tone clear diameter 8 mm }}
grid face {{ columns 3 rows 3 shape {{ |###| |#-#| |-#-| }} }}
lane face = shown <- swap <- drop <- hue(slate, shade(chalk, glass))
selector hue {{ whole grid coil large settle 5 ms }}
selector shade {{ per column coil small settle 5 ms }}
gate drop {{ per cell coil small open 40 ms refill 30 ms }}
gate swap {{ map {{ |aab| |a-b| |-c-| }} coil strong open 60 ms }}
path drop -> swap {{ roll 0.1 m at 10 deg }}
path swap -> shown {{ fall 5 cm settle 30 ms }}
coil strong {{ 24 V 12 ohm 9 mH pulse 40 ms travel 20 ms minimum off 30 ms max pulse 80 ms }}
relay quick {{ operate 5 ms release 3 ms }}
outputs pins {{ bits 20 direct pins active low }}
outputs chain {{ bits 16 shift register }}
drive hue, shade {{ changeover pair relay quick from pins on low }}
drive drop {{ shared reverser relay quick pulse switch from pins on low }}
drive swap {{ bridge dead time 2 ms from chain at 4 on high }}
supply low {{ 12 V limit 3 A margin 10 % }}
supply high {{ 24 V limit 5 A }}
font f for face {{
    mark "#" slate mark "." chalk mark "g" glass
    glyph "one" {{ |#.g| |.-#| |-g-| }} glyph "two" {{ |ggg| |.-.| |-#-| }}
    glyph "z" {{ |###| |#-#| |-#-| }}
}}
programme p {{ show "{{one}}z{{two}}z" every 2.5 s repeat }}
"""

REVERSED = f"""\
machine reversed
{HEAD}{CARD}
grid g {{ columns 3 rows 3 }}
lane g = shown <- swap <- drop <- pick(slate, chalk)
selector pick {{ per row coil small settle 8 ms }}
gate drop {{ per column coil small open 45 ms refill 60 ms }}
gate swap {{ per column coil large open 45 ms }}
path drop -> swap {{ falls in 200 ms }}
path swap -> shown {{ falls in 100 ms }}
outputs a {{ bits 10 shift register active low }}
drive pick, drop, swap {{ shared reverser relay card from a }}
supply bench {{ 12 V limit 4 A margin 20 % }}
font f for g {{
    mark "#" slate mark "." chalk
    glyph "a" {{ |##.| |#.#| |.##| }} glyph "b" {{ |##.| |#..| |.#.| }}
}}
programme p {{ show "abaab" every 3 s repeat }}
"""

BOARDS = {
    "two_grids": TWO_GRIDS,
    "dumped": DUMPED,
    "single": SINGLE,
    "mixed": MIXED,
    "reversed": REVERSED,
}
