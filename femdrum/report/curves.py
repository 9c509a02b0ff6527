"""What is known without a mesh, along an axis of the study: the exact plane Kt and the published fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import FemdrumError
from ..model.load import Axial, Biaxial, Load, Rotation, Shear, Tension
from ..model.ring import Ring
from .parts import Part, load_of, part_of, with_value

__all__ = ["FitCurve", "PlaneCurves", "exact_name", "plane_curves"]

Array = NDArray[np.float64]
CASES = ("tension_x", "tension_y", "shear")
EXACT_RELATIVE = 1e-5
POINTS = 22  # exact values along the axis, beside those at the study's own values


@dataclass
class FitCurve:
    """A published fit along the axis: NaN where it refuses. remarks: what it leaves out, in its own words."""

    name: str
    source: str
    kt: Array
    remarks: set[str] = field(default_factory=set)
    refusals: set[str] = field(default_factory=set)


@dataclass
class PlaneCurves:
    """x: values on the axis; exact [case name] and fits [case name] over it."""

    x: Array
    exact: dict[str, Array]
    fits: dict[str, list[FitCurve]]


def exact_name(part: Part | None) -> str:
    """What the exact curve is, for a legend."""
    if isinstance(part, Ring):
        return "exact plane value, slot alone in an infinite plate: screening only, no curvature, rows or ovalling"
    what = "row of cutouts" if part is not None and part.kind == "plate_row" else "plate"
    return f"exact plane solution of this {what} (boundary integral)"


def plane_curves(
    inputs: dict[str, Any], key: str, values: Sequence[float], cases: Sequence[str], *, points: int = POINTS
) -> PlaneCurves:
    """Exact values and fits along an axis, from a variant's inputs; `values` are hit exactly, `points` lie between."""
    x = _places(values, points)
    exact = {case: np.full(x.size, np.nan) for case in cases}
    fits: dict[str, dict[str, FitCurve]] = {case: {} for case in cases}
    loads = {case: load_of(inputs, case) for case in cases}
    for i, value in enumerate(x):
        try:
            part = part_of(with_value(inputs, key, float(value)))
        except FemdrumError:
            continue  # cannot be drawn: a gap
        if part is None or getattr(part.cutout, "sharp", False):
            continue
        for case, kt in _exact(part, loads).items():
            exact[case][i] = kt
        for case, load in loads.items():
            _take_fits(fits[case], part, load, i, x.size)
    return PlaneCurves(x, exact, {case: _alive(found) for case, found in fits.items()})


def _places(values: Sequence[float], points: int) -> Array:
    """The values and `points` between."""
    own = np.array(sorted({float(v) for v in values if v > 0}))
    if own.size == 0:
        return own
    if own.size == 1:
        return own
    # closer at both ends, where a thin ligament, a small radius or a full round bends the curve
    share = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, points))
    between = own[0] * (own[-1] / own[0]) ** share
    far = [v for v in between if np.min(np.abs(own - v)) > 1e-3 * v]
    return np.array(sorted([*own, *far]))


def _factors(part: Part, load: Load) -> tuple[float, float, float] | None:
    """Gross stresses x, y, shear in the plane that stand for the load, scaled so that the nominal is 1."""
    if isinstance(part, Ring):
        return (1.0, 0.0, 0.0) if isinstance(load, Rotation) else (0.0, 1.0, 0.0) if isinstance(load, Axial) else None
    if isinstance(load, Tension):
        return (1.0, 0.0, 0.0) if load.direction == "x" else (0.0, 1.0, 0.0)
    if isinstance(load, Biaxial):
        most = max(abs(load.stress_x_MPa), abs(load.stress_y_MPa))
        return load.stress_x_MPa / most, load.stress_y_MPa / most, 0.0
    return (0.0, 0.0, 1.0) if isinstance(load, Shear) else None


def _exact(part: Part, loads: dict[str, Load]) -> dict[str, float]:
    """Kt of all loads from one exact solution."""
    from ..handbook.domains import Domain, InfinitePlate
    from ..handbook.exact import domain_of, exact_edge

    states = {case: f for case, load in loads.items() if (f := _factors(part, load)) is not None}
    names = [name for i, name in enumerate(CASES) if any(f[i] for f in states.values())]
    if not names:
        return {}
    domain: Domain = InfinitePlate() if isinstance(part, Ring) else domain_of(part)
    try:
        edge = exact_edge(part.cutout, domain, names, rel=EXACT_RELATIVE)
    except FemdrumError:
        return {}
    out = {}
    for case, f in states.items():
        peaks = edge.combine([[f[CASES.index(name)] for name in names]]).peaks()
        out[case] = abs(float(peaks.peak))
    return out


def _take_fits(found: dict[str, FitCurve], part: Part, load: Load, i: int, count: int) -> None:
    from ..handbook.fits import fits_for

    for answer in fits_for(part, load):
        name = answer.fit.label
        if name not in found:
            found[name] = FitCurve(name, str(answer.fit.provenance), np.full(count, np.nan))
        curve = found[name]
        if answer.kt_gross is not None:
            curve.kt[i] = answer.kt_gross
        if answer.remark:
            curve.remarks.add(answer.remark)
        if answer.refusal:
            curve.refusals.add(answer.refusal)


def _alive(found: dict[str, FitCurve]) -> list[FitCurve]:
    return list(found.values())
