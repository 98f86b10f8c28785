"""How long the search for linkages takes, and how much of it is proven."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from linkage_fonts import FONTS

import seqc
from seqc.examples import example_files
from seqc.machine.findings import Findings

LARGE = Path("/usr/share/fonts/X11/misc/8x16.pcf.gz")
"""From the Debian package `xfonts-base`."""


def report(path: Path) -> None:
    start = time.perf_counter()
    found = seqc.find_linkages(path, Findings())
    seconds = time.perf_counter() - start
    asked = [offer for offer in found.offers if offer.lower_bound is not None]
    proven = sum(offer.found.proven for offer in asked)
    print(f"{path.name}: {len(asked)} designs, {proven} proven, {seconds:.0f} s of wall time")
    for offer in found.offers:
        design = offer.found
        reach = "every picture" if design.every_picture else "this font"
        least = "" if offer.lower_bound is None else f", no fewer than {offer.lower_bound}"
        print(f"  {design.passes} passes: {offer.price.actuators} actuators{least}, {reach}")


def test_the_berth_board(tmp_path: Path) -> None:
    for file, text in example_files("berth_board").items():
        (tmp_path / file).write_text(text, "utf-8")
    report(tmp_path / "berth_board.lanes")


@pytest.mark.parametrize("name", FONTS)
def test_fonts_of_the_tests(name: str, tmp_path: Path) -> None:
    path = tmp_path / f"{name}.lanes"
    path.write_text(FONTS[name], "utf-8")
    report(path)


@pytest.mark.skipif(not LARGE.exists(), reason="needs xfonts-base")
def test_95_letters_at_8_by_16() -> None:
    report(LARGE)
