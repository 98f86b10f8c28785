"""What a coil tells about its copper, its leads and its suppression."""

from __future__ import annotations

from seqc.language.settings import Settings
from seqc.machine.findings import Findings
from seqc.machine.suppression import Suppression
from seqc.machine.winding import CLASS_LIMIT_C, Winding
from seqc.machine.wire import Lead
from seqc.machine.wording import did_you_mean


def read_winding(settings: Settings, findings: Findings) -> Winding:
    """The copper of a coil; an insulation class that doesn't exist is reported."""
    word = settings.word("insulation class")
    if word is not None and word.text not in CLASS_LIMIT_C:
        message = f"`{word.text}` is not an insulation class"
        findings.error(
            "unknown-class", message, word.place, did_you_mean(word.text, tuple(CLASS_LIMIT_C))
        )
    return Winding(
        settings.integer("pull in"),
        settings.integer("winding mass"),
        word.text if word else None,
        settings.integer("thermal resistance"),
    )


def read_lead(settings: Settings, findings: Findings) -> Lead | None:
    """The leads of a coil or the return of a supply, which have both a size and a length."""
    size, length = settings.amount("leads"), settings.amount("length")
    if size is None or length is None:
        lone = settings.get("leads") or settings.get("length")
        if lone is not None:
            message = f"{lone.entry.title} alone doesn't tell the resistance of the leads"
            words = "common return" if settings.get("limit") else "leads"
            hint = f"write `{words} AWG 22 length 2 m` or `{words} 0.5 mm2 length 2 m`"
            findings.error("half-leads", message, lone.place, hint)
        return None
    millimetres = length.value // 1_000
    if str(settings.phrase("leads")).endswith(" AWG"):
        return Lead.of_gauge(size.value, millimetres)
    return Lead(size.value, millimetres)


def read_suppression(settings: Settings) -> Suppression | None:
    """What stands across the coil, if it is told."""
    phrase = settings.phrase("suppression")
    return Suppression(phrase) if phrase else None
