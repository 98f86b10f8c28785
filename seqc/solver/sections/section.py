"""One section: how far it can have come after some passes, and how it goes on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.solver.positions import Positions
from seqc.solver.ways import Ways, both


class Section:
    """The states of one section, each with a number.

    A state tells by where the section may stand how many pulses more that took than the fewest.
    """

    def __init__(self, start: Positions, wanted: Mapping[int, Ways], end: Positions) -> None:
        """`wanted` is what each group wants; with the last pass `end` holds as well."""
        self._start = start
        self._wanted = wanted
        self._closing = {group: both(ways, (end,)) for group, ways in wanted.items()}
        self._states: list[Mapping[Positions, int]] = [{start: 0}]
        self._numbers = {frozenset(self._states[0].items()): 0}
        self._moves: dict[tuple[int, int, bool], tuple[int, int]] = {}

    def closes(self, group: int) -> bool:
        """Whether a group can be the last one."""
        return bool(self._closing[group])

    def _ways(self, group: int, last: bool) -> Ways:
        return (self._closing if last else self._wanted)[group]

    def moved(self, state: int, group: int, last: bool) -> tuple[int, int]:
        """The pulses that a pass for a group adds to the fewest, and the state after it."""
        key = state, group, last
        if key not in self._moves:
            found = _reached(self._states[state], self._ways(group, last))
            added = min(found.values())
            after = {at: pulses - added for at, pulses in found.items()}
            number = self._numbers.setdefault(frozenset(after.items()), len(self._states))
            if number == len(self._states):
                self._states.append(after)
            self._moves[key] = added, number
        return self._moves[key]

    def path(self, order: Sequence[int]) -> list[Positions]:
        """A way for each pass of an order, so that the section moves least in all."""
        paths: dict[Positions, tuple[int, tuple[Positions, ...]]] = {self._start: (0, ())}
        for place, group in enumerate(order, start=1):
            longer: dict[Positions, tuple[int, tuple[Positions, ...]]] = {}
            for at, (pulses, path) in paths.items():
                for way in self._ways(group, place == len(order)):
                    after, count = at.then(way), pulses + at.missing(way).bit_count()
                    if after not in longer or count < longer[after][0]:
                        longer[after] = count, (*path, way)
            paths = longer
        return list(min(paths.values(), key=lambda each: each[0])[1])


def _reached(state: Mapping[Positions, int], ways: Ways) -> dict[Positions, int]:
    """Where a section can stand after one more pass, without where it is never better to stand."""
    found: dict[Positions, int] = {}
    for at, pulses in state.items():
        for way in ways:
            after, count = at.then(way), pulses + at.missing(way).bit_count()
            found[after] = min(found.get(after, count), count)
    return {
        at: pulses
        for at, pulses in found.items()
        if not any(
            other != at and less + other.missing(at).bit_count() <= pulses
            for other, less in found.items()
        )
    }
