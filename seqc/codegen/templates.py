"""The templates of a target, in jinja2, with every error reported at its place."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from importlib.resources import files
from importlib.resources.abc import Traversable

from jinja2 import (
    FunctionLoader,
    StrictUndefined,
    TemplateError,
    TemplateNotFound,
    TemplateSyntaxError,
)
from jinja2.sandbox import ImmutableSandboxedEnvironment

from seqc.codegen.names import note
from seqc.codegen.target import FILE_NAME, Target
from seqc.codegen.view import Build
from seqc.machine.findings import Findings, InputError, Place

Source = tuple[str, str, Callable[[], bool]]


class Templates:
    """Renders the templates of one target.

    `common/x` is the template x in our own folder `common`, and so with the folders of our other
    targets, unless the target has such a folder itself; any other name is one of the target's.
    """

    def __init__(self, target: Target) -> None:
        self.target = target
        self._paths: set[str] = set()
        # A stranger's target must not reach beyond what it lays out.
        self._environment = ImmutableSandboxedEnvironment(
            loader=FunctionLoader(self._source),
            undefined=StrictUndefined,
            autoescape=False,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
        )
        self._environment.filters["note"] = note

    def render(self, template: str, build: Build) -> str:
        """The text of a template; raises InputError with the place of what is wrong in it."""
        findings = Findings()
        first = Place(str(self._path(template)), 1, 1)
        try:
            found = self._environment.get_template(template)
            return found.render(build=build, options=self.target.options)
        except TemplateSyntaxError as error:
            place = Place(error.filename or first.file, error.lineno, 1)
            findings.error("bad-template", error.message or "not a template", place)
        except TemplateNotFound as error:
            findings.error("bad-template", f"there is no template {error.name!r}", first)
        except (TemplateError, ArithmeticError, LookupError, TypeError, ValueError) as error:
            findings.error("bad-template", str(error), self._place(error, first))
        raise InputError(findings)

    def _source(self, name: str) -> Source | None:
        if not FILE_NAME.fullmatch(name) or ".." in name:
            return None
        path = self._path(name)
        if not path.is_file():
            return None
        self._paths.add(str(path))
        return path.read_text("utf-8"), str(path), lambda: True

    def _path(self, name: str) -> Traversable:
        own = self.target.folder.joinpath(name)
        return own if own.is_file() else files("seqc.targets").joinpath(name)

    def _place(self, error: Exception, first: Place) -> Place:
        """The innermost line of a template that an error passed through."""
        place = first
        for frame in traceback.extract_tb(error.__traceback__):
            if frame.filename in self._paths and frame.lineno:
                place = Place(frame.filename, frame.lineno, 1)
        return place
