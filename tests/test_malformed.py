"""Every mistake in a machine file gets the message that it deserves, at its place, and no other."""

from __future__ import annotations

import ast
import pathlib

import pytest
from malformed import BOARD, FILE_SAMPLES, SAMPLES, FileSample, Sample

import seqc.language
from seqc.language import read, read_text
from seqc.language.rendering import render
from seqc.machine.findings import Finding, Findings, Severity

LEAST_SAMPLES = 60


def main_finding(findings: Findings) -> Finding:
    """The only error, or the only finding where all are warnings."""
    errors = [finding for finding in findings if finding.severity is Severity.ERROR]
    (found,) = errors or list(findings)
    return found


def test_board_is_good() -> None:
    findings = Findings()
    assert read_text(BOARD, "board.lanes", findings) is not None
    assert not findings.reported


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: f"{sample.code}: {sample.message}")
def test_sample(sample: Sample) -> None:
    findings = Findings()
    declared = read_text(sample.text, "board.lanes", findings)
    found = main_finding(findings)
    place = (found.place.line, found.place.column)
    assert (found.code, found.message, place) == (
        sample.code,
        sample.message,
        (sample.line, sample.column),
    )
    assert found.hint
    if declared is None:
        assert findings.has_errors


@pytest.mark.parametrize("sample", FILE_SAMPLES, ids=lambda sample: sample.code)
def test_file_sample(
    sample: FileSample, tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, content in sample.files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
    monkeypatch.chdir(tmp_path)
    findings = Findings()
    read(pathlib.Path("main.lanes"), findings)
    found = main_finding(findings)
    place = (found.place.file, found.place.line, found.place.column)
    assert (found.code, found.message) == (sample.code, sample.message)
    assert place == (sample.file, sample.line, sample.column)
    assert found.hint


def test_every_sample_is_shown_with_its_place_marked() -> None:
    for sample in SAMPLES:
        findings = Findings()
        read_text(sample.text, "board.lanes", findings)
        lines = {"board.lanes": sample.text.split("\n")}
        shown = render(main_finding(findings), lines.__getitem__)
        head, excerpt, marks, *_ = shown.split("\n")
        assert head.startswith(f"board.lanes:{sample.line}:{sample.column}: ")
        assert sample.message in head
        assert excerpt.startswith(f"  {sample.line} | ")
        assert set(marks.partition("|")[2]) <= {" ", "^"}


def test_every_code_has_a_sample() -> None:
    samples = {sample.code for sample in (*SAMPLES, *FILE_SAMPLES)}
    assert reported_codes() == samples
    assert len(SAMPLES) + len(FILE_SAMPLES) >= LEAST_SAMPLES


def reported_codes() -> set[str]:
    """The codes that stand in the source of the language."""
    folder = pathlib.Path(seqc.language.__file__).parent
    calls = (
        node
        for path in folder.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if node.func.attr in ("error", "warning", "report")
    )
    firsts = (call.args[0] for call in calls if call.args)
    return {str(first.value) for first in firsts if isinstance(first, ast.Constant)}
