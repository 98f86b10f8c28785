"""The built wheel has all that the program needs, and runs outside the checkout."""

from __future__ import annotations

import pathlib
import shutil
import subprocess
import sys
import zipfile

import pytest

ROOT = pathlib.Path(__file__).parent.parent


LEFT_OUT = (".*", "build", "*.egg-info", "__pycache__")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> pathlib.Path:
    """The wheel, built in a copy: the build leaves files behind, and two may run at a time."""
    out = tmp_path_factory.mktemp("wheel")
    source = out / "source"
    shutil.copytree(ROOT, source, ignore=shutil.ignore_patterns(*LEFT_OUT))
    command = [sys.executable, "-m", "build", "--wheel", "--outdir", str(out), str(source)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return next(out.glob("*.whl"))


def files_below(folder: str) -> set[str]:
    """The tracked files of a folder, as they stand in the checkout."""
    listed = subprocess.run(
        ["git", "ls-files", folder], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(listed.stdout.split())


@pytest.mark.thorough
def test_the_wheel_holds_grammars_targets_examples_and_the_typing_mark(wheel: pathlib.Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {f"seqc/{name}" for folder in ("grammars", "targets") for name in files_below(folder)}
    wanted |= files_below("seqc")
    assert "seqc/py.typed" in wanted
    assert wanted <= names, sorted(wanted - names)


@pytest.mark.thorough
def test_the_wheel_holds_the_text_of_its_licence(wheel: pathlib.Path) -> None:
    archive = zipfile.ZipFile(wheel)
    (name,) = [name for name in archive.namelist() if "dist-info/licenses/" in name]
    text = archive.read(name).decode()
    assert text == (ROOT / "seqc" / "LICENSE").read_text("utf-8")
    assert text.startswith("MIT License\n")
    assert "WITHOUT WARRANTY OF ANY KIND" in text
    (metadata,) = [name for name in archive.namelist() if name.endswith("dist-info/METADATA")]
    assert "License-Expression: MIT\n" in archive.read(metadata).decode()


@pytest.mark.thorough
def test_the_installed_wheel_builds_the_example(
    wheel: pathlib.Path, tmp_path: pathlib.Path
) -> None:
    unpacked = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(unpacked)
    code = (
        f"import sys; sys.path.insert(0, {str(unpacked)!r}); import seqc; "
        f"assert seqc.__file__.startswith({str(unpacked)!r}), seqc.__file__; "
        "from seqc.cli.main import main; main(['demo', 'berth'])"
    )
    done = subprocess.run(
        [sys.executable, "-S", "-c", code_with_site(code)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert list((tmp_path / "berth").rglob("*.h"))


def code_with_site(code: str) -> str:
    """The code, with the installed packages on the path but no editable checkout."""
    packages = [path for path in sys.path if path.endswith("site-packages")]
    return f"import sys; sys.path.extend({packages!r}); {code}"
