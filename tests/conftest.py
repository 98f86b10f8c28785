"""Options of the test run."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden",
        action="store_true",
        help="write the files in tests/golden anew instead of comparing with them",
    )


def pytest_sessionfinish(session: pytest.Session) -> None:
    """In CI a skipped test is a failure: every tool that a test needs must be there."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("SEQC_NO_SKIP") and reporter and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of the cases of a test marked `quick(n)` all but the first n are thorough.

    Where it is `quick(n, m)` only the m after these are, and the rest are a campaign.
    """
    cases = Counter[str]()
    for item in items:
        quick = item.get_closest_marker("quick")
        if quick and not item.get_closest_marker("campaign"):
            test = item.nodeid.split("[")[0]
            cases[test] += 1
            if cases[test] > sum(quick.args):
                item.add_marker(pytest.mark.campaign if quick.args[1:] else pytest.mark.thorough)
            elif cases[test] > quick.args[0]:
                item.add_marker(pytest.mark.thorough)


class _NamesFiles:
    """Says which file is being tested, as each is begun."""

    def __init__(self, reporter: pytest.TerminalReporter) -> None:
        self.reporter = reporter
        self.seen: set[str] = set()

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        """A test begins, here or in a worker."""
        file = nodeid.split("::")[0]
        if file not in self.seen:
            self.seen.add(file)
            self.reporter.write(f"\n{file} ")


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    """Name the files where there is a terminal reporter: not in a worker."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if reporter:
        config.pluginmanager.register(_NamesFiles(reporter), "names-files")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Show what tests marked `counts` have counted."""
    for report in terminalreporter.stats.get("passed", []):
        if "counts" in report.keywords and report.capstdout.strip():
            terminalreporter.write_line(f"{report.nodeid}: {report.capstdout.strip()}")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium without a window, one for all tests of a file.

    It goes with the file: while it is there, no test of another file can run an event loop.
    """
    from playwright.sync_api import sync_playwright
    from surveyed import CHROMIUM

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()
