"""The image: all step tables of a build as one string of bytes.

Every controller reads this image; `targets/ihex/layout.md.j2` documents it field by field. Numbers
are little endian. A step is how long its word is held, so that a table's holds add up to its
length, and which outputs change before it, against the word before or, for the first step of a
table, against the idle word. Equal holds and equal changes are kept once. Times are counted in
`unit_us`. Tables of grids that are played by tracks (`track_image`) have the outputs of one grid.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from seqc.codegen.crc import crc16
from seqc.codegen.cursor import Cursor
from seqc.codegen.limits import Limit
from seqc.codegen.track_image import TrackPart, parse_tracks
from seqc.machine.steptable import Step, StepTable, TablesFor

MAGIC = b"SQ"
VERSION = 4
HEAD = struct.Struct("<2s12BHIIIIHHHHIIII")
PLACES = struct.Struct("<BBBB")
TICKS = struct.Struct("<HH")
CHECKSUM_BYTES = 2
NO_REPEAT = 0xFFFF
MOST_STEPS = 1 << 21
ANY_FRAME = -1
TABLES_FOR = tuple(TablesFor)
BY_TRACKS = len(TABLES_FOR)
"""Stands in the place of what the tables are for where they are played by tracks."""

Frame = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Run:
    """A table without its name: pairs of hold and word, in microseconds."""

    steps: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, table: StepTable) -> Run:
        """The run of a step table."""
        ends = [*(step.at_us for step in table.steps[1:]), table.length_us]
        return cls(
            tuple(
                (end - step.at_us, step.word) for step, end in zip(table.steps, ends, strict=True)
            )
        )

    def table(self, name: str, shows: Frame, after: Frame) -> StepTable:
        """The step table of this run."""
        at_us = 0
        steps = []
        for hold_us, word in self.steps:
            steps.append(Step(at_us, word))
            at_us += hold_us
        return StepTable(name, tuple(steps), at_us, shows, after)


@dataclass(frozen=True, slots=True)
class Shape:
    """How wide each kind of number is, in bytes; `index` 0 means that no record is shared.

    `mask` is that of a change: of a word, or of the outputs of one grid.
    """

    word: int
    time: int
    hold: int
    change: int
    index: int
    start: int
    frame: int
    mask: int


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the image: `at` is its first byte."""

    name: str
    at: int
    data: bytes


@dataclass(frozen=True)
class Image:
    """The parts of an image, and the bytes they make.

    `holds` are in units, `changes` have a bit for each output that changes; `records` number a hold
    and a change; `order` numbers the record of each step, and is empty where `shape.index` is 0.
    `starts` are the first steps of home, the clear table if there is one, every table, and the end.
    `frames` has for each table what it shows and what it must come after, where that needs
    it. `rest_us` is how long the outputs are inactive before home. `limits` are what the cap keeps.
    With `tracks` the tables are those of grids, all idle at 0, and home is none by itself.
    """

    tables_for: TablesFor
    shape: Shape
    width: int
    unit_us: int
    slack_us: int
    spare_us: int
    rest_us: int
    idle_word: int
    repeat_from: int | None
    clear: bool
    pairs: tuple[tuple[int, int], ...]
    limits: tuple[Limit, ...]
    starts: tuple[int, ...]
    frames: tuple[tuple[int, int], ...]
    holds: tuple[int, ...]
    changes: tuple[int, ...]
    records: tuple[tuple[int, int], ...]
    order: tuple[int, ...]
    tracks: TrackPart | None = None

    @property
    def waits(self) -> bool:
        """Whether nothing moves at power-on or after a fault until it is told to."""
        return self.tables_for is TablesFor.COMMISSIONING

    @property
    def tables(self) -> int:
        """The number of tables, home and clear not counted."""
        return len(self.starts) - 2 - self.clear

    @property
    def runs(self) -> tuple[Run, ...]:
        """Home, the clear table if there is one, then every table."""
        bounds = pairwise(self.starts)
        return tuple(Run(tuple(self._steps(range(*bound)))) for bound in bounds)

    @property
    def usable_spare_us(self) -> int:
        """The spare time, but no more than the shortest wait that it can be taken from."""
        if self.tracks:
            return self.spare_us
        lasts = [run.steps[-1] for run in self.runs[1 + self.clear :]]
        waits = [hold_us for hold_us, word in lasts if word == self.idle_word]
        return min([self.spare_us, *waits])

    def _steps(self, numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
        """The holds and words of steps that follow one another from the idle word on."""
        word = 0 if self.tracks else self.idle_word
        for number in numbers:
            hold, change = self.records[self.order[number] if self.order else number]
            word ^= self.changes[change]
            yield self.holds[hold] * self.unit_us, word

    @cached_property
    def _body(self) -> tuple[Section, ...]:
        found: list[Section] = []
        at = 0
        for name, data in self._parts():
            found.append(Section(name, at, data))
            at += len(data)
        return tuple(found)

    @property
    def size(self) -> int:
        """The number of bytes of the whole image."""
        return sum(len(section.data) for section in self._body) + CHECKSUM_BYTES

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """Every section in order, the checksum last."""
        checksum = crc16(b"".join(section.data for section in self._body))
        data = checksum.to_bytes(CHECKSUM_BYTES, "little")
        return (*self._body, Section("checksum", self.size - CHECKSUM_BYTES, data))

    @cached_property
    def data(self) -> bytes:
        """The whole image."""
        return b"".join(section.data for section in self.sections)

    @property
    def checksum(self) -> int:
        """The CRC over all bytes before it."""
        return int.from_bytes(self.data[-2:], "little")

    def at(self, name: str) -> int:
        """Where a section starts."""
        return {section.name: section.at for section in self.sections}[name]

    def _parts(self) -> Iterator[tuple[str, bytes]]:
        shape = self.shape
        yield "head", self._head()
        yield "idle", self.idle_word.to_bytes(shape.word, "little")
        yield "pairs", b"".join(_places(1 << one | 1 << other) for one, other in self.pairs)
        limits = (_places(one.mask) + TICKS.pack(one.most, one.rest) for one in self.limits)
        yield "limits", b"".join(limits)
        yield "starts", _numbers(self.starts, shape.start)
        any_frame = (1 << 8 * shape.frame) - 1
        frames = (number for frame in self.frames for number in frame)
        yield "frames", _numbers((n if n >= 0 else any_frame for n in frames), shape.frame)
        yield "holds", _numbers(self.holds, shape.time)
        yield "changes", _numbers(self.changes, shape.mask)
        records = (
            hold.to_bytes(shape.hold, "little") + change.to_bytes(shape.change, "little")
            for hold, change in self.records
        )
        yield "records", b"".join(records)
        yield "order", _numbers(self.order, shape.index)
        if self.tracks:
            yield from self.tracks.sections()

    def _head(self) -> bytes:
        shape = self.shape
        return HEAD.pack(
            MAGIC,
            VERSION,
            BY_TRACKS if self.tracks else TABLES_FOR.index(self.tables_for),
            shape.word,
            shape.time,
            shape.hold,
            shape.change,
            shape.index,
            shape.start,
            shape.frame,
            self.clear,
            shape.mask if self.tracks else 0,
            0,
            self.width,
            self.unit_us,
            self.slack_us,
            self.spare_us,
            self.rest_us,
            self.tables,
            NO_REPEAT if self.repeat_from is None else self.repeat_from,
            len(self.pairs),
            len(self.limits),
            len(self.holds),
            len(self.changes),
            len(self.records),
            len(self.order),
        )


def _numbers(numbers: Iterable[int], size: int) -> bytes:
    return b"".join(number.to_bytes(size, "little") for number in numbers)


def parse(data: bytes) -> Image:
    """Read an image back; raises ValueError where it is cut short or its checksum is wrong."""
    if len(data) < HEAD.size + 2 or data[:2] != MAGIC or data[2] != VERSION:
        raise ValueError("not an image of step tables")
    if crc16(data[:-2]) != int.from_bytes(data[-2:], "little"):
        raise ValueError("the checksum of the image is wrong")
    head = HEAD.unpack_from(data)
    tables_for, *sizes, clear, mask = head[2:12]
    width, unit, slack, spare, rest, tables, repeat, pairs, limits, *counts = head[13:]
    holds, changes, records, order = counts
    by_tracks = tables_for == BY_TRACKS
    shape = Shape(*[*sizes, mask if by_tracks else sizes[0]])
    cursor = Cursor(data, HEAD.size)
    (idle_word,) = cursor.numbers(1, shape.word)
    kept_apart = [_outputs(mask) for mask in cursor.masks(pairs, shape.word)]
    kept = _limits(cursor, limits, shape.word)
    starts = cursor.numbers(tables + clear + 2, shape.start)
    frame_ids = cursor.numbers(2 * tables if shape.frame else 0, shape.frame)
    any_frame = (1 << 8 * shape.frame) - 1
    frames = [ANY_FRAME if number == any_frame else number for number in frame_ids]
    hold_units = cursor.numbers(holds, shape.time)
    masks = cursor.numbers(changes, shape.mask)
    cursor.need(records, shape.hold and shape.change and shape.hold + shape.change)
    found = [(cursor.number(shape.hold), cursor.number(shape.change)) for _ in range(records)]
    _check_starts(starts, order or records)
    ordered = cursor.numbers(order, shape.index)
    return Image(
        TablesFor.PROGRAMME if by_tracks else TABLES_FOR[tables_for],
        shape,
        width,
        unit,
        slack,
        spare,
        rest,
        idle_word,
        None if repeat == NO_REPEAT else repeat,
        bool(clear),
        tuple(kept_apart),
        kept,
        tuple(starts),
        _paired(frames),
        tuple(hold_units),
        tuple(masks),
        tuple(found),
        tuple(ordered),
        parse_tracks(cursor, len(starts) - 1) if by_tracks else None,
    )


def _places(mask: int) -> bytes:
    """Outputs as the cap reads them: the bytes of a word that hold them, each after its place.

    There are one or two such bytes; of one the second is the same place and no output of it.
    """
    size = mask.bit_length() // 8 + 1
    held = [(at, byte) for at, byte in enumerate(mask.to_bytes(size, "little")) if byte]
    first, second = held if len(held) > 1 else (held[0], (held[0][0], 0))
    return PLACES.pack(*first, *second)


def _outputs(mask: int) -> tuple[int, int]:
    """The two outputs of a mask."""
    if mask.bit_count() != 2:
        raise ValueError("a pair of the image isn't two outputs")
    return (mask & -mask).bit_length() - 1, mask.bit_length() - 1


def _limits(cursor: Cursor, count: int, word: int) -> tuple[Limit, ...]:
    cursor.need(count, PLACES.size + TICKS.size)
    return tuple(
        Limit(cursor.masks(1, word)[0], cursor.number(2), cursor.number(2)) for _ in range(count)
    )


def _check_starts(starts: Sequence[int], steps: int) -> None:
    """Refuse tables that overlap: they could be as many times longer as there are tables."""
    if starts[0] != 0 or starts[-1] != steps or any(a > b for a, b in pairwise(starts)):
        raise ValueError("the tables of the image don't follow one another")
    if steps > MOST_STEPS:
        raise ValueError(f"the image has more than {MOST_STEPS} steps")


def _paired(numbers: Sequence[int]) -> tuple[tuple[int, int], ...]:
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))
