"""The reference of the language as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from seqc.language.reference import StatementText, all_statements, statement_text


def language_document(keyword: str | None = None) -> dict[str, Any]:
    """Every statement, or one, with its settings."""
    chosen: Sequence[StatementText] = (
        all_statements() if keyword is None else (statement_text(keyword),)
    )
    return {
        "statements": [
            {
                "keyword": one.keyword,
                **asdict(one.form),
                "settings": [asdict(setting) for setting in one.settings],
            }
            for one in chosen
        ]
    }
