"""Machines with all that their pages tell, worked out once for each, and the browser's side."""

from __future__ import annotations

import functools
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from clock_file import TEXT
from clock_file import machine_of as clock_machine_of
from examples_on_disk import machine_of
from framed import FRAMED
from playwright.sync_api import Browser, Page

import seqc
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.report.page.page import page
from seqc.report.survey import Survey

DAY_US = 86_400_000_000
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="needs chromium")


def survey_of(machine: Machine, programmes: tuple[Programme, ...]) -> Survey:
    """Everything about a machine and some programmes, for a day at 40 C."""
    return seqc.survey(machine, programmes, Findings(), DAY_US, 40.0)


@functools.cache
def example(name: str) -> Survey:
    """An example, or the framed machine; of the clock's day the minute around midnight."""
    with tempfile.TemporaryDirectory() as folder:
        if name == "framed":
            machine = clock_machine_of(FRAMED, Path(folder))
        else:
            machine = machine_of(name, Path(folder))
        programmes = machine.programmes
        if name == "harbour_clock":
            day = programmes[0]
            around = (*day.frames[-30:], *day.frames[:30])
            programmes = (replace(day, frames=around, repeat=False, rotations=()),)
        return survey_of(machine, programmes)


@functools.cache
def page_of(name: str) -> str:
    """The page of an example."""
    return page(example(name))


EVIL = (
    "*/ #error out\n??/\n\\\n\"\"\"\n''' é \x00 $(touch /tmp/x) `id` {{ 1 }} #"
    "</script><script>window.hacked=1</script><img src=x onerror=window.hacked=1>"
    "\"><svg onload=window.hacked=1>' onfocus='window.hacked=1' autofocus <!-- ]]> &amp; \u2028"
)
"""The names that targets are tested with, and what a page might trip over besides."""


@functools.cache
def hostile() -> Survey:
    """A machine in which everything that has a name has an evil one."""
    with tempfile.TemporaryDirectory() as folder:
        machine = clock_machine_of(TEXT, Path(folder))
    names = re.findall(r"[a-z_]{3,}", TEXT)
    evil = {name: f"{name}{EVIL}" for name in (*names, *"0123456789")}
    kept = {"forward", "reverse", "rest", "thrown"}
    renamed: Machine = _renamed(machine, {k: v for k, v in evil.items() if k not in kept})
    day = renamed.programmes[0]
    return survey_of(renamed, (replace(day, frames=day.frames[:12], rotations=()),))


def _renamed(value: Any, names: dict[str, str]) -> Any:  # noqa: ANN401
    """A value with every text that is a name, or is made of names, made evil."""
    if isinstance(value, str):
        return names.get(value) or ".".join(names.get(word, word) for word in value.split("."))
    if isinstance(value, tuple):
        parts = [_renamed(each, names) for each in value]
        return type(value)(*parts) if hasattr(value, "_fields") else tuple(parts)
    if is_dataclass(value) and not isinstance(value, type):
        own = {f.name: _renamed(getattr(value, f.name), names) for f in fields(value) if f.init}
        return replace(value, **own)
    return value


@contextmanager
def opened(
    browser: Browser,
    html: str,
    *,
    width: int = 1280,
    theme: str = "light",
) -> Iterator[tuple[Page, list[str]]]:
    """A page in the browser, from a file as a maker opens it, and all that it complains of."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "page.html"
        file.write_text(html, "utf-8")
        scheme: Any = theme
        context = browser.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, reduced_motion="reduce"
        )
        shown = context.new_page()
        shown.set_default_timeout(10_000)
        heard: list[str] = []
        shown.on("console", lambda said: heard.append(f"{said.type}: {said.text}"))
        shown.on("pageerror", lambda error: heard.append(f"error: {error}"))
        shown.on("dialog", lambda dialog: heard.append(f"dialog: {dialog.message}"))
        shown.on("request", _requests(heard, file.as_uri()))
        try:
            shown.goto(file.as_uri())
            shown.wait_for_function("() => App.player?.scene")
            yield shown, heard
        finally:
            context.close()


def _requests(heard: list[str], own: str) -> Callable[[Any], None]:
    def hear(request: Any) -> None:  # noqa: ANN401
        if request.url.split("#")[0] != own and not request.url.startswith("data:"):
            heard.append(f"request: {request.url}")

    return hear
