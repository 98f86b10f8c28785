"""The page of measured figures, FIGURES.md beside this file: a section for each benchmark.

A benchmark prints its figures always, and writes them with the option `--write-figures`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

PAGE = Path(__file__).parent / "FIGURES.md"


def table(header: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """A table in Markdown."""
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join("| " + " | ".join(str(cell) for cell in line) + " |" for line in lines)


def write_section(title: str, text: str) -> None:
    """Put a section into the page in place of the one of this title, or at its end."""
    page = PAGE.read_text("utf-8") if PAGE.exists() else "# Measured figures\n"
    section = f"## {title}\n\n{text.strip()}\n"
    old = re.compile(rf"^## {re.escape(title)}\n.*?(?=^## |\Z)", re.MULTILINE | re.DOTALL)
    if old.search(page):
        page = old.sub(lambda found: section + "\n" * (found.end() < len(page)), page)
    else:
        page = f"{page.rstrip()}\n\n{section}"
    PAGE.write_text(page, "utf-8")
