"""A page that is served on loopback, and made anew in place while its machine file is worked on."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence

from seqc.machine.findings import Finding
from seqc.report.loopback import Answer, Asked, Loopback
from seqc.report.page.page import findings_page


class Watched:
    """The server of one page. Pages that are open hear what becomes of the file.

    They are told `working` while it is worked out, `made` with the number of a new page, and
    `findings` where the file can't be used: then the page stays as it was, under the findings.
    """

    def __init__(self, title: str, port: int = 0) -> None:
        self.title = title
        self.number = 0
        self._html = findings_page(title, (), watched=True)
        self._is_made = False
        self.server = Loopback({"": self._page, "page": self._page}, port=port)

    @property
    def url(self) -> str:
        """Where the page is."""
        return self.server.url

    def working(self) -> None:
        """Say that the file is worked out anew."""
        self.server.stream.tell("working", "")

    def made(self, page: Callable[[int], str]) -> None:
        """Put a new page in place, which is made with its number."""
        self._html = page(self.number + 1)
        self.number += 1
        self._is_made = True
        self._settle("made", str(self.number))

    def unchanged(self) -> None:
        """Say that the page is right as it is."""
        self._settle("made", str(self.number))

    def wrong(self, findings: Sequence[Finding]) -> None:
        """Show why the file can't be used."""
        html = findings_page(self.title, findings, watched=True)
        if not self._is_made:
            self._html = html
        self._settle("findings", json.dumps({"html": html}))

    def _settle(self, kind: str, text: str) -> None:
        stream = self.server.stream
        for other in {"working", "findings"} - {kind}:
            stream.forget(other)
        stream.tell(kind, text)

    def _page(self, _: Asked) -> Answer:
        return Answer(self._html.encode())
