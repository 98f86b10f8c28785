"""What is said once for the whole machine: the tolerance of its parts, and its controller."""

from __future__ import annotations

from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source
from seqc.machine.controller import ASSUMED_CLOCK_PPM, Controller
from seqc.machine.findings import Findings, Related
from seqc.machine.span import ASSUMED_PPM, EXACT, PPM, Tolerance


class GeneralTolerance:
    """The tolerance of every time of a part that has none of its own.

    `is_assumed` tells whether such a time was met, and no statement tells its tolerance.
    """

    def __init__(self, source: Source, findings: Findings) -> None:
        settings = _only("tolerance", source, findings)
        told = settings.integer("tolerance") if settings else None
        self.ppm = ASSUMED_PPM if told is None else told
        self.is_told = settings is not None or not source.is_whole("tolerance")
        self.is_assumed = False

    def of(self, settings: Settings, key: str) -> Tolerance:
        """That of a setting which is a time: its own, that of its block, or the general one."""
        amount = settings.amount(key)
        if amount is None:
            return EXACT
        return amount.tolerance or self.share(settings, amount.value)

    def share(self, settings: Settings, nominal_us: int) -> Tolerance:
        """That of a time which is computed: that of its block, or the general one."""
        return Tolerance.share(nominal_us, self.ppm_of(settings, nominal_us))

    def ppm_of(self, settings: Settings, nominal_us: int) -> int:
        """The share that holds in a block for a time without a tolerance of its own."""
        own = settings.integer("tolerance")
        if own is None and nominal_us:
            self.is_assumed = self.is_assumed or not self.is_told
        return self.ppm if own is None else own


def read_controller(source: Source, findings: Findings, tolerance: GeneralTolerance) -> Controller:
    """The controller; one that isn't told has a clock of common quality, or exact like all else."""
    settings = _only("controller", source, findings)
    clock = settings.amount("clock") if settings else None
    assumed = min(ASSUMED_CLOCK_PPM, tolerance.ppm)
    if settings is None or clock is None:
        return Controller(assumed)
    place = clock.place
    if clock.tolerance is None:
        return Controller(assumed, clock.value, place)
    return Controller(-(-clock.tolerance.over_us * PPM // clock.value), clock.value, place)


def _only(keyword: str, source: Source, findings: Findings) -> Settings | None:
    """The settings of a statement that may stand once; a second one is reported."""
    statements = list(source.of(keyword))
    read = [read_settings(statement, findings) for statement in statements]
    for second in statements[1:]:
        related = Related(statements[0].place, "first given here")
        message = f"`{keyword}` is given twice"
        findings.error("second-statement", message, second.place, "leave one out", related)
    return read[0] if read else None
