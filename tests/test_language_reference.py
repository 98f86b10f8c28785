"""The reference tells every setting, with an example that the reader accepts."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from seqc.cli.main import main
from seqc.language import read_text
from seqc.language.forms import FORMS
from seqc.language.parsing import parse
from seqc.language.quantities import unit_of
from seqc.language.schema import Entry, Measure
from seqc.language.settings import read_settings
from seqc.language.tables import SCHEMAS
from seqc.machine.findings import Findings, Severity
from seqc.report import language_markdown

PAGE = Path(__file__).parent.parent / "seqc/language/reference.md"
ENTRIES = [(keyword, entry) for keyword, schema in SCHEMAS.items() for entry in schema.entries]

MACHINE = {
    "machine": "machine board",
    "item": "item slate { tone dark diameter 8 mm }",
    "item chalk": "item chalk { tone light diameter 8 mm }",
    "grid": "grid numeral { columns 2 rows 2 }",
    "lane": "lane numeral = shown <- swap <- drop <- pick(slate, chalk)",
    "selector": "selector pick { per row coil small }",
    "gate": "gate drop { per column coil small open 60 ms }",
    "gate swap": "gate swap { whole grid coil small open 60 ms }",
    "path": "path drop -> swap { falls in 300 ms }",
    "path end": "path swap -> shown { falls in 200 ms }",
    "coil": "coil small { 12 V 8.2 ohm pulse 40 ms travel 18 ms }",
    "relay": "relay card { operate 10 ms release 6 ms }",
    "outputs": "outputs bus { bits 400 }",
    "drive": "drive pick, drop, swap { changeover pair relay card from bus }",
    "supply": "supply bench { 12 V limit 4 A }",
    "font": 'font harbour for numeral { mark "#" slate }',
    "programme": 'programme count { show "0123" every 1 s }',
}


LAMP = {
    "grid lamp": "grid lamp { columns 1 rows 1 }",
    "lane lamp": "lane lamp = shown <- swap <- drop <- pick(slate, chalk)",
    "font lamp": 'font dots for lamp { mark "#" slate }',
    "programme lamp": 'programme blink { show "01" on lamp every 1 s repeat }',
}


def errors_with(keyword: str, statement: str) -> list[str]:
    """What is wrong with the machine when one of its statements is another."""
    texts = MACHINE | {keyword: statement}
    if keyword == "clock":
        numerals = 2 * len(re.findall("hours|minutes|seconds", statement))
        texts["grid"] = f"grid numeral {{ columns 2 rows 2 copies {numerals} }}"
    if keyword == "together":
        texts |= {"grid": "grid numeral { columns 2 rows 2 copies 2 }", **LAMP}
        texts["programme"] = "clock day { hours on numeral }"
    findings = Findings()
    read_text("\n".join(texts.values()), "board.lanes", findings)
    return [str(one) for one in findings if one.severity is Severity.ERROR]


def with_setting(keyword: str, entry: Entry) -> str:
    """The statement's own example with one setting more, or in the place of another."""
    base = MACHINE.get(keyword, FORMS[keyword].example)
    if keyword == "tolerance":
        return entry.example
    if entry.key in ("ink", "paper"):
        base = 'font harbour for numeral from "plain.bdf" { }'
    head, inside = base.split("{", 1)
    kept = settings_of(keyword, inside.rsplit("}", 1)[0])
    beside = settings_of(keyword, entry.beside)
    if keyword == "drive" and entry.key in ("relay", "dead time", "kind", "columns"):
        kept = {key: text for key, text in kept.items() if key == "from"}
    if keyword == "clock" and entry.key != "on":
        kept = {"on": kept["on"]}
    if entry.continues and keyword == "programme":
        kept.pop("show")
    chosen = kept | beside | {entry.key: entry.example}
    return f"{head}{{ {' '.join(chosen.values())} }}"


def settings_of(keyword: str, block: str) -> dict[str, str]:
    """The text of each setting of a block, by its key."""
    form = FORMS[keyword].example.split("{")[0]
    (statement,), _ = parse(f"{form}{{ {block} }}", "x", Findings())
    given = read_settings(statement, Findings()).given
    line = f"{form}{{ {block} }}"
    starts = [one.place.column - 1 for one in given]
    ends = [*starts[1:], len(line) - 1][: len(starts)]
    return {one.entry.key: line[s:e] for one, s, e in zip(given, starts, ends, strict=True)}


def test_the_machine_of_these_tests_is_sound() -> None:
    assert errors_with("machine", MACHINE["machine"]) == []


@pytest.mark.parametrize("keyword", FORMS)
def test_every_statement_has_a_text_and_an_example_that_is_read(keyword: str) -> None:
    form = FORMS[keyword]
    assert form.means.endswith(".")
    assert form.head.startswith(keyword)
    errors = errors_with(keyword, form.example)
    assert [error for error in errors if "coils.lanes" not in error] == []


@pytest.mark.parametrize(
    "keyword, entry",
    ENTRIES,
    ids=[f"{keyword} {entry.phrase or entry.key}" for keyword, entry in ENTRIES],
)
def test_every_setting_has_a_text_and_an_example_that_is_read(keyword: str, entry: Entry) -> None:
    assert entry.means.endswith("."), "tell in its table what it means: .told(...)"
    assert entry.effect.endswith("."), "tell in its table what it changes"
    needed = entry.key in SCHEMAS[keyword].required
    assert needed or entry.default, "tell in its table what holds without it"
    statement = with_setting(keyword, entry)
    assert entry.example in statement
    assert errors_with(keyword, statement) == [], statement


@pytest.mark.parametrize("keyword, entry", ENTRIES)
def test_the_reference_speaks_of_settings_that_there_are(keyword: str, entry: Entry) -> None:
    known = {phrase for schema in SCHEMAS.values() for phrase in schema.by_phrase}
    for text in re.findall("`([a-z ]+)`", f"{entry.means} {entry.effect} {entry.default}"):
        assert text in known, f"{keyword} {entry.title}: {text}"


@pytest.mark.parametrize("entry", [entry for _, entry in ENTRIES])
def test_what_has_a_default_with_a_unit_names_one_of_its_own(entry: Entry) -> None:
    number, _, unit = entry.default.partition(",")[0].partition(" ")
    if number.isdigit() and entry.values:
        kind = entry.values[0]
        assert isinstance(kind, Measure)
        found = unit_of(unit.partition(":")[0])
        assert found is not None
        assert found.dimension is kind.dimension


def test_the_page_is_the_one_that_the_tables_give(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--update-golden"):
        PAGE.write_text(language_markdown.page(), "utf-8")
    told = "write it with --update-golden"
    assert PAGE.read_text("utf-8") == language_markdown.page(), told


def run(*words: str) -> Result:
    result = CliRunner().invoke(main, ["language", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_the_command_lists_every_statement() -> None:
    listed = run().stdout
    for keyword in FORMS:
        assert re.search(f"^  {keyword} ", listed, re.M)
    assert all(len(line) <= 80 for line in listed.split("\n")[:-2])


@pytest.mark.parametrize("keyword", FORMS)
def test_the_command_tells_every_setting_of_a_statement(keyword: str) -> None:
    told = run(keyword)
    assert told.exit_code == 0
    schema = SCHEMAS.get(keyword)
    for entry in schema.entries if schema else ():
        assert f"\n  {entry.example}" in told.stdout
        assert " ".join(entry.means.split()) in " ".join(told.stdout.split())


def test_the_command_tells_one_setting_with_value_default_and_effect() -> None:
    assert run("coil", "duty").stdout == (
        "  duty 10 %\n"
        "      The share of time in which it may be on, in the long run.\n"
        "      value      a share, 0.0001 % to 100 %\n"
        "      default    not judged\n"
        "      changes    Check and forecast: whether the programme heats it too much.\n"
    )


def test_a_name_that_is_none_is_refused_with_the_nearest() -> None:
    for words, hint in ((("coul",), "did you mean `coil`?"), (("gate", "opem"), "mean `open`?")):
        result = run(*words)
        assert result.exit_code == 2
        assert hint in result.stderr
    assert "it has none" in run("lane", "x").stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_every_shell_completes_commands_and_statements(shell: str) -> None:
    def completed(*words: str) -> str:
        number = str(len(words) - 1)
        last = {
            "COMP_WORDS": " ".join(words),
            "COMP_CWORD": words[-1] if shell == "fish" else number,
        }
        env = {"_SEQC_COMPLETE": f"{shell}_complete"}
        return CliRunner().invoke(main, prog_name="seqc", env=env | last).stdout

    assert "format" in completed("seqc", "fo")
    assert "coil" in completed("seqc", "language", "co")
    source = CliRunner().invoke(main, prog_name="seqc", env={"_SEQC_COMPLETE": f"{shell}_source"})
    assert "_seqc_completion" in source.stdout


def test_json_and_markdown() -> None:
    whole = json.loads(run("--json").stdout)["statements"]
    assert [one["keyword"] for one in whole] == list(FORMS)
    (coil,) = json.loads(run("coil", "--json").stdout)["statements"]
    assert len(coil["settings"]) == len(SCHEMAS["coil"].entries)
    assert run("--markdown").stdout == language_markdown.page()
