"""Life of a weld from ranges of stress: N = 2e6 (FAT / range)^3 up to the knee, slope 5 beyond, 97.7 % survival.

Ranges only: a weld as welded holds tension up to yield, so its mean stress is high whatever the load's mean is. No credit
is given for it. Ranges in MPa, of the stress that the class names.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..model.weld import WeldDetail
from ..provenance import Provenance, computed, memory, standard
from .array_checks import array_of
from .weld_class import NOTCH_LEAST_WALL_MM, REFERENCE_CYCLES, WeldClass, weld_class

__all__ = [
    "IIW_CURVE",
    "WeldLife",
    "assess_weld",
    "equivalent_range_MPa",
    "mean_stress_factor",
    "thickness_factor",
    "weld_damage",
    "weld_life",
]

Array = NDArray[np.float64]

SLOPE, KNEE_CYCLES, SLOPE_BEYOND = 3.0, 1e7, 5.0
REFERENCE_WALL_MM = 25.0
SURVIVAL = 0.977

IIW_CURVE = standard(
    "IIW Recommendations for Fatigue Design of Welded Joints and Components, 2nd ed. 2016, sec. 3.2: 2e6 cycles, slope 3, "
    "knee 1e7, slope 5 beyond for variable amplitude, 97.7 % survival",
    "seen in open codes; no cut-off is used, they disagree on it",
)  # fmt: skip
THICKNESS = standard(
    "IIW-1823-07, Dec 2008, sec. 3.5.2, eq. (3.6): (25 / t)^n above 25 mm", "form seen in a reading record"
)
DAMAGE_LIMIT = memory("IIW sec. 4: damage sum 0.5 under variable amplitude; reproductions that were seen use 1.0")
RELIEVED = standard(
    "IIW Recommendations for Fatigue Design of Welded Joints and Components, 2nd ed. 2016, sec. 3.5.1, low residual stress",
    "seen once, in an open code",
)
SUM = computed("Miner: sum of n / N; the order of loads is not in it")


def thickness_factor(thickness_mm: ArrayLike, exponent: float) -> Array:
    """Factor on the class for plates above 25 mm: (25 / t)^n, else 1. Raises InputFault."""
    checks = Checks()
    t = array_of(checks, "thickness_mm", thickness_mm, above=0.0)
    checks.number("exponent", exponent, least=0.0, most=0.5, way_out="0.1 to 0.3 by detail")
    checks.done()
    return np.asarray((REFERENCE_WALL_MM / np.maximum(t, REFERENCE_WALL_MM)) ** exponent)


def mean_stress_factor(ratio: ArrayLike) -> Array:
    """Factor on the class of a stress-relieved weld by stress ratio: 1.6 below -1, 1.2 - 0.4 R up to 0.5, 1 above."""
    r = np.asarray(ratio, dtype=float)
    return np.asarray(np.where(r > 0.5, 1.0, np.where(r < -1.0, 1.6, 1.2 - 0.4 * r)))


def _refuse_credit(mean_stress_credit: bool, as_welded: bool, procedure_record: str) -> None:
    if mean_stress_credit and (as_welded or not procedure_record.strip()):
        raise InputFault(
            Fault(
                "mean_stress_credit", True, "must be false as welded: the weld holds tension up to yield, only the range counts",
                "relieve the stress and name the record of the procedure: as_welded = false, procedure_record",
            )
        )  # fmt: skip


def weld_life(
    range_MPa: ArrayLike,
    fat_MPa: float,
    *,
    thickness_factor: float = 1.0,
    slope: float = SLOPE,
    knee_cycles: float = KNEE_CYCLES,
    slope_beyond: float = SLOPE_BEYOND,
    mean_stress_credit: bool = False,
    as_welded: bool = True,
    procedure_record: str = "",
    ratio: ArrayLike | None = None,
) -> Array:
    """Cycles to failure of stress ranges, 97.7 % survival; inf for a range of zero.

    Beyond the knee the second slope holds, as under variable amplitude. mean_stress_credit: refused as welded; with a
    record of stress relief the class is raised by `ratio`, the stress ratio of each range. Raises InputFault.
    """
    _refuse_credit(mean_stress_credit, as_welded, procedure_record)
    checks = Checks()
    ranges = array_of(checks, "range_MPa", range_MPa, least=0.0, way_out="a range is the upper less the lower stress")
    checks.positive("fat_MPa", fat_MPa, "the class: stress range at 2e6 cycles")
    checks.number("thickness_factor", thickness_factor, above=0.0, most=1.0, way_out="(25 / t)^n, never above 1")
    if mean_stress_credit and ratio is None:
        checks.add("ratio", None, "is missing; must be the stress ratio of each range")
    checks.done()
    strength = fat_MPa * thickness_factor
    credit = mean_stress_factor(ratio) if mean_stress_credit and ratio is not None else 1.0
    at_knee = strength * (REFERENCE_CYCLES / knee_cycles) ** (1 / slope)
    with np.errstate(divide="ignore"):
        over = ranges / credit / at_knee
        return np.asarray(knee_cycles * np.where(over >= 1, over**-slope, over**-slope_beyond))


def weld_damage(ranges_MPa: ArrayLike, counts: ArrayLike, fat_MPa: float, **options: float) -> Array:
    """Damage sum over the first axis, n / N, of ranges [cycle, ...places]; counts of the same shape or [cycle].

    Options as in `weld_life`. Raises InputFault.
    """
    checks = Checks()
    n = array_of(checks, "counts", counts, least=0.0)
    ranges = np.asarray(ranges_MPa, dtype=float)
    if n.ndim == 0 or ranges.ndim == 0 or n.shape != ranges.shape[: n.ndim] or n.ndim not in (1, ranges.ndim):
        checks.add(
            "counts",
            n.shape,
            f"must be a count for each range, shape {ranges.shape} or ({len(np.atleast_1d(ranges))},)",
        )
    checks.done()
    n = n.reshape(n.shape + (1,) * (ranges.ndim - n.ndim))
    return np.asarray((n / weld_life(ranges, fat_MPa, **options)).sum(0))  # type: ignore[arg-type]


def equivalent_range_MPa(ranges_MPa: ArrayLike, counts: ArrayLike, slope: float = SLOPE) -> float:
    """The one range that does the same damage in as many cycles, at one slope: (sum n r^m / sum n)^(1/m).

    Raises InputFault.
    """
    checks = Checks()
    ranges = array_of(checks, "ranges_MPa", ranges_MPa, least=0.0)
    n = array_of(checks, "counts", counts, least=0.0)
    if ranges.shape != n.shape or n.size == 0 or not n.sum() > 0:
        checks.add("counts", n.shape, "must be a count for each range, not all zero")
    checks.positive("slope", slope)
    checks.done()
    return float((n @ ranges**slope / n.sum()) ** (1 / slope))


@dataclass(frozen=True)
class WeldLife:
    """A weld under a spectrum: its class, factor of thickness, damage in 1000 h, and hours to the damage limit.

    life_h: inf without damage. shares: part of the damage by each range, in the order given. warnings: in words.
    """

    detail: WeldDetail
    class_: WeldClass
    thickness_factor: float
    damage_per_1000_h: float
    damage_limit: float
    shares: tuple[float, ...]
    equivalent_range_MPa: float
    warnings: tuple[str, ...]

    @property
    def life_h(self) -> float:
        """Hours until the damage limit, 97.7 % survival."""
        return 1000.0 * self.damage_limit / self.damage_per_1000_h if self.damage_per_1000_h > 0 else math.inf

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        own: Provenance = IIW_CURVE if self.class_.knee_cycles == KNEE_CYCLES else self.class_.provenance
        return (
            *self.class_.figures,
            Figure("factor of thickness", self.thickness_factor, "-", "(25 mm / t)^n", THICKNESS),
            Figure("range at the knee", self.class_.knee_range_MPa * self.thickness_factor, "MPa", "N = 2e6 (FAT / range)^3", own),
            Figure("equivalent range", self.equivalent_range_MPa, "MPa", "(Σ n r³ / Σ n)^(1/3)", SUM),
            Figure("damage in 1000 h", self.damage_per_1000_h, "-", "Σ n / N", SUM),
            Figure("damage limit", self.damage_limit, "-", "", DAMAGE_LIMIT),
            Figure("life of the weld, 97.7 % survival", self.life_h, "h", "limit / damage", SUM),
        )  # fmt: skip


def assess_weld(
    detail: WeldDetail, ranges_MPa: ArrayLike, counts_per_1000_h: ArrayLike, *, damage_limit: float = 0.5
) -> WeldLife:
    """Life of a weld under ranges [cycle] of the stress that its method names. Raises InputFault.

    damage_limit: 0.5 for a mean stress that varies (from memory), 1.0 otherwise.
    """
    found = weld_class(detail.detail, detail.method)
    checks = Checks()
    ranges = np.atleast_1d(array_of(checks, "ranges_MPa", ranges_MPa, least=0.0))
    counts = np.atleast_1d(array_of(checks, "counts_per_1000_h", counts_per_1000_h, least=0.0))
    if ranges.ndim != 1 or ranges.shape != counts.shape:
        checks.add("counts_per_1000_h", counts.shape, f"must be a count for each of the {len(ranges)} ranges")
    checks.number("damage_limit", damage_limit, above=0.0, most=1.0)
    checks.done()
    factor = float(thickness_factor(detail.thickness_mm, found.thickness_exponent))
    cycles = weld_life(
        ranges, found.fat_MPa, thickness_factor=factor, slope=found.slope, knee_cycles=found.knee_cycles,
        slope_beyond=found.slope_beyond,
    )  # fmt: skip
    parts = counts / cycles
    total = float(parts.sum())
    warnings = []
    if found.method == "effective notch" and detail.thickness_mm < NOTCH_LEAST_WALL_MM:
        warnings.append(f"the class of a 1 mm notch is for plates from {NOTCH_LEAST_WALL_MM:g} mm on")
    if detail.procedure_record:
        warnings.append("the treatment is on record but gets no credit here: the class is that as welded")
    return WeldLife(
        detail, found, factor, total, damage_limit, tuple(float(p) / total if total > 0 else 0.0 for p in parts),
        equivalent_range_MPa(ranges, counts, found.slope) if counts.sum() > 0 else 0.0, tuple(warnings),
    )  # fmt: skip
