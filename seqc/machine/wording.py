"""Words for messages: lists, and the known name nearest to one that isn't known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

COMPARED = 256
SHOWN = 60
_MEANT = ("did you mean `", "`?")


def quoted(words: Iterable[str]) -> list[str]:
    """Each word in the quotes in which messages show what stands in a file."""
    return [f"`{word}`" for word in words]


def listed(words: Sequence[str], joint: str = "or") -> str:
    """Words as a list in a sentence: `a, b or c`."""
    return f" {joint} ".join([*([", ".join(words[:-1])] if words[1:] else []), words[-1]])


def nearest(word: str, known: Sequence[str]) -> str | None:
    """The known word most like a given one, or None; among many only the first are compared."""
    import difflib  # Only where something is misspelt: it takes time at every start.

    candidates = {name.casefold(): name for name in reversed(known[:COMPARED])}
    found = difflib.get_close_matches(word.casefold(), candidates, 1, 0.6)
    return candidates[found[0]] if found else None


def did_you_mean(word: str, known: Sequence[str], few: int = 8) -> str:
    """A hint with the nearest known word, or with all if they are few, or nothing."""
    near = nearest(word, known)
    if near is not None:
        return meant(near)
    if 0 < len(known) <= few:
        return f"known here: {', '.join(quoted(known))}"
    return ""


def meant(word: str) -> str:
    """The hint that another word may be meant."""
    return f"{_MEANT[0]}{word}{_MEANT[1]}"


def suggestion(hint: str) -> str | None:
    """The word that a hint takes to be meant, or None."""
    inner = hint.removeprefix(_MEANT[0]).removesuffix(_MEANT[1])
    return inner if hint == meant(inner) else None


def shown(text: str) -> str:
    """A stretch of a file as messages show it: cut where it is very long."""
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}..."


def amount_of(count: int, noun: str) -> str:
    """A count with its noun: `1 cell`, `2 cells`."""
    return f"{count} {noun}" if count == 1 else f"{count:,} {noun}s"


def a_kind(kind: str) -> str:
    """A kind of declaration with its article."""
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"
