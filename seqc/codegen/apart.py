"""Renders a stranger's templates in a process of their own, with bounds on time and memory.

The two processes speak in lines of JSON. A request names a template; the answers to it are parts
that are asked for, then the text or what is wrong. What crosses is plain data, so nothing else can.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

from seqc.codegen.parts import Plain
from seqc.codegen.templates import PartsByName, Templates
from seqc.machine.findings import Findings, InputError, Place

MOST_CPU_SECONDS = 10
MOST_SECONDS = 120
MOST_MEMORY_BYTES = 1 << 30
MOST_CHARACTERS = 1 << 26


class TemplatesApart:
    """The templates in a folder, rendered by a process that is ended with the context."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        command = [sys.executable, "-P", "-m", __name__, str(folder)]
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        self._timer = threading.Timer(MOST_SECONDS, self._process.kill)
        self._timer.daemon = True
        self._timer.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._timer.cancel()
        self._process.kill()
        for stream in (self._process.stdin, self._process.stdout):
            assert stream
            with suppress(OSError):
                stream.close()
        self._process.wait()

    def render(self, template: str, parts: PartsByName) -> str:
        """The text of a template; raises InputError with the place of what is wrong in it."""
        assert self._process.stdin
        assert self._process.stdout
        try:
            _send(self._process.stdin, {"template": template})
            while "part" in (answer := _received(self._process.stdout)):
                _send(self._process.stdin, {"found": _part(parts, answer["part"])})
        except (OSError, EOFError):
            raise InputError(self._ended(template)) from None
        if "text" in answer:
            return str(answer["text"])
        findings = Findings()
        for code, message, place, hint in answer["findings"]:
            findings.error(code, message, Place(*place), hint)
        raise InputError(findings)

    def _ended(self, template: str) -> Findings:
        findings = Findings()
        findings.error(
            "bad-template",
            f"it can't be rendered within {MOST_CPU_SECONDS} s of the processor's time and "
            f"{MOST_MEMORY_BYTES >> 20} MiB of memory",
            Place(str(self.folder / template), 1, 1),
        )
        return findings


def _part(parts: PartsByName, name: str) -> list[Plain]:
    """A part in a list, which is empty where there is none of that name."""
    try:
        return [parts[name]]
    except KeyError:
        return []


def _send(stream: BinaryIO | Any, message: dict[str, Any]) -> None:  # noqa: ANN401
    stream.write(json.dumps(message).encode() + b"\n")
    stream.flush()


def _received(stream: BinaryIO | Any) -> dict[str, Any]:  # noqa: ANN401
    line = stream.readline()
    if not line.endswith(b"\n"):
        raise EOFError
    message: dict[str, Any] = json.loads(line)
    return message


class _AskedParts:
    """Parts that the other process is asked for, each once."""

    def __init__(self) -> None:
        self._known: dict[str, list[Plain]] = {}

    def __getitem__(self, name: str) -> Plain:
        if name not in self._known:
            _send(sys.stdout.buffer, {"part": name})
            self._known[name] = _received(sys.stdin.buffer)["found"]
        if not self._known[name]:
            raise KeyError(name)
        return self._known[name][0]


def _bound() -> None:
    """Take little memory and time and write no file, on systems that can see to that."""
    with suppress(ImportError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_SECONDS, MOST_CPU_SECONDS))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _answer(templates: Templates, template: str, most: int) -> dict[str, Any]:
    try:
        return {"text": templates.render(template, _AskedParts(), most)}
    except InputError as error:
        places = [
            (found.code, found.message, (found.place.file, found.place.line, found.place.column))
            for found in error.findings
        ]
        hints = [found.hint for found in error.findings]
        return {"findings": [(*place, hint) for place, hint in zip(places, hints, strict=True)]}


def main(folder: str) -> None:
    """Render what is asked for on standard input until it ends."""
    _bound()
    templates = Templates(Path(folder))
    left = MOST_CHARACTERS
    with suppress(EOFError):
        while True:
            answer = _answer(templates, _received(sys.stdin.buffer)["template"], left)
            left -= len(answer.get("text", ""))
            _send(sys.stdout.buffer, answer)


if __name__ == "__main__":
    main(sys.argv[1])
