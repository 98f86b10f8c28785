"""One build worked out: every name escaped and every value computed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from seqc.codegen.board import Board
from seqc.codegen.checks import forbidden_pairs, rest_us
from seqc.codegen.image import Frame, Image
from seqc.codegen.json_document import json_document
from seqc.codegen.labels import Labels
from seqc.codegen.limits import TICK_US, limits_of
from seqc.codegen.names import identifiers, note
from seqc.codegen.packing import frames_of, pack
from seqc.codegen.target import Target, TargetFile
from seqc.codegen.track_constants import track_constants
from seqc.codegen.track_labels import TrackLabels
from seqc.codegen.vcd import Dump
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor
from seqc.machine.tracks import TrackSet

BYTES_PER_ROW = 12


@dataclass(frozen=True, slots=True)
class Constant:
    """A number that the player is compiled with; `literal` is its C spelling."""

    name: str
    literal: str
    meaning: str


@dataclass(frozen=True, slots=True)
class FrameView:
    """A frame that can be asked for: its number, its escaped name and its name as a note."""

    number: int
    identifier: str
    note: str


@dataclass(frozen=True, slots=True)
class RowView:
    """A row of the image's bytes; `title` is set on the first row of a section."""

    title: str
    data: bytes

    @property
    def c(self) -> str:
        """The bytes as C constants."""
        return ", ".join(f"0x{byte:02X}" for byte in self.data)

    @property
    def python(self) -> str:
        """The bytes as a Python literal."""
        return 'b"' + "".join(f"\\x{byte:02x}" for byte in self.data) + '"'


@dataclass(frozen=True)
class Build:
    """One build for one target; `seqc.codegen.parts` is what its templates see of it."""

    target: Target
    machine: Machine
    table_set: TableSet | TrackSet

    @property
    def files(self) -> tuple[TargetFile, ...]:
        """The files to write."""
        return self.target.files_for(isinstance(self.table_set, TrackSet))

    @property
    def tables(self) -> TableSet:
        """The step tables; raises TypeError where they are played by tracks."""
        if isinstance(self.table_set, TrackSet):
            raise TypeError("tracks have no tables of the whole machine")
        return self.table_set

    @cached_property
    def image(self) -> Image:
        """The smallest image of the tables."""
        return pack(
            self.table_set,
            forbidden_pairs(self.machine),
            rest_us(self.machine),
            limits_of(self.machine),
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """Lines that name the machine and its tables; the readers find the names in them."""
        if isinstance(self.table_set, TrackSet):
            return TrackLabels.of(self.table_set).notes()
        return Labels.of(self.table_set).notes()

    @cached_property
    def frames(self) -> tuple[FrameView, ...]:
        """Every frame by number; none for a programme, where frames aren't asked for.

        For commissioning each table is one, under its own name.
        """
        if self.image.tables_for is TablesFor.PROGRAMME:
            return ()
        labels = self._labels
        rows = zip(identifiers(labels), labels, strict=True)
        return tuple(FrameView(n, name, note(label)) for n, (name, label) in enumerate(rows))

    @property
    def _labels(self) -> list[str]:
        if self.tables.tables_for is TablesFor.COMMISSIONING:
            return [table.name for table in self.tables.tables]
        frames = frames_of(self.tables)
        several = len({grid for frame in frames for grid, _ in frame}) > 1
        return [_label(frame, several) for frame in frames]

    @property
    def idle(self) -> RowView:
        """The word at which no output is active."""
        return RowView("", self.image.idle_word.to_bytes(self.image.shape.word, "little"))

    @property
    def rows(self) -> Iterator[RowView]:
        """The image, row by row, each section begun on a row of its own."""
        for section in self.image.sections:
            for at in range(0, len(section.data), BYTES_PER_ROW):
                title = "" if at else section.name
                yield RowView(title, section.data[at : at + BYTES_PER_ROW])

    @property
    def constants(self) -> tuple[Constant, ...]:
        """The numbers that the player is compiled with."""
        return tuple(
            Constant(name, f"{value}UL" if value > 0xFFFF else f"{value}U", meaning)
            for name, value, meaning in _constants(self.image, len(self.frames))
        )

    @cached_property
    def json(self) -> str:
        """The whole build as a JSON document, yet without its number."""
        return json_document(self.machine, self.tables)

    @cached_property
    def board(self) -> Board:
        """The pins and the chain of the outputs."""
        return Board(self.machine, self.target.options, self.image.shape.word)

    @property
    def dump(self) -> Dump:
        """The value change dump of all tables."""
        return Dump(self.machine, self.tables)

    @cached_property
    def dump_lines(self) -> list[str]:
        """The values of the dump."""
        return list(self.dump.lines)


def _label(frame: Frame, several: bool) -> str:
    return " ".join(f"{grid} {glyph}" if several else glyph for grid, glyph in frame)


def _constants(image: Image, frames: int) -> Iterator[tuple[str, int, str]]:
    shape = image.shape
    yield "SEQC_IMAGE_BYTES", len(image.data), "bytes of the image"
    yield "SEQC_WORD_BYTES", shape.word, "bytes of an output word"
    yield "SEQC_MASK_BYTES", shape.mask, "bytes of the outputs that change"
    yield "SEQC_TIME_BYTES", shape.time, "bytes of a time"
    yield "SEQC_HOLD_BYTES", shape.hold, "bytes of a hold's number"
    yield "SEQC_CHANGE_BYTES", shape.change, "bytes of a change's number"
    yield "SEQC_INDEX_BYTES", shape.index, "bytes of a record's number; 0: a record a step"
    yield "SEQC_START_BYTES", shape.start, "bytes of a step's number"
    yield "SEQC_FRAME_BYTES", shape.frame, "bytes of a frame's number; 0: a table a frame"
    yield "SEQC_IDLE_AT", image.at("idle"), "where the idle word starts"
    yield "SEQC_PAIRS_AT", image.at("pairs"), "where the forbidden pairs start"
    yield "SEQC_LIMITS_AT", image.at("limits"), "where the limits of the cap start"
    yield "SEQC_STARTS_AT", image.at("starts"), "where the first steps of the tables start"
    yield "SEQC_FRAMES_AT", image.at("frames"), "where the frames of the tables start"
    yield "SEQC_HOLDS_AT", image.at("holds"), "where the holds start"
    yield "SEQC_CHANGES_AT", image.at("changes"), "where the changes start"
    yield "SEQC_RECORDS_AT", image.at("records"), "where the records start"
    yield "SEQC_ORDER_AT", image.at("order"), "where the order of the records starts"
    yield "SEQC_PAIRS", len(image.pairs), "pairs of outputs never active together"
    yield "SEQC_LIMITS", len(image.limits), "sets of outputs whose time is capped"
    yield "SEQC_TICK_US", TICK_US, "microseconds between two calls of seqc_tick"
    yield "SEQC_TABLES", image.tables, "tables, home and clear not counted"
    yield "SEQC_FRAMES", frames, "frames that can be asked for"
    yield "SEQC_CLEAR", int(image.clear), "1 where a table clears what was left waiting"
    yield "SEQC_PROGRAMME", int(image.tables_for is TablesFor.PROGRAMME), "1 for a programme"
    yield "SEQC_WAITS", int(image.waits), "1 for commissioning, where nothing moves until told"
    yield "SEQC_REPEATS", int(image.repeat_from is not None), "1 where the programme repeats"
    yield "SEQC_REPEAT_FROM", image.repeat_from or 0, "the table after the last"
    yield "SEQC_UNIT_US", image.unit_us, "microseconds of one unit of time"
    yield "SEQC_SLACK_US", image.slack_us, "how late a pulse may end"
    yield "SEQC_REST_US", image.rest_us, "how long all outputs are inactive before home"
    yield "SEQC_SPARE_US", image.usable_spare_us, "how much of a tick lateness may take"
    yield "SEQC_TRACKS", len(image.tracks.tracks) if image.tracks else 0, "tracks; 0: tables alone"
    if image.tracks:
        yield from track_constants(image, image.tracks)
