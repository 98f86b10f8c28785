"""A sheet as a file of its own."""

from __future__ import annotations

from markupsafe import Markup

from seqc.report.page.rendering import policy, rendered, style
from seqc.report.sheets.sheet import Sheet

STYLES = ("sheet_alone.css", "sheets.css")


def sheet_page(sheet: Sheet) -> str:
    """One sheet on its page, to be printed."""
    styles = style(*STYLES)
    return rendered(
        "sheet_alone.html.j2",
        policy=policy([], [styles]),
        style=Markup(styles),
        number=0,
        title=sheet.title,
        sheet=sheet,
    )
