"""What a table did once, kept so that it needn't be worked out again from an equal state."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

MOST_REMEMBERED = 5_000
"""How many outcomes are kept; past that all are forgotten, so that memory is bounded."""

Value = TypeVar("Value", bound=Hashable)
Outcome = TypeVar("Outcome")


class Keyed(Generic[Value]):
    """A value whose hash is worked out once, since it is looked up many times."""

    __slots__ = ("_hash", "value")

    def __init__(self, value: Value) -> None:
        self.value = value
        self._hash = hash(value)

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        return isinstance(other, Keyed) and self._hash == other._hash and self.value == other.value


class Memory(Generic[Outcome]):
    """Outcomes by what they follow from."""

    def __init__(self) -> None:
        self._kept: dict[Hashable, Outcome] = {}

    def recall(self, key: Hashable, work_out: Callable[[], Outcome]) -> Outcome:
        """The outcome that follows from the key: remembered, or worked out and kept."""
        if key not in self._kept:
            if len(self._kept) >= MOST_REMEMBERED:
                self._kept.clear()
            self._kept[key] = work_out()
        return self._kept[key]

    def __len__(self) -> int:
        return len(self._kept)
