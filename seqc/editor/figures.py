"""What is worked out of a machine about one of its names, a fact a line."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from seqc.language.quantities import CURRENT, TIME, in_words
from seqc.machine.electrics import MILLION, Coil
from seqc.machine.model import Machine
from seqc.machine.parts import Item, Lane, walk_feed
from seqc.machine.wiring import Actuator
from seqc.machine.wording import amount_of

Figures = Iterator[str]


def figures(machine: Machine, keyword: str, name: str) -> list[str]:
    """The facts about a name that a statement declares; none where there is nothing to work out."""
    found = _OF.get(keyword)
    return list(found(machine, name)) if found else []


def path_figures(machine: Machine, start: str, end: str) -> list[str]:
    """How long items take for a path."""
    paths = (path for lane in machine.lanes for path in lane.paths)
    for path in paths:
        if (path.source, path.target) == (start, end):
            settle = f", then {in_words(path.settle_us, TIME)} to settle" if path.settle_us else ""
            return [f"transit {in_words(path.fall_us, TIME)}{settle}"]
    return []


def _coil(machine: Machine, name: str) -> Figures:
    own = [one for one in machine.actuators if one.coil.name == name]
    if not own:
        return
    coil = own[0].coil
    watts = coil.voltage_mv * coil.current_ua / MILLION / 1_000
    yield f"{in_words(coil.current_ua, CURRENT)} and {watts:.3g} W while a pulse lasts, cold"
    yield f"{watts * coil.pulse_us / MILLION:.3g} J a pulse"
    yield from _decay(coil)
    yield f"{amount_of(len(own), 'actuator')}: {_parts(own)}"


def _decay(coil: Coil) -> Figures:
    if coil.decay_us:
        yield f"the current has decayed after {in_words(coil.decay_us, TIME)}"
    pause = max(coil.decay_us, coil.recover_us)
    yield f"{in_words(coil.pulse_us + pause, TIME)} from a pulse to the next one, if not more"


def _parts(actuators: Sequence[Actuator]) -> str:
    return ", ".join(dict.fromkeys(one.part.name for one in actuators))


def _part(machine: Machine, name: str) -> Figures:
    own = [one for one in machine.actuators if one.part.name == name]
    if not own:
        return
    yield f"{amount_of(len(own), 'actuator')}, {_range([len(one.cells) for one in own])} cells each"
    outputs = sorted(bit for one in own for bit in one.outputs)
    yield f"{amount_of(len(outputs), 'output')}: {outputs[0]} to {outputs[-1]}"
    yield f"switched by a {own[0].drive.kind.value} on {own[0].drive.supply.name}"


def _range(counts: Sequence[int]) -> str:
    least, most = min(counts), max(counts)
    return str(least) if least == most else f"{least} to {most}"


def _item(machine: Machine, name: str) -> Figures:
    for lane in _lanes(machine, name):
        count = sum(
            len(cells)
            for feed, cells in lane.different_feeds
            for node in walk_feed(feed)
            if isinstance(node, Item) and node.name == name
        )
        yield f"{amount_of(count, 'magazine')} above grid {lane.grid.name}"


def _lanes(machine: Machine, item: str) -> list[Lane]:
    return [lane for lane in machine.lanes if any(one.name == item for one in lane.items)]


def _grid(machine: Machine, name: str) -> Figures:
    lanes = [one for one in machine.lanes if one.grid.name in (name, f"{name}_1")]
    for lane in lanes:
        own = [one for one in machine.actuators if one.grid == lane.grid]
        yield amount_of(len(lane.grid.cells), "cell")
        if own:
            yield f"{amount_of(len(own), 'actuator')}: {_parts(own)}"


def _outputs(machine: Machine, name: str) -> Figures:
    bus = next((bus for bus in machine.buses if bus.name == name), None)
    if bus is None:
        return
    drives = {id(one.drive): one.drive for one in machine.actuators}.values()
    used = {bit for one in machine.actuators for bit in one.outputs}
    used |= {bit for drive in drives for bit in (drive.reverser, drive.switch) if bit is not None}
    own = used & set(range(bus.first, bus.first + bus.bits))
    yield f"{len(own)} of {amount_of(bus.bits, 'output')} used"


def _supply(machine: Machine, name: str) -> Figures:
    supply = next((one for one in machine.supplies if one.name == name), None)
    if supply is None:
        return
    yield f"{in_words(supply.usable_ua, CURRENT)} for coils, the margin apart"
    coils = {one.coil.name: one.coil for one in machine.actuators if one.drive.supply == supply}
    for coil in coils.values():
        at_once = supply.usable_ua // coil.current_ua if coil.current_ua else 0
        yield f"{amount_of(at_once, 'pulse')} of {coil.name} at one time, at most"


def _font(machine: Machine, name: str) -> Figures:
    for font in machine.fonts:
        if font.name in (name, f"{name}_1"):
            yield f"{amount_of(len(font.glyphs), 'glyph')} for grid {font.grid.name}"


def _programme(machine: Machine, name: str) -> Figures:
    for one in machine.programmes:
        if one.name == name:
            yield f"one frame every {in_words(one.every_us, TIME)}"


_OF: Mapping[str, Callable[[Machine, str], Figures]] = {
    "coil": _coil,
    "selector": _part,
    "gate": _part,
    "item": _item,
    "grid": _grid,
    "outputs": _outputs,
    "supply": _supply,
    "font": _font,
    "programme": _programme,
    "clock": _programme,
    "together": _programme,
}
