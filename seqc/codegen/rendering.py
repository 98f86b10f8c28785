"""Renders a build through the templates of a target."""

from __future__ import annotations

from seqc.codegen.checks import check, forbidden_pairs
from seqc.codegen.sizes import Sizes, check_fit, sizes_of
from seqc.codegen.target import Target
from seqc.codegen.view import Build
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet


def build_of(target: Target, machine: Machine, table_set: TableSet) -> Build:
    """The build that the templates of a target see; raises InputError as `check` does."""
    check(table_set, forbidden_pairs(machine))
    return Build(target, machine, table_set)


def sizes(target: Target, machine: Machine, table_set: TableSet) -> Sizes | None:
    """What a build takes of its controller, or None where the controller's size isn't known."""
    build = build_of(target, machine, table_set)
    return sizes_of(build.image, target.budget) if target.budget else None


def render(target: Target, machine: Machine, table_set: TableSet) -> dict[str, str]:
    """The files of a target, by name; nothing is written.

    Raises InputError where the tables are too large or would harm a coil, and for an error in a
    template, with its place; ShortfallError where they don't fit the target's controller.
    """
    from seqc.codegen.templates import Templates

    build = build_of(target, machine, table_set)
    check_fit(build)
    templates = Templates(target)
    return {file.name: templates.render(file.template, build) for file in target.files}
