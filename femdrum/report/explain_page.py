"""The page of words, symbols and answers: one file that opens offline."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from ..study.terms import GROUPS, column_meaning, read_terms
from .sheet_page import render_page

__all__ = ["write_explain_page"]


def write_explain_page(path: Path) -> Path:
    """Write the page, whole or not at all; returns its path. Raises OSError where it cannot be written."""
    terms = read_terms()
    groups = [(g, [t for t in terms.terms if t.group == g]) for g in GROUPS]
    meanings = {c: column_meaning(c) for t in terms.terms for c in t.columns}
    return render_page(
        "explain.html", path, questions=terms.questions, groups=groups, meanings=meanings, place=_place, coded=_coded,
    )  # fmt: skip


def _place(name: str) -> str:
    """A name as the address of its place in the page."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def _coded(text: str) -> Any:
    """A text with what stands between backticks set as code; all else escaped."""
    from markupsafe import Markup, escape

    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))
