"""Checks of what is asked of the best radius; all faults at once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from ..errors import MISSING
from ..model.check import Checks
from .best_radius_edge import PlaneState

__all__ = ["check_question"]

MOST_STATES = 60


def check_question(
    states: Sequence[Any],
    criterion: Any,
    criteria: Iterable[str],
    sizes: dict[str, Any],
    radius_limits: Any,
    given: Any,
    vary: dict[str, Any],
) -> None:
    """Raise InputFault where the question makes no sense. sizes and vary by axis, "x" and "y"."""
    checks = Checks()
    checks.one_of("criterion", criterion, criteria)
    _check_states(checks, states, criterion)
    good = all([checks.positive(f"size_{axis}_mm", size) for axis, size in sizes.items()])
    if all(limits is not None for limits in vary.values()):
        checks.add("vary_y_mm", vary["y"], "cannot stand beside vary_x_mm", "vary one size, keep the other")
    limited = radius_limits is not None and _pair(checks, "radius_limits_mm", radius_limits)
    largest = dict(sizes)
    for axis, limits in vary.items():
        if limits is None or not _pair(checks, f"vary_{axis}_mm", limits):
            continue
        largest[axis] = limits[1]
        if good and not limits[0] <= sizes[axis] <= limits[1]:
            checks.add(f"vary_{axis}_mm", limits, f"must contain the slot's own size_{axis}_mm = {sizes[axis]:g}")
        if limited and 2 * radius_limits[0] > limits[0]:
            least = 2 * radius_limits[0]
            checks.add(
                f"vary_{axis}_mm", limits, f"must be at least {least:g} mm, twice the radius's lower limit",
                "raise the size's lower limit or lower the radius's",
            )  # fmt: skip
    if good:
        _check_radii(checks, 0.5 * min(sizes.values()), 0.5 * min(largest.values()), radius_limits, limited, given)
    checks.done()


def _check_radii(checks: Checks, full: float, most: float, limits: Any, limited: bool, given: Any) -> None:
    if limited and limits[1] > most * (1 + 1e-9):
        checks.add(
            "radius_limits_mm", limits, f"must end at the full round, {most:g} mm, or before",
            "leave the limits out to search up to the full round",
        )  # fmt: skip
    if given is not None and given != "full":
        checks.number("given_radius_mm", given, above=0.0, most=full, way_out='"full" gives the full round')


def _check_states(checks: Checks, states: Sequence[Any], criterion: Any) -> None:
    if not states:
        checks.add(
            "states", MISSING, "at least one load state is needed", "give a name and gross stresses x, y and shear"
        )
        return
    if not all(isinstance(s, PlaneState) for s in states):
        checks.add("states", states, "must be PlaneState objects")
        return
    if len(states) > MOST_STATES:
        checks.add("states", len(states), f"must be at most {MOST_STATES} states", "keep those that can govern")
        return
    names = [s.name for s in states]
    double = sorted({n for n in names if names.count(n) > 1})
    if double:
        checks.add("states", ", ".join(double), "each state needs a name of its own")
    values = {s.stresses_MPa for s in states}
    if not any(v != 0 for state in values for v in state):
        checks.add("states", ", ".join(names), "all stresses are zero", "give at least one state a stress")
    elif criterion == "range" and len(values) < 2:
        checks.add(
            "states", ", ".join(names), "a range needs two states that differ",
            "add the other end, for example the machine at rest, or use the criterion peak",
        )  # fmt: skip


def _pair(checks: Checks, field: str, value: Any) -> bool:
    """Two rising finite numbers above zero."""
    if (
        isinstance(value, (tuple, list))
        and len(value) == 2
        and all(isinstance(v, (int, float)) and not isinstance(v, bool) and math.isfinite(v) for v in value)
        and 0 < value[0] < value[1]
    ):
        return True
    checks.add(field, value, "must be two finite numbers, lower and upper limit, with 0 < lower < upper")
    return False
