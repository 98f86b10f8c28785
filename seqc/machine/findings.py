"""Places in a source text, and the findings that every stage reports about them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import Enum
from typing import NamedTuple


class Place(NamedTuple):
    """A stretch of one line of a source file; lines and columns count from 1."""

    file: str
    line: int
    column: int
    length: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


NOWHERE = Place("", 0, 0, 0)


class Severity(Enum):
    """How much a finding weighs."""

    ERROR = "error"
    WARNING = "warning"


class Related(NamedTuple):
    """A second place that takes part in a finding, and what it has to do with it."""

    place: Place
    note: str


class Finding(NamedTuple):
    """One thing that is wrong or doubtful, where it is, and what to do about it.

    `code` is a stable word such as `unknown-name`; `message` uses the user's own names and numbers.
    """

    severity: Severity
    code: str
    message: str
    place: Place
    hint: str = ""
    related: tuple[Related, ...] = ()

    def __str__(self) -> str:
        return f"{self.place}: {self.severity.value}: {self.message}"


@dataclass
class Findings:
    """Collects the findings of one run, so that all of them are reported and not only the first."""

    reported: list[Finding] = field(default_factory=list)
    _seen: set[Finding] = field(default_factory=set, repr=False, compare=False)

    def error(
        self, code: str, message: str, place: Place, hint: str = "", *related: Related
    ) -> None:
        """Report something that keeps the input from being used."""
        self._report(Finding(Severity.ERROR, code, message, place, hint, related))

    def warning(
        self, code: str, message: str, place: Place, hint: str = "", *related: Related
    ) -> None:
        """Report something doubtful that can be used all the same."""
        self._report(Finding(Severity.WARNING, code, message, place, hint, related))

    def extend(self, findings: Iterable[Finding]) -> None:
        """Report what another stage has found."""
        for finding in findings:
            self._report(finding)

    def _report(self, finding: Finding) -> None:
        if finding not in self._seen:
            self._seen.add(finding)
            self.reported.append(finding)

    @property
    def has_errors(self) -> bool:
        """Whether anything reported keeps the input from being used."""
        return any(finding.severity is Severity.ERROR for finding in self.reported)

    def __iter__(self) -> Iterator[Finding]:
        """All findings in order of place."""
        return iter(sorted(self.reported, key=lambda finding: finding.place))


class InputError(Exception):
    """The input can't be used; carries every finding of the run. Exit status 2."""

    def __init__(self, findings: Findings) -> None:
        super().__init__("\n".join(map(str, findings)))
        self.findings = findings


class ShortfallError(Exception):
    """The machine was read and something falls short; carries what and where. Exit status 1."""

    def __init__(self, findings: Findings) -> None:
        super().__init__("\n".join(map(str, findings)))
        self.findings = findings
