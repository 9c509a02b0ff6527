"""Where the panels of an outline begin and end: junctions, narrow gaps, turns, and long flanks beside small radii.

The cuts do not depend on the accuracy asked: a finer solution takes more nodes on the same panels.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from ..errors import OverBudget
from ..model.contour import Arc, EllipseArc, Line, Piece
from .panels import Cuts, Gap, graded, place

__all__ = ["closed_cuts", "straight_cuts"]

TURN = 0.5 * math.pi * 1.001  # largest turn of the normal on a panel, radians
TURN_AT_JUNCTION = 0.25 * math.pi * 1.001
NARROW = 0.3  # an ellipse's end counts as turning faster below this ratio of its axes
ROOM = 2.0  # largest panel over the free gap beside it
FLANK = 7.0  # largest panel on a flank over the radius at its end plus the distance from there
MOST_PANELS = 4000

Panel = tuple[float, float, int]  # parameter interval and grade

_U = np.linspace(0.0, 1.0, 9)
_SHARE = np.stack([graded(_U, g, 3) for g in (-1, 0, 1)])
_SPREAD = np.stack([3 * _U**2, np.ones(9), 3 * (1 - _U) ** 2])  # how far apart a graded panel draws its nodes


def _cut(
    piece: Piece, ends: tuple[bool, bool], radii: tuple[float, float], own: float, longest: float, gap: Gap | None
) -> list[Panel]:
    """Panels of one piece, in order.

    ends: whether a junction is there. radii: of the arcs beyond the ends, infinite where there is none.
    own: free gap across the hole. longest: bound of the length of a panel, mm.
    """
    todo: list[Panel] = [(0.0, 0.5, -1), (0.5, 1.0, 1)] if all(ends) else [(0.0, 1.0, int(ends[1]) - int(ends[0]))]
    total = float(np.mean(piece.speed(_U))) if isinstance(piece, EllipseArc) else piece.length  # no digits needed
    longest = min(longest, ROOM * own)
    turn = 0.0 if isinstance(piece, Line) else 0.5 * math.pi
    if isinstance(piece, EllipseArc):
        turn *= max(1.0, NARROW * max(piece.half_x, piece.half_y) / min(piece.half_x, piece.half_y))
    done: list[Panel] = []
    while todo:
        free: list[Panel] = []
        split: list[Panel] = []
        for panel in todo:
            t0, t1, grade = panel
            length = (t1 - t0) * total
            most = min(longest, _lead(panel, total, radii))
            turns_far = turn * (t1 - t0) > (TURN_AT_JUNCTION if grade else TURN)
            (split if turns_far or length > most else free).append(panel)
        if gap is not None and free:
            t0s, t1s, grades = (np.array(column) for column in zip(*free, strict=True))
            t = t0s[:, None] + (t1s - t0s)[:, None] * _SHARE[grades + 1]
            spread = (t1s - t0s)[:, None] * total * _SPREAD[grades + 1]
            tight = np.any(spread > ROOM * gap(place(piece, t)), axis=1)
            split += [panel for panel, narrow in zip(free, tight, strict=True) if narrow]
            free = [panel for panel, narrow in zip(free, tight, strict=True) if not narrow]
        done += free
        todo = [half for panel in split for half in _halves(panel, total, radii)]
        if len(done) + len(todo) > MOST_PANELS:
            raise OverBudget(f"an edge needs more than {MOST_PANELS} panels: a gap or a radius is very small")
    return sorted(done)


def _lead(panel: Panel, total: float, radii: tuple[float, float]) -> float:
    """What a panel may measure beside a small radius, mm."""
    return FLANK * min(radii[0] + panel[0] * total, radii[1] + (1 - panel[1]) * total)


def _halves(panel: Panel, total: float, radii: tuple[float, float]) -> tuple[Panel, Panel]:
    """Two panels for one; beside a small radius the one at the junction is as long as it may be."""
    t0, t1, grade = panel
    share = min(0.5, _lead(panel, total, radii) / ((t1 - t0) * total)) if grade else 0.5
    middle = t0 + (t1 - t0) * (1 - share if grade > 0 else share)
    return (t0, middle, min(grade, 0)), (middle, t1, max(grade, 0))


def _own_gap(piece: Piece) -> float:
    """Free distance from a straight flank to the flank across the hole."""
    if not isinstance(piece, Line):
        return math.inf
    return 2 * max(min(abs(piece.start[0]), abs(piece.end[0])), min(abs(piece.start[1]), abs(piece.end[1])))


def closed_cuts(
    pieces: Sequence[Piece], gap: Gap | None = None, *, hole: bool = True, longest: float = math.inf
) -> Cuts:
    """Cuts of a quarter outline that closes smoothly over both mirror axes.

    gap: free distance from places on the outline to the nearest other outline. hole: flanks face each other
    across the inside. longest: bound of the length of a panel, mm.
    """
    last = len(pieces) - 1
    radius = [piece.corner_radius if isinstance(piece, Arc) else math.inf for piece in pieces]
    beyond = [math.inf, *radius, math.inf]
    parts = []
    for i, piece in enumerate(pieces):
        radii = (beyond[i], beyond[i + 2]) if isinstance(piece, Line) else (math.inf, math.inf)
        own = _own_gap(piece) if hole else math.inf
        parts.append(_cut(piece, (i > 0, i < last), radii, own, longest, gap))
    return _joined(tuple(pieces), parts)


def straight_cuts(line: Line, gap: Gap, longest: float) -> Cuts:
    """Cuts of a straight edge without junctions."""
    none = (math.inf, math.inf)
    return _joined((line,), [_cut(line, (False, False), none, math.inf, longest, gap)])


def _joined(pieces: tuple[Piece, ...], parts: list[list[Panel]]) -> Cuts:
    which = np.repeat(np.arange(len(parts)), [len(part) for part in parts])
    t0, t1, grade = (np.array(column) for column in zip(*itertools.chain(*parts), strict=True))
    return Cuts(pieces, which, t0, t1, grade)
