"""Welds under the duty: ranges of the stress that their method names, in the worst order of events, against their class."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..loads.section import tube_section
from ..model.ring import Ring
from ..model.weld import WeldDetail
from ..strength.event_pairs import pair_events
from ..strength.surface_planes import Events, levels
from ..strength.weld_class import slot_zone
from ..strength.weld_life import assess_weld
from .life_result import WeldSaid
from .life_shares import duty_shares

__all__ = ["judged", "ring_welds", "with_verdict"]

Array = NDArray[np.float64]

ALONG = np.array([1.0, 0.0, 0.0, 0.0])


def judged(detail: WeldDetail, where: str, states: Array, events: Events) -> WeldSaid:
    """A weld by the stress normal to it; states [state, 3, 1, 4], that stress first."""
    high, low = levels(states, events, ALONG)
    pairs = pair_events(high, low, events.per_1000_h)
    ranges = np.maximum(pairs.upper(high) - pairs.lower(low), 0.0)[:, 0]
    counts = pairs.count[:, 0]
    used = (counts > 0.0) & (ranges > 0.0)
    found = assess_weld(detail, ranges[used], counts[used])
    damage = np.zeros(ranges.size)
    damage[used] = found.shares
    life = found.life_h
    return WeldSaid(
        name=detail.name,
        detail=detail.detail,
        method=detail.method,
        where=where,
        fat_MPa=found.class_.fat_MPa,
        range_MPa=float(ranges.max()),
        life_h=life if math.isfinite(life) else None,
        shares=duty_shares(pairs, events.name, damage),
        clear=True,
        verdict="",
        words="",
        figures=found.figures,
        warnings=found.warnings,
    )


def ring_welds(
    ring: Any,
    welds: Sequence[WeldDetail],
    names: tuple[str, ...],
    factors: Sequence[Array],
    events: Events,
    target_h: float,
) -> tuple[WeldSaid, ...]:
    """Welds on the shell and near slots: by the nominal stress of the plain shell along the drum, if they stand clear of slots.

    names: of the unit cases; factors [3, case] of each state. Welds at the drum's end are judged with it.
    """
    own = [w for w in welds if w.place != "drum end"]
    if not own or not isinstance(ring, Ring):
        return ()
    states = _shell_states(ring, names, factors)
    return tuple(with_verdict(_one(ring, weld, states, events), target_h) for weld in own)


def _one(ring: Ring, weld: WeldDetail, states: Array, events: Events) -> WeldSaid:
    said = judged(weld, "outer surface of the plain shell, nominal stress along the drum", states, events)
    zone = slot_zone(weld, radius_mm=ring.mid_radius_mm, wall_mm=ring.wall_mm)
    if zone.allowed:
        return replace(said, words=zone.verdict, figures=(*zone.figures, *said.figures))
    return replace(said, life_h=None, clear=False, words=zone.verdict, figures=zone.figures)


def _shell_states(ring: Ring, names: tuple[str, ...], factors: Sequence[Array]) -> Array:
    """Stress along the drum on the outer surface at the angle where it is largest: axial, and the length of both bendings."""
    inertia = tube_section(outer_diameter_mm=2 * ring.outer_radius_mm, wall_mm=ring.wall_mm).inertia_mm4
    out = np.zeros((len(factors), 3, 1, 4))
    for k, turning in enumerate(factors):
        for case, unit in (
            ("axial", 1.0),
            ("bending_x", ring.outer_radius_mm / inertia),
            ("bending_y", ring.outer_radius_mm / inertia),
        ):
            if case in names:
                # a steady moment of either axis counts in full, on the safe side
                part = turning[:, names.index(case)] * unit
                out[k, 0, 0, 0] += part[0] if case == "axial" else abs(part[0])
                out[k, 1, 0, 0] = math.hypot(out[k, 1, 0, 0], *part[1:])
    return out


def with_verdict(said: WeldSaid, target_h: float) -> WeldSaid:
    """With what it means for the life that is wanted."""
    holds = said.clear and (said.life_h is None or said.life_h >= target_h)
    return replace(said, verdict="holds" if holds else "does not hold")
