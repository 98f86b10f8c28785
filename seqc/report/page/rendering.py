"""Templates to one self-contained file: scripts and styles are set in, and nothing else may run.

The content policy lets in the page's own script and style by their hashes (CSP level 2), so
whatever a machine file says, it is only ever text.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from seqc.language.rendering import plain

SCRIPTS = (
    "unpack.js",
    "scene.js",
    "svg.js",
    "planes.js",
    "chart.js",
    "passes.js",
    "linkages.js",
    "player.js",
    "app.js",
)
"""In the order in which they stand in the page: each uses only what is above it."""

WATCH_SCRIPT = "watch.js"


@cache
def script(watched: bool = False) -> str:
    """All of the page's script."""
    names = (*SCRIPTS, WATCH_SCRIPT) if watched else SCRIPTS
    return "\n".join(_read("script", name) for name in names)


@cache
def style(*names: str) -> str:
    """Style sheets one after the other, the colours first."""
    drawn = files("seqc.report.drawings")
    shared = [drawn.joinpath(name).read_text("utf-8") for name in ("colours.css", "drawing.css")]
    return "\n".join([*shared, *(_read("style", name) for name in names)])


def policy(scripts: Sequence[str], styles: Sequence[str], *, connects: bool = False) -> str:
    """The content policy of a page with these scripts and styles."""
    parts = ["default-src 'none'", "img-src data:", "base-uri 'none'", "form-action 'none'"]
    for kind, texts in (("script-src", scripts), ("style-src", styles)):
        if texts:
            parts.append(f"{kind} {' '.join(map(_hash, texts))}")
    if connects:
        parts.append("connect-src 'self'")
    return "; ".join(parts)


def rendered(template: str, **known: Any) -> str:  # noqa: ANN401
    """A template filled in; every text in it is escaped, and is one line."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(lambda name: _read("templates", name)),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_visible,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(template).render(**known)


def _visible(value: object) -> object:
    """A text without signs that can't be seen, such as no XML or HTML may hold."""
    return plain(value) if type(value) is str else value


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def _read(folder: str, name: str) -> str:
    return files(__package__).joinpath(folder, name).read_text("utf-8")
