"""Kt curves from the exact plane solution: over corner radius, aspect ratio, strip width and row pitch."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputFault, NoNumber
from ..model.cutout import Cutout, Slot
from .domains import Domain, InfinitePlate, Row, Strip
from .exact import ExactKt, PlaneCase, exact_kts

__all__ = ["KtCurve", "kt_curve", "kt_over_aspect", "kt_over_pitch", "kt_over_radius", "kt_over_width"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class KtCurve:
    """Kt (gross) over a parameter.

    x: the parameter, `label` its name. kt, x_mm, y_mm (place of the peak), est_rel_err: NaN where there is no
    number or no drawing; `messages` says why, by index.
    """

    label: str
    x: Array
    kt: Array
    x_mm: Array
    y_mm: Array
    est_rel_err: Array
    messages: dict[int, str]


def kt_curve(
    case: Callable[[float], tuple[Cutout, Domain]],
    values: Sequence[float] | Array,
    *,
    label: str,
    stress_x: float = 1.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
    rel: float = 1e-6,
) -> KtCurve:
    """Kt for each value of a parameter; case(value) gives cutout and surroundings. Stresses gross, MPa."""
    x = np.asarray(values, dtype=float)
    columns = np.full((4, x.size), np.nan)
    messages: dict[int, str] = {}
    drawn: dict[int, PlaneCase] = {}
    for i, value in enumerate(x):
        try:
            cutout, domain = case(float(value))
        except (InputFault, NoNumber) as reason:
            messages[i] = str(reason)
            continue
        drawn[i] = PlaneCase(cutout=cutout, domain=domain, stress_x=stress_x, stress_y=stress_y, shear=shear)
    for i, answer in zip(drawn, exact_kts(list(drawn.values()), rel=rel), strict=True):
        if isinstance(answer, ExactKt):
            columns[:, i] = answer.kt, answer.x_mm, answer.y_mm, answer.est_rel_err
        elif isinstance(answer, (InputFault, NoNumber)):
            messages[i] = str(answer)
        else:
            raise answer
    kt, x_mm, y_mm, error = columns
    return KtCurve(label, x, kt, x_mm, y_mm, error, messages)


def kt_over_radius(
    radii_mm: Sequence[float] | Array,
    *,
    size_x_mm: float,
    size_y_mm: float,
    domain: Domain | None = None,
    stress_x: float = 1.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
    rel: float = 1e-6,
) -> KtCurve:
    """Kt of a rounded slot over its corner radius (mm)."""
    around = domain or InfinitePlate()
    return kt_curve(
        lambda r: (Slot(size_x_mm=size_x_mm, size_y_mm=size_y_mm, corner_radius_mm=r), around),
        radii_mm, label="corner_radius_mm", stress_x=stress_x, stress_y=stress_y, shear=shear, rel=rel,
    )  # fmt: skip


def kt_over_aspect(
    aspects: Sequence[float] | Array,
    *,
    size_y_mm: float,
    corner_radius_mm: float,
    stress_x: float = 1.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
    rel: float = 1e-6,
) -> KtCurve:
    """Kt of a rounded slot in an infinite plate over size_x / size_y, at fixed size_y and corner radius (mm)."""
    return kt_curve(
        lambda q: (
            Slot(size_x_mm=q * size_y_mm, size_y_mm=size_y_mm, corner_radius_mm=corner_radius_mm), InfinitePlate()
        ),
        aspects, label="size_x_over_size_y", stress_x=stress_x, stress_y=stress_y, shear=shear, rel=rel,
    )  # fmt: skip


def kt_over_width(
    widths_mm: Sequence[float] | Array,
    *,
    cutout: Cutout,
    stress_x: float = 1.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
    rel: float = 1e-6,
) -> KtCurve:
    """Kt of a cutout in a long strip along x over the strip's width (mm)."""
    return kt_curve(
        lambda w: (cutout, Strip(width_mm=w)),
        widths_mm, label="width_mm", stress_x=stress_x, stress_y=stress_y, shear=shear, rel=rel,
    )  # fmt: skip


def kt_over_pitch(
    pitches_mm: Sequence[float] | Array,
    *,
    cutout: Cutout,
    stress_x: float = 1.0,
    stress_y: float = 0.0,
    shear: float = 0.0,
    rel: float = 1e-6,
) -> KtCurve:
    """Kt of one of an endless row of cutouts along x over the row's pitch (mm)."""
    return kt_curve(
        lambda p: (cutout, Row(pitch_mm=p)),
        pitches_mm, label="pitch_mm", stress_x=stress_x, stress_y=stress_y, shear=shear, rel=rel,
    )  # fmt: skip
