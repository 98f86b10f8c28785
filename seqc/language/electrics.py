"""Coils, relays, outputs and supplies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from seqc.language.general import GeneralTolerance, read_air, read_controller
from seqc.language.limits import MAX_ALL_OUTPUTS
from seqc.language.quantities import TIME, VOLTAGE, in_words
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement, Word
from seqc.language.values import Amount
from seqc.language.winding import read_lead, read_suppression, read_winding
from seqc.machine.electrics import MILLION, Bus, Coil, Relay, Supply, ceil_div
from seqc.machine.findings import Findings, Related
from seqc.machine.lifetime import ASSUMED_SHAPE
from seqc.machine.wording import listed, quoted

LONGEST_PULSES = 2
"""A pulse may be held for as many times its length where the coil doesn't say otherwise."""


def declare_electrics(source: Source, scope: Scope) -> None:
    """Enter every coil, relay, bus of outputs and supply."""
    declare_coils(source, scope)
    declare_supplies(source, scope)
    declare_relays(source, scope)
    declare_buses(source, scope)


def declare_coils(source: Source, scope: Scope) -> None:
    """Enter every coil."""
    for statement in source.of("coil"):
        settings = read_settings(statement, scope.findings)
        _lone_shapes(settings, scope.findings)
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
        longest_us=settings.integer("max pulse") or LONGEST_PULSES * pulse,
        travel_us=settings.needed("travel"),
        inductance_uh=settings.integer("inductance") or 0,
        recover_us=settings.integer("minimum off") or 0,
        duty_ppm=settings.integer("duty"),
        life=settings.integer("life"),
        place=statement.name.place,
        winding=read_winding(settings, findings),
        lead=read_lead(settings, findings),
        suppression=read_suppression(settings),
        magnet_clearance_um=settings.integer("magnet clearance"),
        travel_tolerance=scope.tolerance.of(settings, "travel"),
        life_shape=shape_of(settings, "life"),
        moment_uam2=settings.integer("magnet"),
    )
    return replace(coil, tolerance_ppm=scope.tolerance.ppm_of(settings, coil.decay_us))


def _times_agree(coil: Coil, settings: Settings, findings: Findings) -> bool:
    pulse = in_words(coil.pulse_us, TIME)
    travel, longest = settings.amount("travel"), settings.amount("max pulse")
    if travel and coil.travel_us > coil.pulse_us:
        message = f"coil `{coil.name}` travels for {travel.text}, longer than its pulse of {pulse}"
        hint = "a part that is still moving when the current ends may not arrive"
        findings.warning("short-pulse", message, travel.place, hint)
    if longest and coil.longest_us < coil.pulse_us:
        message = f"the `max pulse` of coil `{coil.name}` is shorter than its pulse of {pulse}"
        findings.error("max-pulse-below-pulse", message, longest.place, f"give {pulse} or more")
        return False
    return True


def shape_of(settings: Settings, key: str) -> float:
    """The shape that is told right behind a life, or the one that is taken where none is."""
    for before, setting in pairwise(settings.given):
        if setting.entry.key == "B10 shape" and before.entry.key == key:
            value = setting.values[0]
            assert isinstance(value, Amount)
            return value.value / MILLION
    return ASSUMED_SHAPE


def _lone_shapes(settings: Settings, findings: Findings) -> None:
    """Report every shape that stands behind no life."""
    for before, setting in pairwise((None, *settings.given)):
        known = before is not None and before.entry.key.endswith("life")
        if setting is not None and setting.entry.key == "B10 shape" and not known:
            message = "`B10 shape` stands behind no life"
            hint = "write it right behind one, such as `life 100000 B10 shape 2`"
            findings.error("lone-shape", message, setting.place, hint)


def declare_relays(source: Source, scope: Scope) -> None:
    """Enter every relay."""
    for statement in source.of("relay"):
        settings = read_settings(statement, scope.findings)
        _lone_shapes(settings, scope.findings)
        supply = _coil_supply(settings, scope)
        relay = _relay(statement, settings, scope.tolerance) if settings.sound else None
        if relay is not None and supply is not None:
            relay = replace(relay, coil_ua=_coil_current(settings), coil_supply=supply)
        scope.relays.declare(statement, relay)


def _coil_amounts(settings: Settings) -> list[Amount]:
    """The voltage and the current of a relay's own coil, if it tells them."""
    setting = settings.get("coil")
    return [value for value in setting.values if isinstance(value, Amount)] if setting else []


def _coil_current(settings: Settings) -> int:
    return _coil_amounts(settings)[1].value


def _told_supply(word: Word, amounts: Sequence[Amount], scope: Scope) -> Supply | None:
    """The supply that a relay's coil is told to be on, if it gives what the coil is made for."""
    supply = scope.supplies.value(word)
    if supply is None or not amounts or supply.voltage_mv == amounts[0].value:
        return supply if amounts else None
    given = in_words(supply.voltage_mv, VOLTAGE)
    message = f"the relay's coil is for {amounts[0].text}, but supply `{supply.name}` gives {given}"
    related = Related(supply.place, "the supply")
    hint = "choose a coil and a supply of one voltage"
    scope.findings.error("voltage-mismatch", message, word.place, hint, related)
    return None


def _coil_supply(settings: Settings, scope: Scope) -> Supply | None:
    """The supply of a relay's own coil: the one told, or the only one of its voltage."""
    word, amounts = settings.word("on"), _coil_amounts(settings)
    if word is not None:
        return _told_supply(word, amounts, scope)
    if len(amounts) != 2:
        return None
    voltage = amounts[0]
    fitting = [s for s in scope.supplies if s.value and s.value.voltage_mv == voltage.value]
    if len(fitting) == 1:
        fitting[0].used = True
        return fitting[0].value
    many = "none" if not fitting else f"{len(fitting)}"
    message = f"the relay's coil is for {voltage.text}, and of the supplies {many} gives that"
    hint = "add `supply logic { 5 V limit 2 A }`"
    if fitting:
        message = f"the relay's coil is for {voltage.text}, which {many} supplies give"
        hint = f"add {listed(quoted(f'on {entry.word.text}' for entry in fitting))}"
    if scope.supplies.whole and all(entry.value for entry in scope.supplies):
        scope.findings.error("which-supply", message, voltage.place, hint)
    return None


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
        contact_shape=shape_of(settings, "contact life"),
        mechanical_shape=shape_of(settings, "mechanical life"),
        has_diode={"with diode": True, "without diode": False}.get(str(settings.phrase("diode"))),
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
        counted_from=settings.integer("counted from") or 0,
    )


def declare_supplies(source: Source, scope: Scope) -> None:
    """Enter every supply, with what the controller draws of it."""
    scope.coldest_c, scope.hottest_c = read_air(source, scope.findings)
    scope.controller = read_controller(source, scope.findings, scope.tolerance)
    for statement in source.of("supply"):
        settings = read_settings(statement, scope.findings)
        supply = _supply(statement, settings, scope) if settings.sound else None
        scope.supplies.declare(statement, supply)
    for word in _controller_supply(source):
        scope.supplies.find(word)


def _controller_supply(source: Source) -> Iterator[Word]:
    """The name of the controller's supply where it stands."""
    for statement in source.of("controller"):
        words = [piece for piece in statement.pieces if isinstance(piece, Word)]
        yield from (after for word, after in pairwise(words) if word.text == "on")


def _supply(statement: Statement, settings: Settings, scope: Scope) -> Supply:
    voltage = settings.amount("voltage")
    assert voltage is not None
    off = voltage.tolerance.over_us if voltage.tolerance else 0
    own = statement.name.text == scope.controller.supply
    return Supply(
        statement.name.text,
        voltage.value,
        settings.needed("limit"),
        settings.integer("margin") or 0,
        statement.name.place,
        ceil_div(off * MILLION, voltage.value),
        scope.coldest_c,
        read_lead(settings, scope.findings),
        scope.controller.draws_ua if own else 0,
        settings.integer("fuse"),
    )
