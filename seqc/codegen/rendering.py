"""Renders a build through the templates of a target."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import TYPE_CHECKING

from seqc.codegen.checks import check, forbidden_pairs, rest_us
from seqc.codegen.names import note
from seqc.codegen.packing import pack
from seqc.codegen.sizes import Sizes, check_fit, sizes_of
from seqc.codegen.target import COMMON, Target
from seqc.codegen.view import Build
from seqc.machine.findings import Findings, InputError, Place
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet

if TYPE_CHECKING:
    from jinja2 import Environment

Source = tuple[str, str, Callable[[], bool]]


def build_of(target: Target, machine: Machine, table_set: TableSet) -> Build:
    """The build that the templates of a target see; raises InputError as `check` does."""
    pairs = forbidden_pairs(machine)
    check(table_set, pairs)
    return Build(target, machine, table_set, pack(table_set, pairs, rest_us(machine)))


def sizes(target: Target, machine: Machine, table_set: TableSet) -> Sizes | None:
    """What a build takes of its controller, or None where the controller's size isn't known."""
    image = build_of(target, machine, table_set).image
    return sizes_of(image, target.budget) if target.budget else None


def render(target: Target, machine: Machine, table_set: TableSet) -> dict[str, str]:
    """The files of a target, by name; nothing is written.

    Raises InputError where the tables are too large or would harm a coil, and for an error in a
    template, with its place; ShortfallError where they don't fit the target's controller.
    """
    build = build_of(target, machine, table_set)
    check_fit(target, build.image)
    environment = _environment(target)
    return {
        file.name: _rendered(environment, target, file.template, build) for file in target.files
    }


def _environment(target: Target) -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    def source(name: str) -> Source | None:
        path = _path(target, name)
        return (path.read_text("utf-8"), str(path), lambda: True) if path.is_file() else None

    environment = Environment(
        loader=FunctionLoader(source),
        undefined=StrictUndefined,
        autoescape=False,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["note"] = note
    return environment


def _path(target: Target, name: str) -> Traversable:
    folder, _, file = name.rpartition("/")
    if folder == COMMON:
        return files("seqc.targets").joinpath(COMMON, file)
    return target.folder.joinpath(name)


def _rendered(environment: Environment, target: Target, template: str, build: Build) -> str:
    from jinja2 import TemplateError, TemplateNotFound, TemplateSyntaxError

    findings = Findings()
    try:
        return environment.get_template(template).render(build=build, options=target.options)
    except TemplateSyntaxError as error:
        place = Place(error.filename or str(_path(target, template)), error.lineno, 1)
        findings.error("bad-template", error.message or "not a template", place)
    except TemplateNotFound as error:
        place = Place(str(_path(target, template)), 1, 1)
        findings.error("bad-template", f"there is no template {error.name!r}", place)
    except (TemplateError, ArithmeticError, LookupError, TypeError, ValueError) as error:
        findings.error("bad-template", str(error), _template_place(error, target, template))
    raise InputError(findings)


def _template_place(error: Exception, target: Target, template: str) -> Place:
    """The innermost line of a template that an error passed through."""
    names = {str(_path(target, template))} | {str(_path(target, f.template)) for f in target.files}
    place = Place(str(_path(target, template)), 1, 1)
    for frame in traceback.extract_tb(error.__traceback__):
        if frame.filename in names and frame.lineno:
            place = Place(frame.filename, frame.lineno, 1)
    return place
