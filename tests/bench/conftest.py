"""What the benchmarks share: figures that go onto their page."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bench.figures import write_section

Record = Callable[[str, str], None]
"""Takes the title of a section and its text."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--write-figures", action="store_true", help="write what is measured to FIGURES.md"
    )


@pytest.fixture(scope="session")
def record(request: pytest.FixtureRequest) -> Record:
    """Prints a section of figures, and writes it to the page where that is asked for."""

    def recorded(title: str, text: str) -> None:
        print(f"\n{title}\n{text}")
        if request.config.getoption("--write-figures"):
            write_section(title, text)

    return recorded
