"""The templates of a target, in jinja2, with every error reported at its place."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Protocol

from jinja2 import FunctionLoader, StrictUndefined, TemplateNotFound, TemplateSyntaxError
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.utils import missing

from seqc.codegen.names import note
from seqc.codegen.parts import Plain
from seqc.codegen.target import FILE_NAME, linked
from seqc.machine.findings import Findings, InputError, Place

MOST_TEMPLATE_BYTES = 1 << 20
LONGEST_MESSAGE = 200

Source = tuple[str, str, Callable[[], bool]]


class PartsByName(Protocol):
    """Gives a part of a build by its name; raises KeyError where there is none."""

    def __getitem__(self, name: str) -> Plain:
        """The part."""


class _Context(Context):
    """Looks names that a template doesn't set itself up among the parts of the build."""

    def resolve_or_missing(self, key: str) -> object:
        found = super().resolve_or_missing(key)
        if found is not missing:
            return found
        assert isinstance(self.environment, _Environment)
        return self.environment.part(key)


class _Environment(ImmutableSandboxedEnvironment):
    """A sandbox whose templates see parts of a build, and lay them out."""

    context_class = _Context
    parts: PartsByName

    def part(self, name: str) -> object:
        try:
            return self.parts[name]
        except KeyError:
            return missing


class Templates:
    """Renders the templates in a folder.

    `common/x` is the template x in our own folder `common`, and so with the folders of our other
    targets, unless the target has such a folder itself; any other name is one of the target's.
    """

    def __init__(self, folder: Traversable) -> None:
        self.folder = folder
        self._paths: set[str] = set()
        self._environment = _Environment(
            loader=FunctionLoader(self._source),
            undefined=StrictUndefined,
            autoescape=False,
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=True,
        )
        self._environment.filters["note"] = note
        self._environment.globals = {"range": self._environment.globals["range"]}

    def render(self, template: str, parts: PartsByName, most: int | None = None) -> str:
        """The text of a template, of at most `most` characters.

        Raises InputError with the place of what is wrong in it.
        """
        self._environment.parts = parts
        findings = Findings()
        first = Place(str(self._path(template)), 1, 1)
        try:
            return self._text(template, most)
        except InputError:
            raise
        except TemplateSyntaxError as error:
            place = Place(error.filename or first.file, error.lineno, 1)
            findings.error("bad-template", _words(error), place)
        except TemplateNotFound as error:
            findings.error("bad-template", f"there is no template {error.name!r}", first)
        # Whatever a template comes to while it is rendered, the template is what is at fault.
        except Exception as error:
            findings.error("bad-template", _words(error), self._place(error, first))
        raise InputError(findings)

    def _text(self, template: str, most: int | None) -> str:
        pieces = []
        length = 0
        for piece in self._environment.get_template(template).generate():
            length += len(piece)
            if most is not None and length > most:
                raise ValueError(f"more than {most} characters come out of it")
            pieces.append(piece)
        text = "".join(pieces)
        text.encode()
        return text

    def _source(self, name: str) -> Source | None:
        if not FILE_NAME.fullmatch(name) or ".." in name:
            return None
        path = self._path(name)
        if not path.is_file():
            return None
        self._paths.add(str(path))
        with path.open("rb") as stream:
            data = stream.read(MOST_TEMPLATE_BYTES + 1)
        if len(data) > MOST_TEMPLATE_BYTES:
            raise ValueError(f"{path} is larger than {MOST_TEMPLATE_BYTES} bytes")
        return data.decode(), str(path), lambda: True

    def _path(self, name: str) -> Traversable:
        own = self.folder.joinpath(name)
        if isinstance(own, Path) and isinstance(self.folder, Path):
            link = linked(own, self.folder)
            if link is not None:
                raise InputError(link)
        return own if own.is_file() else files("seqc.targets").joinpath(name)

    def _place(self, error: Exception, first: Place) -> Place:
        """The innermost line of a template that an error passed through."""
        place = first
        for frame, line in traceback.walk_tb(error.__traceback__):
            if frame.f_code.co_filename in self._paths and line:
                place = Place(frame.f_code.co_filename, line, 1)
        return place


def _words(error: Exception) -> str:
    """What is wrong, on one line that can be shown."""
    match error:
        case RecursionError():
            return "it includes or calls itself too deeply"
        case MemoryError():
            return "it takes more memory than there is for it"
    message = getattr(error, "message", None) or str(error) or type(error).__name__
    line = "".join(sign if sign.isprintable() else " " for sign in str(message))
    return line[:LONGEST_MESSAGE]
