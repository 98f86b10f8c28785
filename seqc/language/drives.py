"""Drives: which parts each one switches, by what, from which outputs and supply."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.language.quantities import VOLTAGE, in_words
from seqc.language.scope import Scope
from seqc.language.settings import Setting, Settings, read_settings
from seqc.language.source import Source, Statement, Word
from seqc.language.values import Amount, Amounts
from seqc.machine.electrics import Bus, DriveKind, Relay, Supply
from seqc.machine.findings import Findings, Related
from seqc.machine.parts import Item, Part
from seqc.machine.wording import a_kind, listed, quoted


@dataclass(frozen=True, slots=True)
class Board:
    """Outputs that switch a drive: those of a bus, or those of them that are `listed`."""

    word: Word
    bus: Bus
    listed: tuple[Amount, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class DriveDraft:
    """A drive as declared, before its outputs are assigned.

    `parts` are those that are sound. `boards` are empty, and `supply` or `relay` None, where they
    are unsound.
    """

    statement: Statement
    settings: Settings
    kind: DriveKind
    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    supply: Supply | None
    relay: Relay | None

    @property
    def has_switch(self) -> bool:
        """Whether a pulse switch stands in its rail."""
        return self.settings.get("pulse switch") is not None


def read_drives(source: Source, scope: Scope) -> tuple[DriveDraft, ...]:
    """Every drive of which at least the kind is known, in the order of declaration."""
    owners: dict[str, Word] = {}
    drafts = [_read_drive(statement, scope, owners) for statement in source.of("drive")]
    return tuple(draft for draft in drafts if draft is not None)


def _read_drive(statement: Statement, scope: Scope, owners: dict[str, Word]) -> DriveDraft | None:
    settings = read_settings(statement, scope.findings)
    parts = tuple(_parts(statement, scope, owners))
    boards = _boards(settings, scope)
    relay_word = settings.word("relay")
    relay = scope.relays.value(relay_word) if relay_word else None
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
        boards,
        supply,
        relay,
    )


def _boards(settings: Settings, scope: Scope) -> tuple[Board, ...]:
    """The boards of a drive, each with the `at` that stands behind it; none where one is unsound.

    Of several boards each needs an `at`.
    """
    froms = settings.all("from")
    found = [
        _board(each, _ats(settings, number), len(froms) > 1, scope)
        for number, each in enumerate(froms)
    ]
    return tuple(board for board in found if board) if all(found) else ()


def _ats(settings: Settings, number: int) -> list[Setting]:
    """Every `at` between a `from`, counted from 0, and the next; before the first it is its own."""
    found: dict[int, list[Setting]] = {}
    board = -1
    for setting in settings.given:
        if setting.entry.key == "from":
            board += 1
        elif setting.entry.key == "at":
            found.setdefault(max(0, board), []).append(setting)
    return found.get(number, [])


def _board(setting: Setting, ats: Sequence[Setting], several: bool, scope: Scope) -> Board | None:
    word = setting.values[0] if setting.values else None
    if not isinstance(word, Word):
        return None
    bus = scope.buses.value(word)
    for again in ats[1:]:
        related = Related(ats[0].place, "first given here")
        message, hint = "`at` is given twice", "leave one out, or name the other board with `from`"
        scope.findings.error("repeated-setting", message, again.place, hint, related)
    if several and not ats:
        message = f"which outputs of `{word.text}`? A drive on several boards lists them"
        hint = f"write `from {word.text} at 0, 1`, with each of its outputs"
        scope.findings.error("outputs-not-listed", message, word.place, hint)
        return None
    asked = ats[0].values[0] if ats and ats[0].values else None
    listed = asked.each if isinstance(asked, Amounts) else ()
    return Board(word, bus, tuple(listed)) if bus else None


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
    needed, *useless = ("dead time", "relay") if kind.is_solid_state else ("relay", "dead time")
    useless += ["pulse switch"] if kind is DriveKind.MATRIX else ["columns"]
    example = "dead time 1 ms" if needed == "dead time" else "relay card"
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
