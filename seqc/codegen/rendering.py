"""Renders builds through the templates of their targets."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager, ExitStack, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.codegen.checks import check, forbidden_pairs, rest_us
from seqc.codegen.limits import limits_of
from seqc.codegen.number import NO_NUMBER, number_of
from seqc.codegen.packing import pack
from seqc.codegen.sizes import Sizes, check_fit, sizes_of
from seqc.codegen.target import Target
from seqc.codegen.track_checks import check_can_play, laid_out
from seqc.codegen.view import Build
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.machine.tracks import Tables, TrackSet

if TYPE_CHECKING:
    from seqc.codegen.apart import TemplatesApart
    from seqc.codegen.templates import Templates

Texts = dict[str, str]


def build_of(target: Target, machine: Machine, table_set: Tables) -> Build:
    """One build for one target; raises InputError as `check` does, or if it can't play tracks."""
    checked = table_set
    if isinstance(checked, TrackSet):
        check_can_play(target)
        checked = laid_out(checked)
    check(checked, forbidden_pairs(machine), limits_of(machine))
    return Build(target, machine, table_set)


def sizes(target: Target, machine: Machine, table_set: Tables) -> Sizes | None:
    """What a build takes of its controller, or None where the controller's size isn't known."""
    build = build_of(target, machine, table_set)
    return sizes_of(build.image, target.budget) if target.budget else None


def render(target: Target, machine: Machine, table_set: Tables) -> Texts:
    """The files of one target, by name, as `render_all` gives them."""
    return render_all([target], machine, table_set)[target.name]


def render_all(chosen: Sequence[Target], machine: Machine, table_set: Tables) -> dict[str, Texts]:
    """The files of each target by its name, all with one build number; nothing is written.

    Raises InputError where the tables are too large or would harm a coil, and for an error in a
    template, with its place; ShortfallError where they don't fit the target's controller.
    """
    from seqc.codegen.parts import Parts

    builds = [build_of(target, machine, table_set) for target in chosen]
    for build in builds:
        check_fit(build)
    with ExitStack() as stack:
        jobs = [(build, stack.enter_context(_templates(build.target))) for build in builds]

        def texts(number: str) -> dict[str, Texts]:
            return {
                build.target.name: {
                    file.name: templates.render(file.template, parts) for file in build.files
                }
                for build, templates in jobs
                for parts in [Parts(build, number)]
            }

        # The number is that of the content, so the content is rendered without it first.
        return texts(number_of(texts(NO_NUMBER).values()))


def modules(target: Target, machine: Machine, table_set: TableSet, names: Sequence[str]) -> Texts:
    """Some files of one of our targets, to be run here; they carry no build number."""
    from seqc.codegen.parts import Parts
    from seqc.codegen.templates import Templates

    templates, parts = (
        Templates(target.folder),
        Parts(build_of(target, machine, table_set), NO_NUMBER),
    )
    files = {file.name: file.template for file in target.files}
    return {name: templates.render(files[name], parts) for name in names}


def checksum(machine: Machine, table_set: TableSet) -> int:
    """The checksum by which a controller tells which tables it has; the same for every target."""
    return pack(table_set, forbidden_pairs(machine), rest_us(machine), limits_of(machine)).checksum


def _templates(target: Target) -> AbstractContextManager[Templates | TemplatesApart]:
    """What renders the templates of a target: ours here, a stranger's in a process of its own."""
    if isinstance(target.folder, Path) and target.foreign:
        from seqc.codegen.apart import TemplatesApart

        return TemplatesApart(target.folder)
    from seqc.codegen.templates import Templates

    return nullcontext(Templates(target.folder))
