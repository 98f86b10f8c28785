"""How long the commands take with Python's start included, beside a Python that does nothing.

Half a second is the aim where an empty Python starts in about ten milliseconds.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from examples_on_disk import machine_file
from pytest_benchmark.fixture import BenchmarkFixture

CODE = "import sys; from seqc.cli.main import main; main(sys.argv[1:])"


@pytest.mark.parametrize("command", ["check", "plan"])
def test_command_on_the_berth_board(
    command: str, benchmark: BenchmarkFixture, tmp_path: Path
) -> None:
    words = [sys.executable, "-c", CODE, command, str(machine_file("berth_board", tmp_path))]
    done = benchmark.pedantic(  # type: ignore[no-untyped-call]
        subprocess.run, (words,), {"capture_output": True}, rounds=5, warmup_rounds=1
    )
    assert done.returncode == 0


def test_an_empty_python(benchmark: BenchmarkFixture) -> None:
    words = [sys.executable, "-c", "pass"]
    done = benchmark.pedantic(subprocess.run, (words,), rounds=5, warmup_rounds=1)  # type: ignore[no-untyped-call]
    assert done.returncode == 0
