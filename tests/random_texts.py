"""Random machine files: sound machines of many kinds, and the same words strewn over lines."""

from __future__ import annotations

import itertools
import re
from random import Random

TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|\|[^|\n]*\||<-|->|\+-|[(){},=]|[^\s(){},=]+')
NAMES = ("slate", "chalk", "amber", "moss")
ENDS = ("\n", "\n", "\n", "\n\n", "\n\n\n", "  # here\n", "\n# there\n", " ")
DRIVES = ("changeover pair relay card", "shared reverser relay card", "bridge dead time 1 ms")
COMMENTS = (
    "# why",
    "#",
    '# an "odd { one',
    "# | } <- drop",
    "#\u00e9 \u00b5  ",
    "# item x { tone y }",
)


def random_text(random: Random) -> str:
    """A sound machine file, a statement a line."""
    rows, columns = random.randint(1, 4), random.randint(1, 5)
    kinds = random.randint(2, 4)
    items = NAMES[:kinds]
    gates = ["drop", "swap", "hold"][: random.randint(1, 3)]
    picks = [f"pick{number}" for number in range(1, kinds)]
    lines = [f"machine board_{random.randint(1, 99)}"]
    lines += [f"item {name} {{ {_item(random, name)} }}" for name in items]
    lines.append(f"grid numeral {{ {_grid(random, rows, columns)} }}")
    lines.append(f"lane numeral = shown <- {' <- '.join(gates[::-1])} <- {_feed(random, items)}")
    own = random.random() < 0.3 and rows * columns > 1
    if own:
        way = " <- ".join(["shown", *gates[::-1], random.choice(items)])
        lines.append(f"lane numeral = {way} on {_marks(random, rows, columns)}")
    lines += [f"selector {p} {{ {_selector(random, rows, columns, own)} }}" for p in picks]
    lines += [f"gate {gate} {{ {_gate(random, rows, columns)} }}" for gate in gates]
    ways = itertools.pairwise([*gates, "shown"])
    lines += [f"path {start} -> {end} {{ {_path(random)} }}" for start, end in ways]
    lines.append(f"coil small {{ {_coil(random)} }}")
    lines += _electrics(random, [*picks, *gates])
    lines += _pictures(random, items, rows, columns)
    return "\n".join([*lines, ""])


def _some(random: Random, *optional: str) -> list[str]:
    return [one for one in optional if random.random() < 0.5]


def _shuffled(random: Random, settings: list[str]) -> str:
    random.shuffle(settings)
    return " ".join(settings)


def _item(random: Random, name: str) -> str:
    given = _some(random, f"stock {random.randint(9, 900)}", "diameter 7.5 mm", "recirculate 25 s")
    return _shuffled(random, [f"tone {name}", *given])


def _art(random: Random, signs: str, rows: int, columns: int) -> str:
    drawn = ("".join(random.choice(signs) for _ in range(columns)) for _ in range(rows))
    return "{ " + " ".join(f"|{row}|" for row in drawn) + " }"


def _grid(random: Random, rows: int, columns: int) -> str:
    size = [f"columns {columns}", f"rows {rows}"]
    if random.random() < 0.3:
        size = [f"shape {_art(random, '.', rows, columns)}"]
    return _shuffled(random, [*size, *_some(random, "lanes at 0 mm 5 mm lane pitch 20 mm 25 mm")])


def _feed(random: Random, items: tuple[str, ...]) -> str:
    feeds = list(items)
    for number in range(1, len(items)):
        first, second = (feeds.pop(random.randrange(len(feeds))) for _ in range(2))
        feeds.append(f"pick{number}({first}, {second})")
    return feeds[0]


def _linkage(random: Random, rows: int, columns: int) -> str:
    plain = ("per row", "per column", "per cell", "whole grid")
    return random.choice([*plain, f"map {_art(random, 'ab', rows, columns)}"])


def _marks(random: Random, rows: int, columns: int) -> str:
    """A drawing that marks one cell at least, and not the last one of several."""
    signs = ["#", *random.choices("#.", k=rows * columns - 1)]
    if len(signs) > 1:
        signs[-1] = "."
    drawn = ("".join(signs[row * columns : (row + 1) * columns]) for row in range(rows))
    return "{ " + " ".join(f"|{row}|" for row in drawn) + " }"


def _selector(random: Random, rows: int, columns: int, own: bool) -> str:
    settings = [_linkage(random, rows, columns), "coil small"]
    if not own:
        settings += _some(random, f"mirrored {_marks(random, rows, columns)}")
    return _shuffled(random, settings)


def _gate(random: Random, rows: int, columns: int) -> str:
    linkage = _linkage(random, rows, columns)
    some = _some(random, "refill 60 ms", "settle 8 ms +- 10 %", "magnets at 0 mm -90 mm")
    return _shuffled(random, [linkage, "coil small", "open 45 ms", *some])


def _path(random: Random) -> str:
    courses = ("falls in 330 ms", "fall 60 mm", "roll 60 mm at 12 deg", "falls in 5 ms to 8 ms")
    grooved = "roll 0.2 m at 9 deg in groove 90 deg"
    return _shuffled(random, [random.choice((*courses, grooved)), *_some(random, "settle 90 ms")])


def _coil(random: Random) -> str:
    some = _some(
        random, "9 mH", "max pulse 80 ms", "minimum off 30 ms", "duty 10 %", "life 2000000"
    )
    more = _some(
        random, "winding mass 14 g insulation class B", "leads AWG 22 length 2 m", "tolerance 3 %"
    )
    return _shuffled(random, ["12 V", "15 ohm", "pulse 40 ms", "travel 16 ms", *some, *more])


def _electrics(random: Random, parts: list[str]) -> list[str]:
    kind = random.choice(DRIVES)
    at = random.choice(("", " at 0", " at 4"))
    relay = _some(random, "contact life 100000 mechanical life 10000000", "bounce 2 ms")
    lines = [
        f"relay card {{ operate 10 ms release 6 ms {_shuffled(random, relay)} }}",
        f"outputs bus {{ {_shuffled(random, ['bits 1000', *_some(random, 'shift register')])} }}",
        f"drive {', '.join(parts)} {{ {kind} from bus{at} }}",
        "supply bench { 12 V limit 200 A margin 20 % }",
        *_some(random, "tolerance 5 %", "controller { clock 16 MHz +- 50 ppm }"),
    ]
    random.shuffle(lines)
    return lines


def _pictures(random: Random, items: tuple[str, ...], rows: int, columns: int) -> list[str]:
    signs = "#.o~"[: len(items)]
    marks = [f'mark "{sign}" {name}' for sign, name in zip(signs, items, strict=False)]
    names = ("0", "1", '\\"')
    glyphs = [f'glyph "{name}" {_art(random, signs, rows, columns)}' for name in names]
    show = random.choice(('show "0\\"1" on numeral', 'show "01" in harbour', 'show "1"'))
    return [
        f"font harbour for numeral {{ {' '.join([*marks, *glyphs])} }}",
        f"programme count {{ {show} every 4 s {' '.join(_some(random, 'repeat'))} }}",
    ]


def strewn(random: Random, text: str) -> str:
    """The statements of a text, a line each, with blanks, line breaks and comments among them."""
    wild = random.choice((0.02, 0.1, 0.3))
    done = ""
    for line in text.split("\n"):
        words = TOKEN.findall(line)
        for rank, word in enumerate(words):
            done += word
            if rank < len(words) - 1:
                done += _gap(random, wild, word, words[rank + 1])
        done += random.choice(ENDS)
    return done


def _gap(random: Random, wild: float, before: str, after: str) -> str:
    if random.random() < wild:
        comment = random.choice(("", "", random.choice(COMMENTS)))
        return f"{random.choice(('', ' ', '   '))}{comment}\n{' ' * random.randint(1, 6)}"
    if before in "(){}," or after in "(){},":
        return random.choice(("", " ", "  "))
    return random.choice((" ", " ", "  ", "\t"))
