"""Coils, relays, outputs and supplies."""

from __future__ import annotations

from dataclasses import replace

from seqc.language.general import GeneralTolerance
from seqc.language.limits import MAX_ALL_OUTPUTS
from seqc.language.quantities import TIME, in_words
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement
from seqc.language.winding import read_lead, read_suppression, read_winding
from seqc.machine.electrics import Bus, Coil, Relay, Supply
from seqc.machine.findings import Findings

LONGEST_PULSES = 2
"""A pulse may be held for as many times its length where the coil doesn't say otherwise."""


def declare_electrics(source: Source, scope: Scope) -> None:
    """Enter every coil, relay, bus of outputs and supply."""
    declare_coils(source, scope)
    declare_relays(source, scope)
    declare_buses(source, scope)
    declare_supplies(source, scope)


def declare_coils(source: Source, scope: Scope) -> None:
    """Enter every coil."""
    for statement in source.of("coil"):
        settings = read_settings(statement, scope.findings)
        coil = _coil(statement, settings, scope) if settings.sound else None
        if coil is not None and not _times_agree(coil, settings, scope.findings):
            coil = None
        scope.coils.declare(statement, coil)


def _coil(statement: Statement, settings: Settings, scope: Scope) -> Coil:
    pulse, findings = settings.needed("pulse"), scope.findings
    coil = Coil(
        name=statement.name.text,
        voltage_mv=settings.needed("voltage"),
        resistance_mohm=settings.needed("resistance"),
        pulse_us=pulse,
        longest_us=settings.integer("longest") or LONGEST_PULSES * pulse,
        travel_us=settings.needed("travel"),
        inductance_uh=settings.integer("inductance") or 0,
        recover_us=settings.integer("recover") or 0,
        duty_ppm=settings.integer("duty"),
        life=settings.integer("life"),
        place=statement.name.place,
        winding=read_winding(settings, findings),
        lead=read_lead(settings, findings),
        suppression=read_suppression(settings),
        standoff_um=settings.integer("standoff"),
        travel_tolerance=scope.tolerance.of(settings, "travel"),
    )
    return replace(coil, tolerance_ppm=scope.tolerance.ppm_of(settings, coil.decay_us))


def _times_agree(coil: Coil, settings: Settings, findings: Findings) -> bool:
    pulse = in_words(coil.pulse_us, TIME)
    travel, longest = settings.amount("travel"), settings.amount("longest")
    if travel and coil.travel_us > coil.pulse_us:
        message = f"coil `{coil.name}` travels for {travel.text}, longer than its pulse of {pulse}"
        hint = "a part that is still moving when the current ends may not arrive"
        findings.warning("short-pulse", message, travel.place, hint)
    if longest and coil.longest_us < coil.pulse_us:
        message = f"the longest pulse of coil `{coil.name}` is shorter than its pulse of {pulse}"
        findings.error("longest-below-pulse", message, longest.place, f"give {pulse} or more")
        return False
    return True


def declare_relays(source: Source, scope: Scope) -> None:
    """Enter every relay."""
    for statement in source.of("relay"):
        settings = read_settings(statement, scope.findings)
        relay = _relay(statement, settings, scope.tolerance) if settings.sound else None
        scope.relays.declare(statement, relay)


def _relay(statement: Statement, settings: Settings, tolerance: GeneralTolerance) -> Relay:
    return Relay(
        statement.name.text,
        settings.needed("operate"),
        settings.needed("release"),
        settings.integer("contact life"),
        settings.integer("mechanical life"),
        statement.name.place,
        settings.integer("rating"),
        settings.integer("bounce") or 0,
        tolerance.of(settings, "operate"),
        tolerance.of(settings, "release"),
        tolerance.of(settings, "bounce"),
    )


def declare_buses(source: Source, scope: Scope) -> None:
    """Enter every bus; their outputs are numbered on, in the order of declaration."""
    first = 0
    for statement in source.of("outputs"):
        settings = read_settings(statement, scope.findings)
        bus = _bus(statement, settings, first) if settings.sound else None
        before, first = first, first + (bus.bits if bus else 0)
        if before <= MAX_ALL_OUTPUTS < first:
            message = f"more than {MAX_ALL_OUTPUTS} outputs in all"
            place, hint = statement.name.place, "divide the machine"
            scope.findings.error("too-many-outputs", message, place, hint)
        scope.buses.declare(statement, bus if first <= MAX_ALL_OUTPUTS else None)


def _bus(statement: Statement, settings: Settings, first: int) -> Bus:
    return Bus(
        statement.name.text,
        settings.needed("bits"),
        first,
        shift_register=settings.phrase("wiring") == "shift register",
        active_low=settings.phrase("level") == "active low",
        place=statement.name.place,
    )


def declare_supplies(source: Source, scope: Scope) -> None:
    """Enter every supply."""
    for statement in source.of("supply"):
        settings = read_settings(statement, scope.findings)
        supply = _supply(statement, settings) if settings.sound else None
        scope.supplies.declare(statement, supply)


def _supply(statement: Statement, settings: Settings) -> Supply:
    return Supply(
        statement.name.text,
        settings.needed("voltage"),
        settings.needed("limit"),
        settings.integer("margin") or 0,
        statement.name.place,
    )
