"""Chapters that other parts of the tool give to the report: each asked for in turn, none where a study has nothing for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ..study import Results

if TYPE_CHECKING:
    from markupsafe import Markup

    from .page_shown import Shown

__all__ = ["Chapter", "chapters", "try_section"]


@dataclass(frozen=True)
class Chapter:
    """A chapter of the report. anchor: its id in the page. html: what stands below its heading, safe as it is."""

    title: str
    anchor: str
    html: Markup


Maker = Callable[[Results], "Chapter | None"]


def _as_built(results: Results) -> Chapter | None:
    from .handover import as_built_chapter

    return as_built_chapter(results)


def _handed_over(results: Results) -> Chapter | None:
    from .handover import chapter

    return chapter(results)


# Functions that give a chapter, or None where a study has nothing for it; in the order of the report
MAKERS: tuple[Maker, ...] = (_as_built, _handed_over)


def chapters(results: Results, shown: Sequence[Shown] = ()) -> list[Any]:
    """The chapters that this study has, in their order. shown: the report's figures, of which some belong to chapters."""
    from .whole_drum_chapter import rest_chapters

    own = [chapter for chapter in (maker(results) for maker in MAKERS) if chapter is not None]
    return [*rest_chapters(results, shown), *own]


def try_section(results: Results) -> Any:
    """What `try.html` shows; None where the study leaves nothing to try."""
    from .try_value import section

    return section(results)
