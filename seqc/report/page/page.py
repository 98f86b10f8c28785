"""The page of a machine, as HTML."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from markupsafe import Markup

from seqc.codegen.wiring_list import CAUTIONS
from seqc.forecast.result import Forecast
from seqc.forecast.span import lived, spoken
from seqc.machine.findings import Finding, Severity
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator
from seqc.report.check_text import lane_words, path_words, wiring_words
from seqc.report.coil_text import held_words, margin_words
from seqc.report.drawings.glyphs import figures_of, glyph_picture
from seqc.report.drawings.lane import lane_drawing
from seqc.report.drawings.linkages import linkage_drawing
from seqc.report.drawings.svg import Drawing
from seqc.report.drawings.tones import looks_of
from seqc.report.drawings.wear import heat_chart, stock_chart, wear_chart
from seqc.report.findings_text import finding_text
from seqc.report.page.model import model_document, played
from seqc.report.page.packing import packed
from seqc.report.page.rendering import policy, rendered, script, style
from seqc.report.page.verdict import facts, is_short, verdict_words
from seqc.report.plan_text import period_words
from seqc.report.sheets.choice import sheets_of
from seqc.report.survey import FontShown, GlyphShown, ProgrammeShown, Survey
from seqc.report.words import ms

STYLES = ("page.css", "sheets.css", "print.css")
THUMBNAIL, HERO = 88, 120
MOST_HEROES = 6


class FindingShown(NamedTuple):
    """A finding as the page tells it."""

    severity: str
    message: str
    where: str
    hint: str
    excerpt: tuple[str, ...]


class LaneShown(NamedTuple):
    """A grid by its number: its linkages, its lane and its paths; `alike` are the same."""

    number: int
    name: str
    alike: tuple[str, ...]
    linkages: Markup
    lane: Markup
    words: str
    paths: list[tuple[str, str]]


class GlyphCard(NamedTuple):
    """A glyph on the sheet: its scene, if it has one, its picture and what it takes."""

    scene: str | None
    name: str
    picture: Markup
    figures: tuple[str, ...]


def page(survey: Survey, *, watched: int = 0) -> str:
    """The whole page. One that is `watched` has a number, and is made anew by its server."""
    machine = survey.machine
    play = played(survey)
    scripts, styles = script(watched > 0), style(*STYLES)
    scene_names = {(s.group, s.title): s.name for s in play.scenes if s.group != "programmes"}
    return rendered(
        "page.html.j2",
        policy=policy([scripts], [styles], connects=watched > 0),
        number=watched,
        script=Markup(scripts),
        style=Markup(styles),
        title=machine.name,
        short=is_short(survey),
        verdict=verdict_words(survey),
        made_of=wiring_words(machine),
        hero=_hero(survey),
        facts=facts(survey),
        findings=findings_shown(survey.findings),
        lanes=_lanes(machine),
        items=_legend(machine),
        actuators=[_actuator_row(actuator) for actuator in machine.actuators],
        fonts=[(font, _cards(machine, font, scene_names)) for font in survey.fonts],
        groups=_groups(play.scenes),
        programmes=[_programme(shown) for shown in survey.programmes],
        lives=[_lives(shown.forecast) for shown in survey.programmes],
        hot=[(h.actuator.coil.name, margin_words(h), held_words(h)) for h in survey.hot],
        sheets=sheets_of(machine, survey.programmes[0].forecast if survey.programmes else None),
        cautions=CAUTIONS,
        blocks=[Markup(block) for block in play.blocks],
        model=Markup(packed(model_document(survey, play.scenes))),
        broad=sum(max(grid.columns, 2) + 1 for grid in machine.grids) > 16,
    )


def findings_shown(findings: Iterable[Finding]) -> list[FindingShown]:
    """Findings with their source line, errors first."""
    ordered = sorted(findings, key=lambda found: found.severity is not Severity.ERROR)
    return [
        FindingShown(
            found.severity.value,
            found.message,
            str(found.place) if found.place.file else "",
            found.hint,
            tuple(line for line in finding_text(found).split("\n") if " | " in line),
        )
        for found in ordered
    ]


def findings_page(title: str, findings: Sequence[Finding], *, watched: bool = False) -> str:
    """A page of findings alone: of a file that can't be read, while it is watched."""
    scripts, styles = script(watched), style(*STYLES)
    return rendered(
        "findings.html.j2",
        policy=policy([scripts], [styles], connects=watched),
        script=Markup(scripts),
        style=Markup(styles),
        number=0,
        title=title,
        findings=findings_shown(findings),
    )


def markup(drawing: Drawing) -> Markup:
    """A drawing for a template; its texts are escaped already."""
    return Markup(drawing.text)


def _hero(survey: Survey) -> list[Markup]:
    """The first frames of the first programme, a small picture for each grid of the first few."""
    programmes = survey.machine.programmes
    looks = looks_of(survey.machine)
    grids = {grid.name: grid for grid in survey.machine.grids}
    frames = programmes[0].frames if programmes else ()
    glyphs = [glyph for frame in frames[:MOST_HEROES] for glyph in frame][:MOST_HEROES]
    return [markup(glyph_picture(grids[g.grid], g.kinds, looks, g.name, HERO)) for g in glyphs]


def _lanes(machine: Machine) -> list[LaneShown]:
    """A drawing of each grid's linkages and lane; grids whose parts are the same are told alike."""
    drawn: dict[object, LaneShown] = {}
    for number, lane in enumerate(machine.lanes):
        key = lane.grid.cells, lane.feed, lane.others, lane.gates, lane.paths
        if key in drawn:
            known = drawn[key]
            drawn[key] = known._replace(alike=(*known.alike, lane.grid.name))
            continue
        drawn[key] = LaneShown(
            number,
            lane.grid.name,
            (),
            markup(linkage_drawing(machine, lane)),
            markup(lane_drawing(machine, lane)),
            lane_words(lane),
            [(f"{path.source} to {path.target}", path_words(path)) for path in lane.paths],
        )
    return list(drawn.values())


def _legend(machine: Machine) -> list[tuple[str, str, object]]:
    return [
        (look.kind, item.tone, look)
        for look, item in zip(looks_of(machine).values(), machine.items, strict=True)
    ]


def _actuator_row(actuator: Actuator) -> tuple[str, ...]:
    cells = len(actuator.cells)
    return (
        actuator.name,
        "1 cell" if cells == 1 else f"{cells} cells",
        actuator.coil.name,
        ", ".join(map(str, actuator.outputs)),
        actuator.drive.kind.value,
        actuator.drive.supply.name,
    )


def _cards(machine: Machine, font: FontShown, names: dict[tuple[str, str], str]) -> list[GlyphCard]:
    looks = looks_of(machine)

    def card(shown: GlyphShown) -> GlyphCard:
        glyph = shown.glyph
        scene = names.get((font.font.name, glyph.name)) if shown.run is not None else None
        title = f"glyph {glyph.name}"
        drawn = glyph_picture(font.font.grid, glyph.kinds, looks, title, THUMBNAIL)
        return GlyphCard(scene, glyph.name, markup(drawn), figures_of(shown))

    return [card(shown) for shown in font.glyphs]


def _groups(scenes: Iterable[object]) -> dict[str, list[tuple[str, str]]]:
    """The scenes to choose from, by their group."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for scene in scenes:
        group, name, title = (getattr(scene, key) for key in ("group", "name", "title"))
        groups.setdefault(group, []).append((name, title))
    return groups


def _programme(shown: ProgrammeShown) -> dict[str, object]:
    """What limits a programme, link by link."""
    timing = shown.timing
    return {
        "name": shown.programme.name,
        "words": period_words(shown.programme, timing),
        "links": [
            (link.task, link.cause, ms(link.length_us), link.after)
            for link in timing.critical_chain
        ],
    }


def _lives(forecast: Forecast) -> dict[str, object]:
    """What a programme does to the machine: charts, and the same in tables."""
    return {
        "name": forecast.programme,
        "time": spoken(forecast.asked_us),
        "wear": markup(wear_chart(forecast)),
        "heat": markup(heat_chart(forecast)),
        "stock": markup(stock_chart(forecast)),
        "parts": [
            (
                part.part,
                part.limit,
                f"{part.life:,}",
                f"{part.operations:,}",
                lived(part.hours),
            )
            for part in forecast.parts
        ],
        "coils": [
            (
                state.actuator.name,
                f"{state.duty:.2%}",
                f"{state.reached_a:.2f} A",
                "not told" if state.steady_c is None else f"{state.steady_c:.0f} C",
            )
            for state in forecast.coils
        ],
        "stocks": [
            (
                kind.item.name,
                f"{kind.drawn:,}",
                "any" if kind.item.stock is None else f"{kind.item.stock:,}",
                "without end" if kind.lasting_us is None else spoken(kind.lasting_us),
                f"{kind.needed:,}",
            )
            for kind in forecast.stocks
        ],
        "supplies": [
            (
                one.supply.name,
                f"{one.peak_a:.2f} A",
                f"{one.mean_a:.2f} A",
                str(one.fuse) if one.fuse else "",
            )
            for one in forecast.supplies
        ],
    }
