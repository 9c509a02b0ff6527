"""Stress along a slot's edge, per unit load case: the one thing all later steps read.

Components add linearly; principal stresses are taken after adding, never before.

Frame at each place: 1 runs along the edge (counter-clockwise seen from outside), 2 lies in the surface
across the edge (through the wall, or away from the edge on the outer surface and the bore), and the
surface's normal is the third. Tension positive, MPa; pressure on the surface positive when it pushes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .quantity import Quantity, Verdict

__all__ = ["EdgeStress", "Peaks", "Spot", "SurfaceStress", "UnitCase", "even_gaps", "principal"]

Array = NDArray[np.float64]

# Band of a peak = band_factor x root mean square change between the last two meshes where the stress is above
# NEAR of the peak. Such a change can be small by chance, so a share EARLIER of the step before counts at least;
# or large by chance, so in the plane WHOLE times the change along the whole edge counts at most. A floor stands
# for what all meshes share (the peak between samples).
NEAR = 0.9
EARLIER = 0.2
WHOLE = 1.5
BAND_FLOOR = 2e-5
# samples through the wall, farther apart on one side of the largest by more than this, tell no top between them
UNEVEN = 2.0
# Where a pressed wall meets a free surface at an angle that is not square, the stress in the rim itself depends on the
# side that it is approached from, by up to RIM_SHARE of pressure times the sine of what misses the square, within
# RIM_ZONE of the wall; the share is from random rings under linear pressure, orders 3 to 6.
RIM_ZONE = 0.1
RIM_SHARE = 0.5


@dataclass(frozen=True)
class UnitCase:
    """One unit load: its name, the unit of its factor, and what `factor = 1` means in words.

    doubt: factor on its band, above 1 for loads that bend more than the cells do.
    """

    name: str
    factor_unit: str
    definition: str
    doubt: float = 1.0


@dataclass(frozen=True)
class Spot:
    """Where on the edge: indices and place. x_mm, y_mm as on the unrolled drum, depth_mm from outside."""

    slot: int
    s_index: int
    d_index: int
    s_mm: float
    x_mm: float
    y_mm: float
    depth_mm: float


@dataclass(frozen=True)
class Peaks:
    """Largest tension and largest compression with their places; `peak` is the larger in magnitude, signed."""

    tension: Quantity
    compression: Quantity
    tension_at: Spot | None
    compression_at: Spot | None

    @property
    def _tension_governs(self) -> bool:
        # equal ends (pure shear) differ by rounding only: tension then stands for both
        return abs(self.tension.value or 0.0) >= (1 - 1e-6) * abs(self.compression.value or 0.0)

    @property
    def peak(self) -> Quantity:
        """The principal stress of largest magnitude, signed."""
        return self.tension if self._tension_governs else self.compression

    @property
    def at(self) -> Spot | None:
        """Place of `peak`."""
        return self.tension_at if self._tension_governs else self.compression_at


def principal(stress: Array) -> tuple[Array, Array]:
    """Larger and smaller principal stress in the surface; stress [..., 3] = along, across, shear."""
    mean = 0.5 * (stress[..., 0] + stress[..., 1])
    half = np.hypot(0.5 * (stress[..., 0] - stress[..., 1]), stress[..., 2])
    return mean + half, mean - half


def even_gaps(before: ArrayLike, after: ArrayLike) -> Any:
    """True where a parabola may go through a sample and its neighbours at these distances.

    Not at a rim, which belongs to the wall and to the surface beside it (distance 0), and not from a thin layer of cells to a
    thick one, where the near slope would be carried far.
    """
    near, far = np.minimum(before, after), np.maximum(before, after)
    return (near > 0.0) & (far <= UNEVEN * near)


def _rise(fall_left: float, fall_right: float, left: float, right: float) -> float:
    """How far the top of the parabola through three points lies above the middle one, the highest of them."""
    bend = (fall_left / left + fall_right / right) / (left + right)
    slope = (fall_left / left * right - fall_right / right * left) / (left + right)
    return float(0.25 * slope**2 / bend) if bend > 0 else 0.0


def _mean_square(values: Array) -> float:
    return math.sqrt(float(np.mean(values**2)))


@dataclass(frozen=True)
class SurfaceStress:
    """Stress of one or more combined states on the slot's edge. Arrays as in EdgeStress, first axis the state."""

    s_mm: Array
    depth_mm: Array
    offset_mm: Array
    place_mm: Array
    stress: Array  # [state, slot, s, d, 3]
    step: Array
    pressure: Array  # [state, slot, s, d]
    earlier: Array
    least_band: Array  # [state]
    band_factor: float = 1.0
    rim_slope: float = 0.0

    def principal(self) -> tuple[Array, Array]:
        """Larger and smaller in-surface principal stress [state, slot, s, d]."""
        return principal(self.stress)

    def peaks(self, state: int = 0, asked: float | None = None, *, mesh_only: bool = False) -> Peaks:
        """Largest tension and compression of a state, each with its band.

        asked: wanted relative band of the peak; the verdict is `settled` where it is reached. mesh_only: a band of what
        a finer mesh can mend, without the doubt in pressed rims.
        A surface under pressure has -pressure as its third principal stress (shear on it is not counted there).
        """
        high, low = principal(self.stress[state])
        coarse = self.stress[state] - self.step[state]
        coarse_high, coarse_low = principal(coarse)
        coarser_high, coarser_low = principal(coarse - self.earlier[state])
        third = -self.pressure[state]
        high, low = np.maximum(high, third), np.minimum(low, third)
        changes_high = high - np.maximum(coarse_high, third), coarse_high - coarser_high
        changes_low = low - np.minimum(coarse_low, third), coarse_low - coarser_low
        # one measure for both ends, so that a small compression does not get a band below the noise of the field
        scale = max(float(np.max(np.abs(high))), float(np.max(np.abs(low))))
        least = float(self.least_band[state])
        t_value, t_band, t_at = self._extreme(high, changes_high, scale, least)
        c_value, c_band, c_at = self._extreme(-low, changes_low, scale, least)
        if not mesh_only:
            t_band, c_band = t_band + self.rim_doubt(state, t_at), c_band + self.rim_doubt(state, c_at)
        t_value, c_value = max(t_value, 0.0), min(-c_value, 0.0)
        peak, band = max((t_value, t_band), (-c_value, c_band))
        settled = asked is None or band <= asked * peak
        verdict = Verdict.SETTLED if settled else Verdict.NOT_SETTLED
        return Peaks(
            Quantity(t_value, "MPa", t_band, verdict, "largest principal tension on the slot's edge and near surfaces"),
            Quantity(
                c_value, "MPa", c_band, verdict, "largest principal compression on the slot's edge and near surfaces"
            ),
            t_at,
            c_at,
        )

    def _extreme(
        self, fine: Array, changes: tuple[Array, Array], scale: float, least: float
    ) -> tuple[float, float, Spot]:
        slot, i, d = (int(k) for k in np.unravel_index(int(np.argmax(fine)), fine.shape))
        value = self._between(fine[slot, :, d], i) + self._between_depths(fine[slot, i], d)
        near = fine >= fine[slot, i, d] - (1.0 - NEAR) * max(abs(value), 1e-3 * scale)
        last, before = (_mean_square(change[near]) for change in changes)
        change = max(last, EARLIER * before)
        if self.depth_mm.size == 1:
            band = self.band_factor * min(change, WHOLE * _mean_square(changes[0]))
        else:
            band = max(self.band_factor * change, least * scale)
        band += BAND_FLOOR * scale
        return value, band, self.spot(slot, i, d)

    def rim_doubt(self, state: int, at: Spot) -> float:
        """What a peak in the rim of a pressed wall is uncertain by, MPa."""
        wall = self.depth_mm[self.offset_mm == 0.0]
        to_rim = min(at.depth_mm - wall.min(), wall.max() - at.depth_mm)
        if not self.rim_slope or to_rim > RIM_ZONE * np.ptp(wall):
            return 0.0
        # nodes of the rim belong to the surface beside it too, which is not pressed
        line = np.abs(self.pressure[state, at.slot, at.s_index])
        near = np.abs(self.depth_mm - at.depth_mm) <= RIM_ZONE * np.ptp(wall)
        return RIM_SHARE * self.rim_slope * float(line[near].max())

    def _between_depths(self, line: Array, d: int) -> float:
        """What the parabola through the largest sample and its neighbours through the wall rises above it."""
        if not 0 < d < line.size - 1 or np.any(self.offset_mm[d - 1 : d + 2] != 0.0):
            return 0.0
        before, after = self.depth_mm[d] - self.depth_mm[d - 1], self.depth_mm[d + 1] - self.depth_mm[d]
        if not even_gaps(before, after):
            return 0.0
        return _rise(line[d] - line[d - 1], line[d] - line[d + 1], before, after)

    def _between(self, line: Array, i: int) -> float:
        """Top of the parabola through the largest sample and its neighbours along the closed edge."""
        n = line.size
        if n < 3:
            return float(line[i])
        length = self.s_mm[-1] + (self.s_mm[-1] - self.s_mm[-2])
        left = (self.s_mm[i] - self.s_mm[i - 1]) % length
        right = (self.s_mm[(i + 1) % n] - self.s_mm[i]) % length
        return float(line[i]) + _rise(line[i] - line[i - 1], line[i] - line[(i + 1) % n], left, right)

    def spot(self, slot: int, s: int, d: int) -> Spot:
        """The place with these indices."""
        x, y, depth = (float(v) for v in self.place_mm[s, d])
        return Spot(slot, s, d, float(self.s_mm[s]), x, y, depth)


@dataclass(frozen=True)
class EdgeStress:
    """Stress per unit of each case on the edge of the part's slots.

    s_mm [s]: arc length along the edge, counter-clockwise seen from outside, 0 at +x; closed (last != first).
    depth_mm [d]: 0 at the outer surface, last at the bore; one entry in the plane.
    offset_mm [d]: 0 on the slot's wall; on the outer surface and the bore the distance from the rim.
    place_mm [s, d, 3]: x around, y along the axis, depth, as on the unrolled drum. area_mm2 [s, d].
    stress [case, slot, s, d, 3]: along the edge, across it in the surface, shear.
    step: the same, finer minus coarser mesh, signed, times the case's doubt; zero for exact solutions.
    pressure [case, slot, s, d]: given pressure on the surface.
    earlier: the step before that, likewise; zero where there was none.
    band_factor: what the mesh ladder found true errors to be, at most, over the change of the last step.
    rim_slope: sine of the angle by which wall and surface miss the square where they meet.
    least_band: no band of a solid is below this share of its peak, times the doubt of its cases; zero for exact solutions.
    """

    cases: tuple[UnitCase, ...]
    s_mm: Array
    depth_mm: Array
    offset_mm: Array
    place_mm: Array
    area_mm2: Array
    stress: Array
    step: Array
    pressure: Array
    earlier: Array | None = None
    band_factor: float = 1.0
    rim_slope: float = 0.0
    least_band: float = 0.0

    def __post_init__(self) -> None:
        if self.earlier is None:
            object.__setattr__(self, "earlier", np.zeros_like(self.step))
        shape = (len(self.cases), self.stress.shape[1], self.s_mm.size, self.depth_mm.size)
        expected = {
            "stress": (*shape, 3),
            "step": (*shape, 3),
            "earlier": (*shape, 3),
            "pressure": shape,
            "place_mm": (*shape[2:], 3),
            "area_mm2": shape[2:],
            "offset_mm": shape[3:],
        }
        for name, wanted in expected.items():
            got = getattr(self, name).shape
            if got != wanted:
                raise ValueError(f"EdgeStress.{name} has shape {got}, expected {wanted}")

    def case_index(self, name: str) -> int:
        """Position of the unit case with this name."""
        for i, case in enumerate(self.cases):
            if case.name == name:
                return i
        known = ", ".join(c.name for c in self.cases)
        raise KeyError(f"no unit case {name!r}; known: {known}")

    def combine(self, factors: ArrayLike) -> SurfaceStress:
        """Components of states = factors [state, case] times unit cases, added before principals are taken."""
        f = np.atleast_2d(np.asarray(factors, dtype=float))
        if f.shape[1] != len(self.cases):
            raise ValueError(f"factors have {f.shape[1]} columns for {len(self.cases)} unit cases")
        return SurfaceStress(
            self.s_mm,
            self.depth_mm,
            self.offset_mm,
            self.place_mm,
            np.tensordot(f, self.stress, 1),
            np.tensordot(f, self.step, 1),
            np.tensordot(f, self.pressure, 1),
            np.tensordot(f, self.earlier, 1),  # type: ignore[arg-type]
            self.least_band * self.doubts(f),
            self.band_factor,
            self.rim_slope,
        )

    @cached_property
    def case_sizes(self) -> Array:
        """Largest stress component of each unit case [case]."""
        return np.asarray(np.abs(self.stress).max((1, 2, 3, 4)))

    def doubts(self, factors: Array) -> Array:
        """Mean doubt of states' unit cases, by how much they put in [state]."""
        share = np.abs(factors) * self.case_sizes
        doubt = np.array([case.doubt for case in self.cases])
        total = share.sum(1)
        return np.where(total > 0, share @ doubt / np.where(total > 0, total, 1.0), 1.0)

    def with_step_from(
        self, coarser: EdgeStress, band_factor: float, least_band: float = 0.0, earlier: float = 1.0
    ) -> EdgeStress:
        """The same with `step` = this stress minus the coarser mesh's at the same places, times each case's doubt.

        earlier: how much the step before that counts.
        """
        doubt = np.array([case.doubt for case in self.cases])[:, None, None, None, None]
        step = doubt * (self.stress - coarser.stress)
        return replace(self, step=step, earlier=earlier * coarser.step, band_factor=band_factor, least_band=least_band)
