"""Drives: which parts each one switches, by what, from which outputs and supply."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.language.quantities import VOLTAGE, in_words
from seqc.language.scope import Scope
from seqc.language.settings import Setting, Settings, read_settings
from seqc.language.source import Source, Statement, Word
from seqc.language.values import Amounts
from seqc.machine.electrics import Bus, DriveKind, Relay, Supply
from seqc.machine.findings import Findings, Related
from seqc.machine.parts import Item, Part
from seqc.machine.wording import a_kind, listed, quoted


@dataclass(frozen=True, slots=True, eq=False)
class DriveDraft:
    """A drive as declared, before its outputs are assigned.

    `parts` are those that are sound. `bus`, `supply` or `relay` are None where they are unsound.
    """

    statement: Statement
    settings: Settings
    kind: DriveKind
    parts: tuple[Part, ...]
    bus: Bus | None
    supply: Supply | None
    relay: Relay | None

    @property
    def bits(self) -> Amounts | None:
        """The outputs that are asked for by number, if any are."""
        value = self.settings.value("at")
        return value if isinstance(value, Amounts) else None

    @property
    def has_switch(self) -> bool:
        """Whether a pulse switch stands in its rail."""
        return self.settings.get("pulse switch") is not None

    @property
    def from_word(self) -> Word:
        """The name of the bus where it is used."""
        return self.settings.word("from") or self.statement.name


def read_drives(source: Source, scope: Scope) -> tuple[DriveDraft, ...]:
    """Every drive of which at least the kind is known, in the order of declaration."""
    owners: dict[str, Word] = {}
    drafts = [_read_drive(statement, scope, owners) for statement in source.of("drive")]
    return tuple(draft for draft in drafts if draft is not None)


def _read_drive(statement: Statement, scope: Scope, owners: dict[str, Word]) -> DriveDraft | None:
    settings = read_settings(statement, scope.findings)
    parts = tuple(_parts(statement, scope, owners))
    bus = _named(settings, "from", scope)
    relay = _named(settings, "relay", scope)
    supply = _supply(statement, settings, parts, scope)
    phrase = settings.phrase("kind")
    if phrase is None:
        return None
    kind = DriveKind(phrase)
    sound = _fits_kind(kind, settings, scope.findings) and settings.sound
    return DriveDraft(
        statement,
        Settings(settings.given, sound),
        kind,
        parts,
        bus if isinstance(bus, Bus) else None,
        supply,
        relay if isinstance(relay, Relay) else None,
    )


def _named(settings: Settings, key: str, scope: Scope) -> Bus | Relay | None:
    word = settings.word(key)
    if word is None:
        return None
    return scope.buses.value(word) if key == "from" else scope.relays.value(word)


def _parts(statement: Statement, scope: Scope, owners: dict[str, Word]) -> Iterable[Part]:
    """The parts of a drive; one that has a drive already, or isn't a part, is reported."""
    for word in statement.names:
        entry = scope.stations.find(word, use=False)
        before = owners.setdefault(word.text, word)
        if before is not word:
            message = f"`{word.text}` has two drives"
            related = Related(before.place, "the first one")
            scope.findings.error("second-drive", message, word.place, "leave one out", related)
        elif entry is not None and entry.kind == "item":
            message = f"`{word.text}` is {a_kind('item')}, and a drive moves selectors and gates"
            related = Related(entry.word.place, "declared here")
            scope.findings.error("wrong-role", message, word.place, "leave it out", related)
        elif entry is not None and entry.value is not None and not isinstance(entry.value, Item):
            yield entry.value


def _suits(supply: Supply | None, parts: Iterable[Part]) -> bool:
    """Whether a supply may be meant for some parts: no coil of theirs is for another voltage."""
    coils = [part.coil for part in parts if part.coil.name]
    return supply is None or all(coil.voltage_mv == supply.voltage_mv for coil in coils)


def _supply(
    statement: Statement, settings: Settings, parts: Iterable[Part], scope: Scope
) -> Supply | None:
    """The supply that is named, or the only one, or the only one of the coils' voltage."""
    word = settings.word("on")
    if word is not None:
        return scope.supplies.value(word)
    if settings.get("on") is not None:
        return None
    entries = list(scope.supplies)
    fitting = [entry for entry in entries if _suits(entry.value, parts)]
    entries = fitting if len(fitting) == 1 else entries
    if len(entries) == 1:
        entries[0].used = True
        return entries[0].value
    for entry in entries:
        entry.used = True
    if not entries and scope.supplies.whole:
        message = "the drive has no supply"
        hint = "add `supply bench { 12 V limit 4 A margin 20 % }`"
        scope.findings.error("missing-supply", message, statement.place, hint)
    elif entries:
        message = f"the drive doesn't tell which of {len(entries)} supplies it is on"
        hint = f"add {listed(quoted(f'on {entry.word.text}' for entry in entries))}"
        related = tuple(Related(entry.word.place, "a supply") for entry in entries)
        scope.findings.error("which-supply", message, statement.place, hint, *related)
    return None


def _fits_kind(kind: DriveKind, settings: Settings, findings: Findings) -> bool:
    """Whether a drive has what its kind needs, and nothing that the kind has no use for."""
    needed, *useless = ("dead", "relay") if kind.is_solid_state else ("relay", "dead")
    useless += ["pulse switch"] if kind is DriveKind.MATRIX else ["columns"]
    example = "dead 1 ms" if needed == "dead" else "relay card"
    own = settings.get("kind")
    extra = [setting for key in useless for setting in settings.all(key)]
    assert own is not None
    for setting in extra:
        _report_useless(kind, setting, findings)
    has_switch = _has_switch(settings, findings)
    if settings.get(needed) is None:
        message = f"a {kind.value} has no `{needed}`"
        findings.error("missing-setting", message, own.place, f"add `{example}`")
        return False
    return not extra and has_switch


def _has_switch(settings: Settings, findings: Findings) -> bool:
    """Whether there is a pulse switch for the times of one, if these are told."""
    if settings.get("pulse switch") is not None:
        return True
    times = [setting for key in ("turn on", "turn off") for setting in settings.all(key)]
    for setting in times:
        message = f"{setting.entry.title} is a time of a pulse switch, and the drive has none"
        hint = "add `pulse switch`, or leave it out"
        findings.error("excluded-setting", message, setting.place, hint)
    return not times


def _report_useless(kind: DriveKind, setting: Setting, findings: Findings) -> None:
    message = f"a {kind.value} has no use for {setting.entry.title}"
    findings.error("excluded-setting", message, setting.place, "leave it out")


def check_drives(
    source: Source, drafts: Sequence[DriveDraft], moved: Sequence[Part], scope: Scope
) -> None:
    """Report parts that no drive moves, and coils that don't suit their supply."""
    driven = {word.text for statement in source.of("drive") for word in statement.names}
    for part in moved:
        if part.name not in driven and source.is_whole("drive"):
            message = f"no drive moves `{part.name}`"
            hint = f"name it in a drive, such as `drive {part.name} {{ ... }}`"
            scope.findings.error("missing-drive", message, part.place, hint)
    for draft in drafts:
        if draft.supply is not None:
            _check_coils(draft, draft.supply, scope.findings)


def _check_coils(draft: DriveDraft, supply: Supply, findings: Findings) -> None:
    """Check each coil of a drive once, at the first part that has it."""
    words = {word.text: word for word in draft.statement.names}
    coils = {part.coil.name: (part.coil, words[part.name]) for part in reversed(draft.parts)}
    for coil, word in coils.values():
        if not coil.name:
            continue
        related = (Related(coil.place, "the coil"), Related(supply.place, "the supply"))
        if coil.voltage_mv != supply.voltage_mv:
            wanted, given = in_words(coil.voltage_mv, VOLTAGE), in_words(supply.voltage_mv, VOLTAGE)
            message = (
                f"coil `{coil.name}` is for {wanted}, but supply `{supply.name}` gives {given}"
            )
            hint = "choose a coil and a supply of one voltage"
            findings.error("voltage-mismatch", message, word.place, hint, *related)
