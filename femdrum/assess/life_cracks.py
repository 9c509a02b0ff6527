"""Cracks from the worst places of a slot, by the field along their path and the events of the duty."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.crack_input import CrackInput
from ..paths import CrackPaths
from ..strength.crack_check import CrackResult, crack_check
from ..strength.crack_rows import CrackRow
from ..strength.growth_law import to_MPa_sqrt_m
from ..strength.surface_planes import Events
from ..strength.weight_function import StressPath
from .life_damage import Plane, ranges
from .life_places import EdgeDamage, Named
from .life_result import CrackLife, TurnLine

__all__ = ["OFTEN_PER_1000_H", "crack_lives"]

Array = NDArray[np.float64]

_MOST = 2  # places
# what comes as often as this is judged like a load of every turn: inspection cannot follow it
OFTEN_PER_1000_H = 1e6
_MOST_SCALE = 1.2


def crack_lives(
    found: EdgeDamage,
    named: Sequence[Named],
    part: Any,
    paths: CrackPaths,
    crack: CrackInput,
    vectors: Mapping[str, Array],
) -> tuple[CrackLife, ...]:
    """The check of a crack at the places of the largest damage, each from the stored path nearest to it."""
    factors = np.stack(list(vectors.values()))  # [condition, 3, case]
    rows = _rows(found.events, factors)
    # a crack opens by the stress along the edge; a corner's rims and wall share it, so the worst of each corner counts
    inside = [n for n in named if "surface" not in n.name]
    at = np.array([n.place for n in inside])
    spans = ranges(found.states[:, :, at], found.events, Plane(np.zeros(at.size), np.zeros(at.size), False))
    places: dict[str, Named] = {}
    for k in sorted(range(len(inside)), key=lambda k: (-float(f"{spans[k]:.6g}"), inside[k].name)):
        places.setdefault(inside[k].name.split(",")[0], inside[k])
    return tuple(_one(found, n, part, paths, crack, rows) for n in list(places.values())[:_MOST])


def _rows(events: Events, factors: Array) -> list[CrackRow]:
    out = []
    for first, second, count, name in zip(events.first, events.second, events.per_1000_h, events.name, strict=True):
        ends = np.stack([np.tensordot(end, factors, 1) for end in (first, second)])
        out.append(CrackRow(name, float(count), bool(count >= OFTEN_PER_1000_H), ends))
    return out


def _one(
    found: EdgeDamage, named: Named, part: Any, paths: CrackPaths, crack: CrackInput, rows: list[CrackRow]
) -> CrackLife:
    edge = found.edge
    slot, s, d = (int(k) for k in np.unravel_index(named.place, found.damage.shape))
    length = float(edge.s_mm[-1] + edge.s_mm[1])
    at = paths.nearest(slot, float(edge.s_mm[s]), float(edge.depth_mm[d]), length)
    stress = paths.stress[at]
    # paths start between the places: the shape of the nearest, as high as at the place itself
    here = max(float(np.abs(_spread(rows, edge.stress[:, slot, s, d, 0])).max()), 0.0)
    there = float(np.abs(_spread(rows, stress[:, 0])).max())
    scale = min(max(here / there, 1.0), _MOST_SCALE) if there > 0.0 else 1.0
    corner = "corner" in named.name
    path = StressPath(
        paths.x_mm[at], scale * stress, crack.shape, crack.aspect, getattr(part, "wall_mm", None),
        part.cutout.least_radius_mm if corner else None, void="hole" if corner and part.cutout.shape == "circle" else "slot",
    )  # fmt: skip
    result = crack_check(path, rows, crack)
    notes = (
        f"stress along the path from {paths.s_mm[at]:.1f} mm along the edge, {paths.depth_mm[at]:.1f} mm deep, times {scale:.3f} "
        "to meet the stress at the place itself",
        f"rows that come more than {OFTEN_PER_1000_H:,.0f} times in 1,000 h are judged like those of every turn",
        "each row makes its own range of K; ranges between rows are not paired here",
        *result.notes,
    )
    return _said(named.name, result, notes)


def _spread(rows: Sequence[CrackRow], stress: Array) -> Array:
    """Range of each row of the stress per case."""
    out = []
    for row in rows:
        high, low = row.bounds(stress[:, None])
        out.append(float(high[0] - low[0]))
    return np.array(out)


def _said(place: str, result: CrackResult, notes: tuple[str, ...]) -> CrackLife:
    merged: dict[str, TurnLine] = {}
    for line in result.threshold:  # of a recording the largest class stands for all
        new = TurnLine(line.name, float(to_MPa_sqrt_m(line.delta_k_start_N_mm15)), line.reached_mm, line.grows_at_start,
                       line.verdict)  # fmt: skip
        old = merged.get(line.name)
        if old is None or new.delta_k_start_MPa_sqrt_m > old.delta_k_start_MPa_sqrt_m:
            merged[line.name] = new
    life = result.life.life_h
    look = result.inspection
    return CrackLife(
        place=place,
        initial_mm=result.start_mm,
        detectable_mm=result.detectable_mm,
        critical_mm=result.critical_mm,
        ends_by=result.governing_end,
        depth_mm=tuple(float(v) for v in result.life.depth_mm),
        hours=tuple(float(v) for v in result.life.hours),
        life_h=life if math.isfinite(life) else None,
        interval_h=look.interval_h,
        once_a_turn=tuple(merged.values()),
        inspection=look.verdict,
        figures=result.figures,
        warnings=result.warnings,
        notes=notes,
    )
