"""Stress intensity K of a crack in any stress along its path: K(a) = int s(x) m(x, a) dx, m from the exact weights.

K is linear in the stress, so it is kept per unit load case and added with signs, like the stress itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..model.crack_input import CRACK_SHAPES
from ..provenance import Provenance, common_practice, computed
from .growth_law import N_MM15_PER_MPA_SQRT_M
from .stress_intensity import CORNER_AT_HOLE, STRIP, SURFACE, corner_factors, strip_factor, surface_factors
from .weight_rules import LONGEST, circle_rule, edge_rule, half_plane_opening

__all__ = ["EDGE_WEIGHTS", "NOTCH_WEIGHTS", "SLOT_WEIGHTS", "VOIDS", "StressPath", "weight_function"]

Array = NDArray[np.float64]

EDGE_WEIGHTS = computed(
    "weights of an edge crack in a half plane from its singular integral equation, solved here; powers of x agree with the "
    "exact solution by factors of Mellin transforms within 1e-7"
)
NOTCH_WEIGHTS = computed(
    "weights of a radial crack at a circular hole from its singular integral equation with the hole's exact image, solved "
    "here; long cracks agree with a straight crack that includes the hole"
)
SLOT_WEIGHTS = computed(
    "weights of a crack at a hole that grows with it, radius r + 1.76 a: exact for short cracks; for cracks far longer than the "
    "corner radius within 0.5 % of the exact solution for a sharp square corner, uniform stress and the corner's own; between "
    "the two not proven"
)
CIRCLE_WEIGHTS = computed(
    "factor of the published solution for uniform stress, times the stress weighted as on a circular crack inside a body; "
    "against the published corner crack at a hole 1 to 4 % high up to a third of the radius"
)
SURFACE_WEIGHTS = computed(
    "factor of the published solution for uniform stress, times the stress weighted as for an edge crack at the deepest "
    "point, as on a circular crack at the surface; against bending factors recalled from memory within 3 % of the uniform "
    "value for a fifth of the thickness"
)
THROUGH = common_practice("a corner or surface crack that outgrows its formula counts as a through crack from there on")

LEAST_SAMPLES = 4
VOIDS = ("slot", "hole")
# radius of the hole that stands for a slot, added for each mm of crack: a slot goes on behind its corner
SLOT_GROWTH = 1.76


def weight_function(x_mm: ArrayLike, depth_mm: float) -> Array:
    """m(x, a) of an edge crack in a half plane, 1 / sqrt(mm): K of a unit pair of forces at depth x, per unit of width.

    From the opening under uniform stress, which is self-similar: m = 2 (V + xi V_slope) / (K sqrt(a)). Infinite at the tip.
    """
    xi = np.asarray(x_mm, float) / depth_mm
    return np.asarray(half_plane_opening(xi) / math.sqrt(depth_mm))


@dataclass(frozen=True, eq=False)
class StressPath:
    """Stress along the path of a crack in the part without crack, normal to the crack's faces.

    x_mm [n]: depth from the slot's edge, 0 first. stress_MPa [case, n] (or [n], one case): per unit of each case, tension
    positive. shape, aspect: of the crack, as in CrackInput. wall_mm: thickness of the shell (corner and surface need it).
    notch_radius_mm: radius of the edge where the crack starts; None takes a straight edge, which is on the safe side
    (beside a hole too high by 7 % at a tenth of the radius, 24 % at half of it, 35 % at the radius). void: what lies behind
    that radius, "slot" (a corner or an end of something larger; on the safe side for a hole) or "hole". A slot's corner
    taken as a hole is too low, by 3 % at half of the radius, 8 % at the radius, 30 % far beyond. cracks: 1, or 2 opposite
    ones at a hole.
    width_mm: of the ligament along the path; raises K as a strip whose ends are free to turn. Raises InputFault.
    """

    x_mm: Array
    stress_MPa: Array
    shape: str = "edge through"
    aspect: float = 1.0
    wall_mm: float | None = None
    notch_radius_mm: float | None = None
    cracks: int = 1
    width_mm: float | None = None
    void: str = "slot"
    _spline: Any = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        from scipy.interpolate import CubicSpline

        x = np.asarray(self.x_mm, dtype=float)
        stress = np.atleast_2d(np.asarray(self.stress_MPa, dtype=float))
        checks = Checks()
        if x.ndim != 1 or len(x) < LEAST_SAMPLES:
            checks.add(
                "x_mm",
                x.shape,
                f"must hold at least {LEAST_SAMPLES} depths",
                "sample the stress along the crack's path",
            )
        elif not np.all(np.isfinite(x)) or x[0] != 0 or not np.all(np.diff(x) > 0):
            checks.add("x_mm", float(x[0]), "must begin with 0 at the edge and increase")
        if stress.ndim != 2 or stress.shape[-1:] != x.shape:
            checks.add("stress_MPa", stress.shape, f"must have a value of each case at each of the {x.size} depths")
        elif not np.all(np.isfinite(stress)):
            checks.add("stress_MPa", "nan or inf", "must be finite", "a path must not meet a sharp corner")
        checks.one_of("shape", self.shape, CRACK_SHAPES)
        checks.number("aspect", self.aspect, least=0.2, most=1.0)
        if self.shape != "edge through":
            checks.positive("wall_mm", self.wall_mm, "a corner or surface crack needs the thickness of the shell")
        checks.optional("notch_radius_mm", self.notch_radius_mm)
        checks.one_of("void", self.void, VOIDS)
        if (
            checks.whole("cracks", self.cracks, 1, 2)
            and self.cracks == 2
            and (self.void != "hole" or self.notch_radius_mm is None)
        ):
            checks.add(
                "cracks",
                2,
                "must be 1 at a slot or a straight edge",
                'two opposite cracks need void = "hole" and its radius',
            )
        checks.optional("width_mm", self.width_mm)
        checks.done()
        object.__setattr__(self, "x_mm", x)
        object.__setattr__(self, "stress_MPa", stress)
        object.__setattr__(self, "_spline", CubicSpline(x, stress, axis=1))

    @property
    def length_mm(self) -> float:
        """How deep a crack may be: the path's end, inside the range of the weights and of the ligament."""
        ends = [float(self.x_mm[-1])]
        if self.notch_radius_mm is not None and self.void == "hole":
            ends.append(LONGEST * self.notch_radius_mm)
        if self.width_mm is not None:
            ends.append(0.95 * self.width_mm)
        return min(ends)

    @property
    def through_from_mm(self) -> float:
        """Depth from which a corner or surface crack counts as a through crack; 0 for one that is through from the start."""
        if self.shape == "edge through" or self.wall_mm is None:
            return 0.0
        if self.shape == "corner":  # it has come through the wall
            return self.wall_mm / self.aspect
        # it takes half of the wall, or 0.8 of the ligament
        ends = [0.25 * self.aspect * self.wall_mm]
        return min([*ends, 0.8 * self.width_mm] if self.width_mm else ends)

    def combine(self, factors: ArrayLike) -> StressPath:
        """The path with states for cases: factors [state, case]."""
        return replace(self, stress_MPa=np.atleast_2d(np.asarray(factors, dtype=float)) @ self.stress_MPa)

    def K_per_case(self, depth_mm: ArrayLike) -> Array:
        """K of each unit case at the path's tip, N/mm^1.5: [case] for one depth, [case, depth] for many.

        For a corner or surface crack the end of the front on the path; `fronts` gives both ends. Raises InputFault.
        """
        k = self.fronts(np.atleast_1d(np.asarray(depth_mm, dtype=float)))[0]
        return np.asarray(k[:, 0] if np.ndim(depth_mm) == 0 else k)

    def fronts(self, depth_mm: Array) -> Array:
        """K [end of the front, case, depth] in N/mm^1.5: one end for a through crack, two for the others.

        The second end stands on the slot's edge. Raises InputFault for a depth outside the path.
        """
        a = np.asarray(depth_mm, dtype=float)
        length = self.length_mm
        if not bool(np.all((a > 0) & (a <= length * (1 + 1e-12)))):
            worst = float(a[np.argmax(np.abs(a - 0.5 * length))])
            raise InputFault(
                Fault(
                    "depth_mm", worst, f"must be above 0 and at most {length:g}", "give the stress along a longer path"
                )
            )
        through = self._through(a)
        if self.shape == "edge through":
            return through[None]
        out = np.stack([through, through])
        young = a < self.through_from_mm
        if young.any():
            make = self._corner if self.shape == "corner" else self._surface
            out[:, :, young] = make(a[young])
        return out

    def _weighted(self, a: Array, x: Array, weights: Array) -> Array:
        """sum_i w_i s(a x_i), [case, depth]."""
        return np.asarray((self._spline(a[:, None] * x) * weights).sum(-1))

    def _through(self, a: Array) -> Array:
        if self.notch_radius_mm is None:
            rule = edge_rule(a)
        elif self.void == "hole":
            rule = edge_rule(a, self.notch_radius_mm, self.cracks)
        else:
            rule = edge_rule(a, self.notch_radius_mm + SLOT_GROWTH * a)
        k = np.sqrt(a) * self._weighted(a, *rule)
        if self.width_mm is not None:
            k = k * (strip_factor(a / self.width_mm) / strip_factor(0.0))
        return np.asarray(k)

    def _corner(self, c: Array) -> Array:
        """The path is the surface: c along it, a = aspect c down the slot's wall."""
        assert self.wall_mm is not None
        size: dict[str, Any] = {"a_mm": self.aspect * c, "c_mm": c, "wall_mm": self.wall_mm}
        root = np.sqrt(math.pi * self.aspect * c)
        ends = (("path", 0.0), ("side", 90.0))
        return np.stack(
            [corner_factors(**size, phi_deg=phi) * root * self._weighted(c, *circle_rule(end)) for end, phi in ends]
        )

    def _surface(self, a: Array) -> Array:
        """The path is the depth: a along it, c = a / aspect on the flank, in a ligament as thick as its width."""
        assert self.wall_mm is not None
        thick = self.width_mm or math.inf
        size: dict[str, Any] = {
            "a_mm": a,
            "c_mm": a / self.aspect,
            "wall_mm": thick,
            "width_mm": self.wall_mm * (1 + 1e-9),
        }
        root = np.sqrt(math.pi * a)
        x, w = edge_rule(np.ones(1))
        deep = surface_factors(**size, phi_deg=90.0) * root * self._weighted(a, x, w[0] / w[0].sum())
        side = surface_factors(**size, phi_deg=0.0) * root * self._weighted(a, *circle_rule("side"))
        return np.stack([deep, side])

    def coarseness(self, depth_mm: float) -> float:
        """Change of K when every other sample of the path is left out, over the largest K of a case."""
        if len(self.x_mm) < 2 * LEAST_SAMPLES:
            return math.inf
        last = len(self.x_mm) - 1
        keep = np.unique(np.concatenate([np.arange(0, last + 1, 2), [last]]))
        rough = replace(self, x_mm=self.x_mm[keep], stress_MPa=self.stress_MPa[:, keep])
        fine, other = self.K_per_case(depth_mm), rough.K_per_case(depth_mm)
        most = float(np.max(np.abs(fine)))
        return float(np.max(np.abs(fine - other))) / most if most > 0 else 0.0

    @property
    def provenance(self) -> Provenance:
        """How K is reckoned."""
        if self.shape == "corner":
            return CIRCLE_WEIGHTS
        if self.shape == "surface":
            return SURFACE_WEIGHTS
        if self.notch_radius_mm is None:
            return EDGE_WEIGHTS
        return NOTCH_WEIGHTS if self.void == "hole" else SLOT_WEIGHTS

    def figures_at(self, depth_mm: float) -> tuple[Figure, ...]:
        """K of one MPa along the whole path, for the table of derived numbers, with the sources that it rests on."""
        one = replace(self, stress_MPa=np.ones((1, len(self.x_mm))))
        k = one.fronts(np.array([depth_mm]))[:, 0, 0]
        unit = "MPa·√m per MPa"
        rows = [
            Figure(
                f"K of uniform stress at {depth_mm:g} mm depth",
                float(k[0]) / N_MM15_PER_MPA_SQRT_M,
                unit,
                "K = ∫ s m dx",
                self.provenance,
            )
        ]
        if self.shape != "edge through" and depth_mm < self.through_from_mm:
            source = CORNER_AT_HOLE if self.shape == "corner" else SURFACE
            rows.append(
                Figure(
                    f"the same at the {self.shape} crack's other end",
                    float(k[1]) / N_MM15_PER_MPA_SQRT_M,
                    unit,
                    "K = Y s √(π a)",
                    source,
                )
            )
            if self.through_from_mm < self.length_mm:
                rows.append(Figure("depth from which it counts as through", self.through_from_mm, "mm", "", THROUGH))
        if self.width_mm is not None:
            y = float(strip_factor(depth_mm / self.width_mm) / strip_factor(0.0))
            rows.append(Figure("rise of K by the ligament's width", y, "-", "Y(a / W) / Y(0)", STRIP))
        return tuple(rows)
