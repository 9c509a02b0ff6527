"""Plastic limit of the drum shell: as a ring between hoop pull and slot loads, as a section, and both together.

Ideally plastic, thin wall, small displacements, von Mises. Every limit is a bracket: `lower` from equilibrium (the
static theorem), `upper` from a mechanism (the kinematic theorem). Two things keep the bracket open: below, each row is a
ring for itself and the wall is free to narrow; above, all rows of the pattern give together along straight hinges and
the wall may not narrow (2 / sqrt 3).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure, stated
from ..model.check import Checks
from ..provenance import Provenance, computed
from ..units import omega_rad_s
from .plastic_section import CONSTRAINT, MECHANISM, SAFE, SectionLimit, section_limit
from .ring_collapse import Capacity, RingCollapse, ring_collapse
from .ring_statics import PointLoad, RingLoads
from .slotted_shell import SlottedShell
from .static_proof import SectionForces

__all__ = [
    "PlasticLimit",
    "annulus_collapse_speed_rpm",
    "annulus_pressure_limit_MPa",
    "plastic_limit",
    "thin_ring_pull_limit_N",
]

Array = NDArray[np.float64]

RING: Provenance = computed("limit analysis of a thin ring, linear programme over its equilibrium states")
TOGETHER: Provenance = computed("convexity of the yield surface: safe states share the strength")
PLASTIC: Provenance = computed("limit analysis, ideally plastic material")


@dataclass(frozen=True)
class PlasticLimit:
    """Factor on all loads together at which the shell collapses: it lies from lower to upper.

    ring_lower, ring_upper, section: the two parts by themselves (inf where they carry nothing). mode: in words, by the
    least upper bound. hinges_deg: where the ring gives, from the first slot. first_yield: factor at which the elastic
    peak reaches yield, if it was given; plastic_notch_factor: lower over it.
    """

    lower: float
    upper: float
    mode: str
    ring_lower: float
    ring_upper: float
    section: SectionLimit
    hinges_deg: Array
    first_yield: float | None
    name: str
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def plastic_notch_factor(self) -> float | None:
        """How far the loads may rise between first yield at the notch and collapse, at least."""
        return None if self.first_yield is None else self.lower / self.first_yield

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        where = f" ({self.name})" if self.name else ""
        made = [
            Figure(
                "plastic limit, factor on the loads, at least" + where,
                self.lower,
                "-",
                "1 / (1/ring + 1/section)",
                TOGETHER,
            ),
            Figure("plastic limit, factor on the loads, at most" + where, self.upper, "-", self.mode, PLASTIC),
        ]
        if math.isfinite(self.ring_upper):
            made += [
                Figure("ring, at least" + where, self.ring_lower, "-", "|m| + n² <= 1, each row for itself", RING),
                Figure("ring, at most" + where, self.ring_upper, "-", "hinges through all rows, wall held", RING),
            ]
        if math.isfinite(self.section.upper):
            made += [
                Figure(
                    "section, at least" + where, self.section.lower, "-", "normal and shear stress within yield", SAFE
                ),
                Figure("section, at most" + where, self.section.upper, "-", self.section.words, MECHANISM),
            ]
        if self.plastic_notch_factor is not None:
            made.append(
                Figure(
                    "plastic notch factor, at least" + where,
                    self.plastic_notch_factor,
                    "-",
                    "collapse / first yield",
                    PLASTIC,
                )
            )
        return tuple(made)


def plastic_limit(
    shell: SlottedShell,
    forces: SectionForces,
    *,
    yield_MPa: float,
    slot_radial_N: Sequence[float] | float = 0.0,
    slot_tangential_N: Sequence[float] | float = 0.0,
    slot_couple_Nmm: Sequence[float] | float = 0.0,
    first_yield: float | None = None,
    name: str = "",
) -> PlasticLimit:
    """Bracket of the plastic limit of one condition: all loads grow together (a speed, by its square).

    forces: numbers, not arrays. slot_...: at each slot of a row, from the first on, or one number for all: pull outward,
    force forward (counterclockwise), couple on the wall (counterclockwise, looking along the axis); N and N mm. Missing
    metal of the slots is taken off the hoop pull, so empty slots oval the ring. first_yield: factor on the loads at
    which the computed elastic peak reaches yield; it is a safe bound too. Raises InputFault.
    """
    checks = Checks()
    checks.positive("yield_MPa", yield_MPa, "the plastic limit needs the yield strength")
    checks.optional("first_yield", first_yield, "yield strength over elastic peak")
    points = _points(shell, slot_radial_N, slot_tangential_N, slot_couple_Nmm, checks)
    values = forces.arrays()
    if values[0].size != 1:
        checks.add("forces", values[0].shape, "must be one condition", "call once for each")
        checks.done()
    axial, bending, torque, transverse, hoop, pressure = (float(v.reshape(-1)[0]) for v in values)
    if not any((axial, bending, torque, transverse, hoop, pressure)) and not any(any(p) for p in points):
        checks.add("forces", 0.0, "must not all be zero", "without load there is no limit to state")
    checks.done()
    section = section_limit(
        shell, yield_MPa=yield_MPa, axial_N=axial, bending_Nmm=bending, torque_Nmm=torque, transverse_N=transverse
    )
    pull = hoop + pressure * shell.inner_radius_mm * shell.pitch_mm
    alone = ring_collapse(_loads(shell, hoop, pull, points, (0.0,)), _capacity(shell, yield_MPa, (0.0,), safe=True))
    alike = all(p == points[0] for p in points)
    turned = shell.row_angles_rad(slots_alike=alike)
    joint = ring_collapse(_loads(shell, hoop, pull, points, turned), _capacity(shell, yield_MPa, turned, safe=False))
    lower = 1 / (1 / alone.lower + 1 / section.lower)
    notes = [
        "ideally plastic: no hardening, no buckling, no fracture; shear through the wall's depth is left out",
        "far from the end discs, which hold the ring round",
    ]
    if any(any(p) for p in points):
        notes.append("slot loads count in every row: with one row struck of many, the upper bound is not reached yet")
    if first_yield is not None and first_yield > lower:
        lower = first_yield
        notes.append("the lower bound is first yield of the elastic field")
    upper = min(joint.upper, section.upper)
    if lower > upper:
        notes.append("first yield lies above the upper bound: it does not belong to these loads, and is left out")
        lower, first_yield = 1 / (1 / alone.lower + 1 / section.lower), None
    mode = (
        _ring_words(joint, yields_even=pull > 0, slots=shell.slots_around)
        if joint.upper <= section.upper
        else section.words
    )
    warnings = _warnings(lower, upper, name)
    return PlasticLimit(
        lower, upper, mode, alone.lower, joint.upper, section, np.degrees(joint.hinges_rad), first_yield, name,
        tuple(notes), warnings,
    )  # fmt: skip


def _warnings(lower: float, upper: float, name: str) -> tuple[str, ...]:
    where = f" ({name})" if name else ""
    if upper < 1:
        return (f"the shell collapses{where}: at {upper:.3g} of the loads at the latest",)
    if lower < 1:
        return (
            f"collapse is not excluded{where}: the plastic limit lies from {lower:.3g} to {upper:.3g} of the loads",
        )
    return ()


def _points(
    shell: SlottedShell, radial: Sequence[float] | float, tangential: Sequence[float] | float,
    couple: Sequence[float] | float, checks: Checks,
) -> list[tuple[float, float, float]]:  # fmt: skip
    columns = []
    for field, given in (
        ("slot_radial_N", radial), ("slot_tangential_N", tangential), ("slot_couple_Nmm", couple),
    ):  # fmt: skip
        values = [float(v) for v in np.ravel(np.asarray(given, dtype=float))]
        if np.ndim(given) == 0:
            if values[0] != 0 and not shell.slots_around:
                checks.add(field, values[0], "needs slots: the shell has none", "set slots_around")
            values *= shell.slots_around
        elif len(values) != shell.slots_around:
            checks.add(field, len(values), f"must hold {shell.slots_around} numbers, one a slot of a row")
            values = [0.0] * shell.slots_around
        for value in values:
            checks.number(field, value)
        columns.append(values)
    made = list(zip(*columns, strict=True))
    return made if any(any(p) for p in made) else [(0.0, 0.0, 0.0)] * shell.slots_around


def _loads(
    shell: SlottedShell, hoop: float, pull: float, points: Sequence[tuple[float, float, float]], turned: Sequence[float]
) -> RingLoads:
    """Loads of one pitch, averaged over rows turned by these angles."""
    weight = 1 / len(turned)
    gaps, loads = [], []
    half = 0.5 * shell.slot_angle_rad
    # the pull of the metal that the slot lacks; pressure acts on what fills the slot and stays
    lacks = weight * shell.slot_axial_mm / shell.pitch_mm * (hoop / pull if pull else 0.0)
    for row in turned:
        for centre, (radial, tangential, couple) in zip(shell.slot_centres_rad(row), points, strict=True):
            if lacks:
                gaps.append((centre - half, centre + half, lacks))
            if radial or tangential or couple:
                loads.append(PointLoad(centre, weight * radial, weight * tangential, weight * couple))
    return RingLoads(shell.mid_radius_mm, pull, tuple(gaps), tuple(loads))


def _capacity(shell: SlottedShell, yield_MPa: float, turned: Sequence[float], *, safe: bool) -> Capacity:
    """Plastic hoop force and moment of one pitch at each angle, averaged over rows turned by these angles."""
    # a slot of unknown corners is as long as said at its middle, and elsewhere may be shorter
    middles = not safe and shell.slot_corner_radius_mm is None
    strength = (1.0 if safe else CONSTRAINT) * yield_MPa * shell.wall_mm

    def bears(angle_rad: Array) -> tuple[Array, Array]:
        rows = [shell.row_length_mm(angle_rad, row, middles_only=middles) for row in turned]
        pull = np.asarray(strength * (shell.pitch_mm - np.mean(rows, axis=0)))
        return pull, 0.25 * shell.wall_mm * pull

    return bears


def _ring_words(found: RingCollapse, *, yields_even: bool, slots: int) -> str:
    places = ", ".join(f"{math.degrees(a):.0f}" for a in found.hinges_rad)
    if yields_even and found.hinge_force.size and np.all(found.hinge_force > 0.95):
        return f"the ring is pulled apart at {places} degrees" if slots else "the ring is pulled apart"
    return f"the ring folds by {len(found.hinges_rad)} plastic hinges at {places} degrees from the first slot"


@stated("limit of a thin ring under two opposed pulls", "N", "4 Mp / R, Mp = yield x length x wall² / 4", PLASTIC)
def thin_ring_pull_limit_N(*, radius_mm: float, wall_mm: float, length_mm: float, yield_MPa: float) -> float:
    """Two opposed radial forces at which a thin ring without slots folds, N each: 4 Mp / R.

    Hinges under the forces and midway; both theorems meet. The hoop force, P / 2, is left out. Raises InputFault.
    """
    _need(radius_mm=radius_mm, wall_mm=wall_mm, length_mm=length_mm, yield_MPa=yield_MPa)
    return yield_MPa * length_mm * wall_mm**2 / radius_mm


@stated("collapse pressure of a long thick cylinder", "MPa", "(2 / sqrt 3) Re ln(ro / ri)", PLASTIC)
def annulus_pressure_limit_MPa(*, inner_mm: float, outer_mm: float, yield_MPa: float) -> float:
    """Bore pressure at which a long closed cylinder is fully plastic, von Mises, MPa. Raises InputFault."""
    _need(inner_mm=inner_mm, outer_mm=outer_mm, yield_MPa=yield_MPa)
    _wall(inner_mm, outer_mm)
    return CONSTRAINT * yield_MPa * math.log(outer_mm / inner_mm)


@stated(
    "speed at which the plain ring is fully plastic", "rpm", "average hoop stress = Re, plane stress, Tresca", PLASTIC
)
def annulus_collapse_speed_rpm(*, inner_mm: float, outer_mm: float, density_t_mm3: float, yield_MPa: float) -> float:
    """Speed at which a rotating ring without slots flows freely, rpm: rho omega^2 (ro^2 + ro ri + ri^2) / 3 = Re.

    Plane stress, Tresca: the radial stress lies between 0 and the hoop stress throughout. Raises InputFault.
    """
    _need(inner_mm=inner_mm, outer_mm=outer_mm, density_t_mm3=density_t_mm3, yield_MPa=yield_MPa)
    _wall(inner_mm, outer_mm)
    squares = (outer_mm**2 + outer_mm * inner_mm + inner_mm**2) / 3
    return math.sqrt(yield_MPa / density_t_mm3 / squares) / omega_rad_s(1.0)


def _wall(inner_mm: float, outer_mm: float) -> None:
    checks = Checks()
    checks.number("inner_mm", inner_mm, below=outer_mm, way_out="less than outer_mm")
    checks.done()


def _need(**values: float) -> None:
    checks = Checks()
    for field, value in values.items():
        checks.positive(field, value)
    checks.done()
