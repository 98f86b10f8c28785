"""What a build takes of a controller's flash and RAM."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.codegen.image import Image
from seqc.codegen.target import Budget
from seqc.codegen.view import Build
from seqc.machine.findings import NOWHERE, Findings, ShortfallError


@dataclass(frozen=True, slots=True)
class Sizes:
    """The bytes of the tables, and those of the player with them against what there is."""

    tables_bytes: int
    flash_bytes: int
    flash_limit_bytes: int
    ram_bytes: int
    ram_limit_bytes: int

    @property
    def fits(self) -> bool:
        """Whether there is room for it."""
        return self.flash_bytes <= self.flash_limit_bytes and self.ram_bytes <= self.ram_limit_bytes

    def __str__(self) -> str:
        return (
            f"tables {self.tables_bytes} bytes; in all at most {self.flash_bytes} of "
            f"{self.flash_limit_bytes} bytes of flash and {self.ram_bytes} of "
            f"{self.ram_limit_bytes} bytes of RAM"
        )


def sizes_of(image: Image, budget: Budget) -> Sizes:
    """The sizes of an image on a controller with this budget.

    RAM holds the word four times, a countdown for each limit of the cap, and what each track does.
    """
    tables = image.size + image.shape.word
    tracks = len(image.tracks.tracks) if image.tracks else 0
    return Sizes(
        tables,
        budget.player_flash_bytes + tables + (budget.tracks_flash_bytes if tracks else 0),
        budget.flash_bytes,
        budget.player_ram_bytes
        + 4 * image.shape.word
        + 2 * len(image.limits)
        + tracks * budget.track_ram_bytes,
        budget.ram_bytes,
    )


def check_fit(build: Build) -> None:
    """Raise ShortfallError, with the sizes, where a build can't fit its controller."""
    target = build.target
    if target.budget is None:
        return
    sizes = sizes_of(build.image, target.budget)
    if sizes.fits:
        return
    findings = Findings()
    findings.error(
        "does-not-fit",
        f"the build does not fit {target.title}: {sizes}",
        NOWHERE,
        "build fewer glyphs, a table for each glyph instead of each transition, or for a "
        "controller with more memory",
    )
    raise ShortfallError(findings)
