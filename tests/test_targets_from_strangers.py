"""Target folders that somebody else has written: they lay out, and reach nothing else."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file
from firmware.handmade import machine_of, table_set

from seqc.cli.main import main
from seqc.codegen import Target, render, targets
from seqc.codegen.number import number_in
from seqc.machine.findings import InputError

SECRET = "the harbour master's key"
GOOD = 'title = "T"\nsummary = "S"\n[files]\n"out.txt" = "out.j2"\n'

REACHES = {
    "the folder": "{{ build.target.folder.joinpath('/etc/passwd').read_text() }}",
    "the machine": "{{ build.machine }}",
    "the place": "{{ build.machine.place.file }}",
    "the class": "{{ build.__class__ }}",
    "the class by filter": "{{ build | attr('__class__') }}",
    "the class by map": "{{ [build] | map(attribute='__class__') | first }}",
    "subclasses": "{{ ''.__class__.__mro__[1].__subclasses__() }}",
    "globals of a filter": "{{ ''.join.__globals__ }}",
    "globals of lipsum": "{{ lipsum.__globals__.os.popen('id').read() }}",
    "globals of cycler": "{{ cycler.__init__.__globals__ }}",
    "globals of a macro": "{% macro m() %}{% endmacro %}{{ m.__init__.__globals__ }}",
    "the frame of a loop": "{% for x in [1] %}{{ loop.__init__.__globals__ }}{% endfor %}",
    "the environment": "{{ self.__init__.__globals__ }}",
    "the context": "{{ self._TemplateReference__context.environment }}",
    "a format string": "{{ '{0.__class__}'.format(build) }}",
    "a format map": "{{ '{x.__class__}'.format_map({'x': build}) }}",
    "a change of a part": "{{ options.update({'x': 1}) }}",
    "a change of a list": "{{ notes.append('x') }}",
    "an import of python": "{% import 'os' as os %}{{ os }}",
    "an absolute template": "{% include '/etc/passwd' %}",
    "a template above": "{% include '../../secret.txt' %}",
    "a template by dots": "{% include 'common/../../secret.txt' %}",
    "a linked template": "{% include 'link.j2' %}",
    "a template in a linked folder": "{% include 'linked/secret.txt' %}",
    "a device": "{% include 'zero.j2' %}",
    "a pipe": "{% include 'pipe.j2' %}",
    "a folder": "{% include 'inner' %}",
}

TAKES = {
    "time in a loop": "{% for a in range(99999) %}{% for b in range(99999) %}"
    "{{ '' }}{% endfor %}{% endfor %}",
    "time in a power": "{{ (9 ** (9 ** 9)) % 7 }}",
    "time in a constant": "{% set x = 10 ** (10 ** 10) %}",
    "a range": "{{ range(10 ** 12) | list }}",
    "output": "{% for a in range(99999) %}{{ 'x' * 10000 }}{% endfor %}",
    "memory in a text": "{{ 'x' * 10 ** 11 }}",
    "memory in a list": "{{ [0] * 10 ** 11 }}",
    "memory in a format": "{{ '%999999999999d' | format(1) }}",
    "memory in a width": "{{ '{:>99999999999}'.format(1) }}",
    "memory by doubling": "{% set ns = ['x'] %}" + "{% set ns = ns + ns %}" * 60 + "{{ ns }}",
    "depth of includes": "{% include 'out.j2' %}",
    "depth of macros": "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
    "depth of blocks": "{% if 1 %}" * 5_000 + "{% endif %}" * 5_000,
    "depth of brackets": "{{ " + "(" * 50_000 + "1" + ")" * 50_000 + " }}",
    "depth of lists": "{{ " + "[" * 3_000 + "]" * 3_000 + " }}",
    "a large template": "x" * (1 << 20) + "x",
    "what is no text": "{{ '\\ud800' }}",
    "an unknown part": "{{ machine.name }}",
    "an error of type": "{{ 1 + 'a' }}",
    "an unclosed block": "one\n{% for x in",
}

DESCRIBES: Mapping[str, str | bytes] = {
    "depth": GOOD + "[options]\nx = " + "[" * 9_000 + "]" * 9_000,
    "digits": GOOD + "[options]\nx = " + "9" * 9_000,
    "size": GOOD + "#" * (1 << 16),
    "escapes in its title": GOOD.replace('"T"', '"\\u001b[2J"'),
    "lines in its title": GOOD.replace('"T"', '"a\\nb"'),
    "a reader without files": GOOD.replace("[files]", 'reader = "csv"\n[files]'),
    "a reader with too few files": GOOD.replace(
        "[files]", 'reader = "csv"\nreads = ["out.txt"]\n[files]'
    ),
    "a reader with too many files": GOOD.replace(
        "[files]", 'reader = "c"\nreads = ["out.txt", "out.txt"]\n[files]'
    ),
    "files without a reader": GOOD.replace("[files]", 'reads = ["out.txt"]\n[files]'),
    "too many files": GOOD + "".join(f'"f{n}" = "out.j2"\n' for n in range(64)),
    "a file above": GOOD + '"../x" = "out.j2"\n',
    "bytes that are no text": b"\xff\xfe",
}


def folder_of(root: Path, description: str | bytes = GOOD, template: str = "x") -> Path:
    """A folder with one target, links and other things that are no files beside its template."""
    mine = root / "targets" / "mine"
    (mine / "inner").mkdir(parents=True)
    (root / "secret.txt").write_text(SECRET)
    data = description if isinstance(description, bytes) else description.encode()
    (mine / "target.toml").write_bytes(data)
    (mine / "out.j2").write_text(template)
    (mine / "link.j2").symlink_to(root / "secret.txt")
    (mine / "linked").symlink_to(root)
    (mine / "zero.j2").symlink_to("/dev/zero")
    os.mkfifo(mine / "pipe.j2")
    return root / "targets"


def theirs(folder: Path) -> Target:
    """The one target of the folder."""
    return next(target for target in targets(folder) if target.foreign)


def refusal(folder: Path) -> str:
    """The diagnostics of a target that can't be used; nothing secret is among them."""
    machine = machine_of(8, low=True)
    with pytest.raises(InputError) as caught:
        render(theirs(folder), machine, table_set(machine))
    told = str(caught.value)
    assert SECRET not in told
    assert "root:" not in told
    for finding in caught.value.findings:
        assert finding.place.file.startswith(str(folder))
        assert finding.place.line >= 1
        assert finding.message.isprintable()
        assert len(finding.message) < 400
    return told


@pytest.mark.quick(5)
@pytest.mark.parametrize("what", REACHES)
def test_a_template_reaches_nothing_but_plain_data(what: str, tmp_path: Path) -> None:
    refusal(folder_of(tmp_path, template=REACHES[what]))


QUICK = ("depth of includes", "memory in a text", "an unknown part", "what is no text", "output")


@pytest.mark.quick(2, 6)
@pytest.mark.parametrize(
    "what",
    [what if what in QUICK else pytest.param(what, marks=pytest.mark.thorough) for what in TAKES],
)
def test_a_template_that_takes_too_much_is_a_diagnostic(what: str, tmp_path: Path) -> None:
    refusal(folder_of(tmp_path, template=TAKES[what]))


@pytest.mark.parametrize("what", DESCRIBES)
def test_a_description_that_fits_nothing_is_a_diagnostic(what: str, tmp_path: Path) -> None:
    refusal(folder_of(tmp_path, DESCRIBES[what]))


def link_folder(root: Path) -> None:
    (root / "targets" / "mine").rename(root / "elsewhere")
    (root / "targets" / "mine").symlink_to(root / "elsewhere")


def link_description(root: Path) -> None:
    (root / "targets" / "mine" / "target.toml").rename(root / "target.toml")
    (root / "targets" / "mine" / "target.toml").symlink_to(root / "target.toml")


def link_template(root: Path) -> None:
    (root / "targets" / "mine" / "out.j2").unlink()
    (root / "targets" / "mine" / "out.j2").symlink_to(root / "secret.txt")


def odd_name(root: Path) -> None:
    (root / "targets" / "mine").rename(root / "targets" / "a\x1b[2Jb")


ARRANGED: Mapping[str, tuple[Callable[[Path], None], str]] = {
    "its folder": (link_folder, "is a symbolic link"),
    "its description": (link_description, "is a symbolic link"),
    "its template": (link_template, "is a symbolic link"),
    "its name": (odd_name, "can't be the name of a target"),
}


@pytest.mark.parametrize("what", ARRANGED)
def test_links_and_odd_names_are_refused(what: str, tmp_path: Path) -> None:
    arrange, message = ARRANGED[what]
    folder = folder_of(tmp_path)
    arrange(tmp_path)
    assert message in refusal(folder)


def build(tmp_path: Path, folder: Path) -> Result:
    """One call of `seqc build` with a stranger's target."""
    machine = str(machine_file("berth_board", tmp_path))
    words = ("--targets", str(folder), "--target", "mine", "--out", str(tmp_path / "out"))
    result = CliRunner().invoke(main, ("build", machine, "--show", "1", *words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.mark.quick(2)
@pytest.mark.parametrize("reader", ["json", "c", "python", "csv", "ihex"])
def test_a_reader_that_does_not_fit_is_a_diagnostic(reader: str, tmp_path: Path) -> None:
    files = {"csv": ["a", "b", "c"], "ihex": ["a", "b"]}.get(reader, ["a"])
    reads = ", ".join(f'"{name}.txt"' for name in files)
    description = GOOD.replace("[files]", f'reader = "{reader}"\nreads = [{reads}]\n[files]')
    description += "".join(f'"{name}.txt" = "out.j2"\n' for name in files)
    result = build(tmp_path, folder_of(tmp_path, description, "not tables\n"))
    assert result.exit_code == 2
    assert "mine/target.toml:3:1: error: the reader" in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_strangers_target_is_rendered_as_ours_are(tmp_path: Path) -> None:
    ours = next(target for target in targets() if target.name == "c99")
    folder = tmp_path / "targets"
    shutil.copytree(str(ours.folder), folder / "c99")
    machine = machine_of(8, low=True)
    tables = table_set(machine)
    assert render(theirs(folder), machine, tables) == render(ours, machine, tables)


def test_a_strangers_target_may_carry_the_build_number(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, template="seqc build {{ build.number }}\n")
    result = build(tmp_path, folder)
    assert result.exit_code == 0, result.output
    assert number_in((tmp_path / "out" / "mine" / "out.txt").read_text())
