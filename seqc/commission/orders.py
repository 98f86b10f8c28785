"""What a person asks for, in words, from the terminal and from the page alike."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence

from seqc.commission.expected import UNKNOWN
from seqc.commission.session import RefusedError, Session
from seqc.commission.steps import GUIDES
from seqc.commission.windows import line_to_paste, windows
from seqc.faults import NOT_LOOKED
from seqc.machine.signs import signs_of
from seqc.machine.wording import nearest
from seqc.report.diagnosis_text import diagnosis_lines
from seqc.schedule.commissioning import Named, Step
from seqc.simulator.simulator import Picture

NOTHING = "_"
MOST_LISTED = 400
LONGEST_WAIT_S = 3_600.0
LOOK_S = 0.02

HELP = (
    "home                  drive every part to rest; comes first",
    "play NAME or NUMBER   play a table; `list` tells their numbers",
    "again, next           play the last table again, or the next of its step",
    "steps, step NAME      what there is to do; what one step is about, and its tables",
    "ok, bad               the last table did what it should, or didn't",
    "expected              what should be seen now, ? where nothing tells",
    "see ROWS              what is seen, row by row: #..#/.##. with ? and _ (nothing there)",
    "mark ROW COLUMN KIND  what is seen in one cell; KIND may be nothing",
    "look                  what an emulated machine shows, taken down as seen",
    "suspects              what explains all that was seen",
    "tune                  what tuning has found, and the lines for the machine file",
    "parts, replaced PART  how often each part has operated; a part was replaced",
    "note TEXT             take down a remark",
    "status, quit          what the controller is doing; stop, and leave",
)


class Orders:
    """Carries out what is asked of a session; every answer is lines of text."""

    def __init__(
        self, session: Session, shown: Callable[[], Mapping[str, Picture]] | None = None
    ) -> None:
        self.session, self._shown = session, shown
        self._signs = {sign: kind for kind, sign in signs_of(session.machine).items()}
        self._known: Mapping[str, Callable[[str], Iterator[str]]] = {
            "home": self._home,
            "stop": self._stop,
            "play": self._play,
            "again": self._again,
            "next": self._next,
            "steps": self._steps,
            "step": self._step,
            "list": self._list,
            "ok": lambda _: self._judge(True),
            "bad": lambda _: self._judge(False),
            "expected": self._expected,
            "see": self._see,
            "mark": self._mark,
            "look": self._look,
            "wait": self._wait,
            "suspects": self._suspects,
            "tune": self._tune,
            "parts": self._parts,
            "replaced": self._replaced,
            "note": self._note,
            "status": self._status,
            "help": lambda _: iter(HELP),
        }

    def obey(self, text: str) -> list[str]:
        """Do what a line says; what can't be done is an answer, too."""
        word, _, rest = text.strip().partition(" ")
        order = self._known.get(word)
        if order is None:
            meant = nearest(word, tuple(self._known))
            return [f"unknown: {word!r}" + (f"; `{meant}`?" if meant else "; `help` lists all")]
        try:
            return list(order(rest.strip()))
        except RefusedError as error:
            return [f"not done: {error}"]

    def _home(self, _: str) -> Iterator[str]:
        self.session.home()
        yield "coming home"

    def _stop(self, _: str) -> Iterator[str]:
        self.session.stop()
        yield "stop"

    def _play(self, name: str) -> Iterator[str]:
        named = self._named(name)
        self.session.play(named.name)
        yield f"playing {named.name}, {-(-named.table.length_us // 100_000) / 10:g} s"

    def _again(self, _: str) -> Iterator[str]:
        if self.session.last is None:
            raise RefusedError("nothing has been played yet")
        yield from self._play(self.session.last.name)

    def _next(self, _: str) -> Iterator[str]:
        own = [one for one in self.session.named if one.step is self.session.step]
        last = self.session.last
        at = own.index(last) + 1 if last in own else 0
        if at >= len(own):
            raise RefusedError("that was the last table of the step; `steps` lists the steps")
        yield from self._play(own[at].name)

    def _steps(self, _: str) -> Iterator[str]:
        judged = self._judged()
        for step, guide in GUIDES.items():
            own = [one for one in self.session.named if one.step is step]
            right = sum(1 for one in own if judged.get(one.name))
            yield f"{step:12} {guide.title}: {right} of {len(own)} right"

    def _step(self, name: str) -> Iterator[str]:
        found = next((step for step in Step if step == name), None)
        if found is None:
            raise RefusedError(f"there is no step {name!r}; they are {', '.join(Step)}")
        self.session.step = found
        guide = GUIDES[found]
        yield guide.title
        for title, lines in (("do", guide.do), ("watch", guide.watch), ("if not", guide.wrong)):
            yield from (f"  {title:6} {line}" for line in lines)
        yield from self._list(found)

    def _list(self, step: str) -> Iterator[str]:
        judged = self._judged()
        rows = [
            (number, one) for number, one in enumerate(self.session.named) if step in ("", one.step)
        ]
        for number, one in rows[:MOST_LISTED]:
            mark = {True: "right", False: "wrong", None: ""}[judged.get(one.name)]
            yield f"{number:4} {one.name:30} {one.table.length_us / 1e6:6.1f} s {mark}".rstrip()
        if len(rows) > MOST_LISTED:
            yield f"     and {len(rows) - MOST_LISTED} more; `list STEP`"

    def _judge(self, right: bool) -> Iterator[str]:
        self.session.judge(right)
        yield "taken down" if right else "taken down; `see` or `mark` what is seen, then `suspects`"

    def _expected(self, _: str) -> Iterator[str]:
        for grid, picture in self.session.expected.pictures.items():
            yield f"{grid} should show"
            yield from (f"  {row}" for row in art_of(self.session, grid, picture))

    def _see(self, text: str) -> Iterator[str]:
        grids = {grid.name: grid for grid in self.session.machine.grids}
        name, _, rest = text.partition(" ")
        art = rest if name in grids else text
        grid = grids.get(name) or next(iter(grids.values()))
        rows = [row.strip("| ") for row in art.replace("\n", "/").split("/")]
        if len(rows) != grid.rows or any(len(row) != grid.columns for row in rows):
            shape = f"{grid.rows} rows of {grid.columns} marks, parted by /"
            raise RefusedError(f"the picture of {grid.name} has {shape}")
        marks = [rows[cell.row - 1][cell.column - 1] for cell in grid.cells]
        self.session.see(grid.name, tuple(self._kind(mark) for mark in marks))
        yield "taken down"

    def _kind(self, mark: str) -> str | None:
        if mark in (NOTHING, NOT_LOOKED):
            return None if mark == NOTHING else NOT_LOOKED
        if mark not in self._signs:
            known = ", ".join(f"{sign} {kind}" for sign, kind in self._signs.items())
            raise RefusedError(f"{mark!r} is no mark; they are {known}, _ nothing, ? not looked")
        return self._signs[mark]

    def _mark(self, text: str) -> Iterator[str]:
        name, row, column, kind = ["", "", "", "", *text.split()][-4:]
        grids = {grid.name: grid for grid in self.session.machine.grids}
        grid = grids.get(name) or next(iter(grids.values()))
        kinds = [item.name for item in self.session.machine.lane_of(grid.name).items]
        numbers = [int(word) if word.isdecimal() and len(word) < 6 else 0 for word in (row, column)]
        index = next((n for n, cell in enumerate(grid.cells) if [*cell] == numbers), None)
        if index is None:
            raise RefusedError(f"there is no cell in row {row or '?'}, column {column or '?'}")
        if kind not in (*kinds, "nothing"):
            raise RefusedError(f"{kind!r} is no kind; they are {', '.join(kinds)} and nothing")
        seen = (NOT_LOOKED,) * len(grid.cells)
        picture: list[str | None] = [*self.session.sights.seen_of(grid.name, seen)]
        picture[index] = None if kind == "nothing" else kind
        self.session.see(grid.name, tuple(picture))
        yield "taken down"

    def _look(self, _: str) -> Iterator[str]:
        if self._shown is None:
            raise RefusedError("look at the machine, and `see` or `mark` what it shows")
        for grid, picture in self._shown().items():
            self.session.see(grid, picture)
            yield f"{grid} shows"
            yield from (f"  {row}" for row in art_of(self.session, grid, picture))

    def _wait(self, _: str) -> Iterator[str]:
        """Wait until the controller is at rest, so that orders can be given in a file."""
        until = time.monotonic() + LONGEST_WAIT_S
        while self.session.is_moving and time.monotonic() < until:
            time.sleep(LOOK_S)
        yield self.session.state

    def _suspects(self, _: str) -> Iterator[str]:
        session = self.session
        row = session.sights.looked_at()
        if not row:
            raise RefusedError("nothing was marked since home; `see` or `mark` what is seen")
        is_new = not any(entry["what"] == "ended" for entry in session.record.entries)
        played = [sight.name for sight in row]
        part = session.part or session.parts[0]
        candidates = [one for one in part.named if one.shows and one.machine is session.machine]
        found, following = session.sights.examined(row, session.worn, is_new, candidates)
        yield from diagnosis_lines(session.machine, found, played, following)

    def _tune(self, _: str) -> Iterator[str]:
        found = windows(self.session.named, self.session.record.entries)
        if not found:
            raise RefusedError("no value was judged yet; play one, then `ok` or `bad`")
        for window in found:
            yield window.subject
            for one in window.tried:
                yield f"  {one.trait.value_us / 1000:8g} ms  right {one.right} of {one.times}"
            line = line_to_paste(self.session.machine, window)
            if line is None:
                yield "  no value was right each time"
            else:
                yield f"  in {line[0].file}, line {line[0].line}:"
                yield f"    {line[1]}"

    def _parts(self, _: str) -> Iterator[str]:
        for name, count in self.session.operations.items():
            yield f"{count:10,}  {name}"

    def _replaced(self, part: str) -> Iterator[str]:
        self.session.replace(part)
        yield f"taken down: {part} begins anew"

    def _note(self, text: str) -> Iterator[str]:
        self.session.note(text)
        yield "taken down"

    def _status(self, _: str) -> Iterator[str]:
        heard = self.session.link.heard
        yield f"{self.session.state}" + (f": {heard.lost}" if heard.lost else "")
        said = heard.answer
        if said and said.word == "status" and len(said.more) == 5:
            yield f"  faults since power-on {said.more[3]}, the last: {said.cause}"
        if heard.garbage:
            yield f"  lines that made no sense: {heard.garbage}"
        if self.session.part and len(self.session.parts) > 1:
            number = self.session.parts.index(self.session.part) + 1
            yield f"  it has part {number} of {len(self.session.parts)}"

    def _named(self, name: str) -> Named:
        named: Sequence[Named] = self.session.named
        if name.isdecimal() and len(name) < 6 and int(name) < len(named):
            return named[int(name)]
        found = next((one for one in named if one.name == name), None)
        if found is None:
            meant = nearest(name, [one.name for one in named])
            hint = f"; `{meant}`?" if meant else "; `list` lists them"
            raise RefusedError(f"there is no table {name!r}{hint}")
        return found

    def _judged(self) -> dict[str, bool]:
        """Whether each table did what it should, when it was last judged."""
        return {
            str(entry.get("table")): bool(entry.get("right"))
            for entry in self.session.record.entries
            if entry["what"] == "judged"
        }


def art_of(session: Session, grid: str, picture: Sequence[str | None]) -> list[str]:
    """A picture row by row, in the marks of `see`."""
    found = next(one for one in session.machine.grids if one.name == grid)
    signs: dict[str | None, str] = {None: NOTHING, UNKNOWN: UNKNOWN}
    signs.update(signs_of(session.machine))
    rows = [["-"] * found.columns for _ in range(found.rows)]
    for cell, kind in zip(found.cells, picture, strict=True):
        rows[cell.row - 1][cell.column - 1] = signs.get(kind, UNKNOWN)
    return ["".join(row) for row in rows]
