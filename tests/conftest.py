"""Options of the test run."""

from __future__ import annotations

import os

import pytest


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


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "counts: what the test prints is shown after the run")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Show what tests marked `counts` have counted."""
    for report in terminalreporter.stats.get("passed", []):
        if "counts" in report.keywords and report.capstdout.strip():
            terminalreporter.write_line(f"{report.nodeid}: {report.capstdout.strip()}")
