"""What templates get of a build: plain data only, worked out part by part when it is named.

A part is made of texts, whole numbers, truth values, None, lists and dictionaries. None of them has
a method or an attribute that leads anywhere, so a stranger's template can do no more than lay out.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from seqc.codegen.board import Board, Chain, Pin
from seqc.codegen.csv_files import csv_files
from seqc.codegen.image import BY_TRACKS, TABLES_FOR
from seqc.codegen.intel_hex import hex_lines
from seqc.codegen.json_document import with_number
from seqc.codegen.limits import TICK_US
from seqc.codegen.names import identifier
from seqc.codegen.number import trailer
from seqc.codegen.track_image import TrackPart
from seqc.codegen.view import Build
from seqc.codegen.wiring_list import WiringList
from seqc.machine.cautions import IN_SHORT

CAUTION_WIDTH = 90
"""So that a line of it with the signs of a comment keeps to 100 columns."""

Plain: TypeAlias = "str | int | bool | Sequence[Plain] | Mapping[str, Plain] | None"


@dataclass(frozen=True)
class Parts:
    """The parts of one build; `number` is its build number, eight hexadecimal digits."""

    build: Build
    number: str
    _known: dict[str, Plain] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Plain:
        """A part by its name; raises KeyError where there is none, InputError as `Board` does."""
        if name not in self._known:
            self._known[name] = PARTS[name](self)
        return self._known[name]


def _build(parts: Parts) -> Plain:
    table_set = parts.build.table_set
    return {
        "number": parts.number,
        "caution": textwrap.wrap(IN_SHORT, CAUTION_WIDTH),
        "target": parts.build.target.name,
        "name": identifier(table_set.machine),
        "tables_for": "tracks" if parts.build.image.tracks else parts.build.tables.tables_for.value,
    }


def _image(parts: Parts) -> Plain:
    image = parts.build.image
    shape = image.shape
    counted = ("pairs", "limits", "starts", "frames", "holds", "changes", "records", "order")
    return {
        "bytes": image.size,
        "tables_for": BY_TRACKS if image.tracks else TABLES_FOR.index(image.tables_for),
        "clears": int(image.clear),
        "waits": image.waits,
        "width": image.width,
        "tables": image.tables,
        "repeat_from": image.repeat_from,
        "tick_us": TICK_US,
        "unit_us": image.unit_us,
        "slack_us": image.slack_us,
        "spare_us": image.spare_us,
        "usable_spare_us": image.usable_spare_us,
        "rest_us": image.rest_us,
        "at": {section.name: section.at for section in image.sections},
        "counts": {name: len(getattr(image, name)) for name in counted},
        "limits_from": [
            sum(limit.first_byte == at for limit in image.limits) for at in range(shape.word)
        ],
        "longest_limit": max((max(one.most, one.rest) for one in image.limits), default=0),
        "tracks": _tracks(image.tracks) if image.tracks else None,
        "shape": {name: getattr(shape, name) for name in shape.__dataclass_fields__},
    }


def _tracks(tracks: TrackPart) -> Plain:
    return {
        "count": len(tracks.tracks),
        "kinds": len(tracks.kinds),
        "moves": len(tracks.moves),
        "tick_us": tracks.tick_us,
        "home_us": tracks.home_length_us,
        "first_us": tracks.first_length_us,
        "ticks": tracks.ticks,
        "quiet": list(tracks.quiet) if tracks.quiet else None,
        "is_clock": tracks.is_clock,
        "longest_every": max(track.every for track in tracks.tracks),
    }


def _rows(parts: Parts) -> Plain:
    return [{"title": row.title, "c": row.c, "python": row.python} for row in parts.build.rows]


def _idle(parts: Parts) -> Plain:
    return {"c": parts.build.idle.c, "python": parts.build.idle.python}


def _frames(parts: Parts) -> Plain:
    return [
        {"number": frame.number, "identifier": frame.identifier, "note": frame.note}
        for frame in parts.build.frames
    ]


def _constants(parts: Parts) -> Plain:
    return [
        {"name": one.name, "literal": one.literal, "meaning": one.meaning}
        for one in parts.build.constants
    ]


def _board(parts: Parts) -> Plain:
    board: Board = parts.build.board
    return {
        "chain": _chain(board.chain) if board.chain else None,
        "pins": [_pin(pin) for pin in board.pins],
        "ports": [
            {"letter": letter, "pins": [_pin(pin) for pin in pins]}
            for letter, pins in board.ports.items()
        ],
    }


def _chain(chain: Chain) -> Plain:
    return {
        "first": chain.first,
        "bits": chain.bits,
        "length": chain.length,
        "aligned": chain.aligned,
        "bytes": list(chain.bytes),
    }


def _pin(pin: Pin) -> Plain:
    return {
        "output": pin.output,
        "name": pin.name,
        "note": pin.note,
        "byte": pin.byte,
        "mask": pin.mask,
        "port": pin.port,
        "bit": pin.bit,
    }


def _vcd(parts: Parts) -> Plain:
    dump = parts.build.dump
    return {
        "scopes": [
            {"name": scope, "declarations": [variable.declaration for variable in variables]}
            for scope, variables in dump.scopes
        ],
        "lines": parts.build.dump_lines,
    }


def _wiring(parts: Parts) -> Plain:
    wiring = WiringList(parts.build.machine)
    return {
        "title": wiring.title,
        "cautions": list(wiring.cautions),
        "supplies": list(wiring.supplies),
        "rows": list(wiring.rows),
        "csv": wiring.csv(parts.number),
    }


PARTS: Mapping[str, Callable[[Parts], Plain]] = {
    "build": _build,
    "options": lambda parts: dict(parts.build.target.options),
    "notes": lambda parts: list(parts.build.notes),
    "constants": _constants,
    "frames": _frames,
    "idle": _idle,
    "image": _image,
    "rows": _rows,
    "board": _board,
    "json": lambda parts: with_number(parts.build.json, parts.number),
    "csv": lambda parts: csv_files(parts.build.tables, parts.number),
    "hex_lines": lambda parts: list(hex_lines(parts.build.image.data + trailer(parts.number))),
    "vcd": _vcd,
    "wiring": _wiring,
}
"""How each part is worked out, by the name that templates know it by."""
