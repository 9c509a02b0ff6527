"""`femdrum explain`: words, symbols, columns, and answers to what is often asked."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import MISSING, Fault, FileFault
from .common import DONE, Command, width, write_json, write_lines

if TYPE_CHECKING:
    from ..study.terms import Question, Term, Terms

__all__ = ["add"]


def add(command: Command) -> None:
    """Enter the command."""
    explain = command(
        "explain", _explain, "words, symbols and columns of the results, and answers to what is often asked"
    )
    explain.add_argument(
        "topic", metavar="TOPIC", nargs="*", help="a word, a symbol, a column or a question (default: list all)"
    )
    explain.add_argument(
        "--page", metavar="PAGE", help="write all of it as a page to this file, which must end in .html"
    )


def _explain(args: argparse.Namespace) -> int:
    from ..study.terms import read_terms

    terms = read_terms()
    word = " ".join(args.topic)
    found: tuple[Term | Question, ...] = terms.find(word) if word else (*terms.questions, *terms.terms)
    if args.page:
        page = _page(Path(args.page))
        if args.json:
            write_json({"page": str(page)})
        else:
            print(page)
        return DONE
    if args.json:
        write_json([{"kind": type(e).__name__.lower(), **vars(e)} for e in found])
    elif word:
        for n, entry in enumerate(found):
            write_lines(["", *_entry(entry)] if n else _entry(entry))
    else:
        write_lines(_list(terms))
    return DONE


def _page(path: Path) -> Path:
    from ..report.explain_page import write_explain_page

    if path.suffix.lower() != ".html":
        raise FileFault(Fault("--page", str(path), "must end in .html"))
    try:
        return write_explain_page(path)
    except OSError as error:
        raise FileFault(
            Fault(str(path), MISSING, f"cannot be written: {error.strerror or error}", "give another name")
        ) from None


def _entry(entry: Term | Question) -> list[str]:
    from ..study.terms import Question, column_meaning
    from ..study.text import wrapped

    columns = width()
    if isinstance(entry, Question):
        lines = [entry.question, f"  (femdrum explain {entry.name})"]
        for paragraph in entry.answer:
            lines += ["", *wrapped(paragraph, columns, indent="")]
    else:
        signs = ", ".join(
            filter(None, (entry.symbol, entry.unit and f"in {entry.unit}" if entry.unit != "1" else "a number"))
        )
        lines = [entry.name + (f"  {signs}" if signs else ""), *wrapped(entry.text, columns, indent="")]
        for column in entry.columns:
            for table, meaning in column_meaning(column):
                lines += ["", *wrapped(f"{column} in {table}: {meaning}", columns)]
        if entry.verdicts and entry.verdicts != (entry.name,):
            lines += ["", f"words: {', '.join(entry.verdicts)}"]
    if entry.source:
        lines += ["", *wrapped(f"from: {entry.source}", columns)]
    if entry.see:
        lines += ["", *wrapped(f"see also: {'; '.join(entry.see)}", columns)]
    return lines


def _list(terms: Terms) -> list[str]:
    from ..study.terms import GROUPS
    from ..study.text import grid, wrapped

    lines = ["often asked, for `femdrum explain TOPIC`"]
    lines += [f"  {line}" for line in grid(("", ""), [(q.name, q.question) for q in terms.questions])[1:]]
    for group in GROUPS:
        names = "; ".join(t.name for t in terms.terms if t.group == group)
        lines += ["", group, *wrapped(f"  {names}", width())]
    return [
        *lines,
        "",
        "Columns of results.csv, life.csv, map.csv and row_loads.csv are explained under their own names too.",
    ]
