"""The signs by which items are drawn where no font says how."""

from __future__ import annotations

from seqc.machine.model import Machine

UNSEEN = "?"
TONE_SIGNS = {"dark": "#", "light": "."}
SPARE_SIGNS = "ox+=*%@&"


def signs_of(machine: Machine) -> dict[str, str]:
    """A sign for each item: by its tone where that is free, else a letter of its name."""
    signs: dict[str, str] = {}
    for item in machine.items:
        wishes = [TONE_SIGNS.get(item.tone, ""), *item.name, *item.name.upper(), *SPARE_SIGNS]
        taken = signs.values()
        signs[item.name] = next((w for w in wishes if w and w not in taken), UNSEEN)
    return signs
