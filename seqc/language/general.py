"""What is said once for the whole machine: the tolerance of its parts, and its controller."""

from __future__ import annotations

from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source
from seqc.machine.controller import ASSUMED_CLOCK_PPM, Controller
from seqc.machine.findings import Findings, Related
from seqc.machine.span import ASSUMED_PPM, EXACT, PPM, Tolerance
from seqc.machine.winding import AMBIENT_C, REFERENCE_C
from seqc.machine.wording import listed, quoted


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
    own = clock.tolerance
    share = assumed if own is None else -(-own.over_us * PPM // clock.value)
    draws = settings.integer("draws") or 0
    return Controller(
        share, clock.value, clock.place, draws, _supply_of(source, settings, findings)
    )


def _supply_of(source: Source, settings: Settings, findings: Findings) -> str:
    """The name of the supply that feeds the controller: the one told, or the only one."""
    draws, word = settings.get("draws"), settings.word("on")
    supplies = [statement.name.text for statement in source.of("supply")]
    if draws is None:
        return ""
    if word is not None:
        return word.text
    if len(supplies) != 1:
        message = "the controller doesn't tell which supply it draws from"
        hint = f"add {listed(quoted(f'on {name}' for name in supplies) or ['`on logic`'])}"
        findings.error("which-supply", message, draws.place, hint)
        return ""
    return supplies[0]


def read_air(source: Source, findings: Findings) -> tuple[float, float]:
    """The coldest and the warmest air around the machine, in degrees Celsius."""
    settings = _only("air", source, findings)
    air = settings.amount("temperature") if settings else None
    if air is None:
        return REFERENCE_C, AMBIENT_C
    off = air.tolerance or EXACT
    return (air.value - off.under_us) / 1000, (air.value + off.over_us) / 1000


def _only(keyword: str, source: Source, findings: Findings) -> Settings | None:
    """The settings of a statement that may stand once; a second one is reported."""
    statements = list(source.of(keyword))
    read = [read_settings(statement, findings) for statement in statements]
    for second in statements[1:]:
        related = Related(statements[0].place, "first given here")
        message = f"`{keyword}` is given twice"
        findings.error("second-statement", message, second.place, "leave one out", related)
    return read[0] if read else None
