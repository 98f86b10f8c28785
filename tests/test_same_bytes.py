"""Two builds are equal to the byte, whatever the hash seed."""

from __future__ import annotations

import os
import pathlib
import subprocess
import sys

import pytest
from examples_on_disk import machine_file

from seqc.examples import EXAMPLES

CODE = "import sys; from seqc.cli.main import main; main(sys.argv[1:])"
TARGETS = [word for name in ("c99", "json", "csv") for word in ("--target", name)]


def built(source: pathlib.Path, out: pathlib.Path, seed: str) -> dict[str, bytes]:
    """Every file of a build made under a hash seed."""
    words = ["build", str(source), "--out", str(out), *TARGETS]
    done = subprocess.run(
        [sys.executable, "-c", CODE, *words],
        env={**os.environ, "PYTHONHASHSEED": seed},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    files = (path for path in out.rglob("*") if path.is_file())
    return {str(path.relative_to(out)): path.read_bytes() for path in files}


@pytest.mark.quick(1)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_builds_under_different_hash_seeds_are_equal(example: str, tmp_path: pathlib.Path) -> None:
    source = machine_file(example, tmp_path)
    one = built(source, tmp_path / "one", "1")
    other = built(source, tmp_path / "other", "4242")
    assert len(one) >= 5
    assert one == other
