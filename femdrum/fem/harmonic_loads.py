"""Loads on a body of revolution: rotation, tractions on curves of the section, and the stress of beams at its ends.

A traction or a body force has the amplitudes along r, around and along z; what stands beside cos and sin is that of
`harmonic_element`. Nodal forces are integrated over the whole turn, so that their sums are resultants.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..edge import UnitCase
from ..model.material import Material
from ..provenance import Provenance, computed
from ..units import density_t_mm3
from .elasticity import mapped_gradients
from .harmonic_element import AXIAL, BENDING, TWIST, Harmonic
from .harmonic_section import Section
from .reference import reference

__all__ = [
    "BEAM",
    "BeamSection",
    "HarmonicLoad",
    "Resultants",
    "body_load",
    "curve_load",
    "end_loads",
    "resultants",
    "rotation_load",
]

Array = NDArray[np.float64]

# a traction may hold 1/r^2: more points than the cells' own
EXTRA_POINTS = 6
BEAM: Provenance = computed(
    "Saint-Venant's exact stress of a round bar, solid or hollow, in pull, torsion, bending and flexure; checked here for "
    "equilibrium and by reproducing its displacements"
)


@dataclass(frozen=True)
class HarmonicLoad:
    """One unit load: its case, its harmonic, and its nodal forces [n, 3] along r, around, along z, over the turn."""

    case: UnitCase
    harmonic: Harmonic
    force: Array


@dataclass(frozen=True)
class Resultants:
    """What nodal forces add up to about the place z on the axis: axial N, torque N mm, and of n = 1 the force across, N,
    towards the angle 0, and the moment, N mm, that stretches a section at larger z on the side of angle 0.
    """

    axial_N: float
    torque_Nmm: float
    across_N: float
    moment_Nmm: float


def resultants(section: Section, harmonic: Harmonic, force: Array, z_mm: float = 0.0) -> Resultants:
    """Resultants of nodal forces [n, 3] of one harmonic about z."""
    r, z = section.nodes.T
    if harmonic == BENDING:
        across = force[:, 0] - force[:, 1]
        moment = float(r @ force[:, 2] - (z - z_mm) @ across)
        return Resultants(0.0, 0.0, float(across.sum()), moment)
    if harmonic == TWIST:
        return Resultants(0.0, float(r @ force[:, 1]), 0.0, 0.0)
    return Resultants(float(force[:, 2].sum()), 0.0, 0.0, 0.0)


def curve_load(section: Section, harmonic: Harmonic, curve: str, traction: Callable[[Array, Array], Array]) -> Array:
    """Nodal forces [n, 3] of a traction on a named curve, MPa; traction(r, z) gives [..., 3]."""
    p = section.order
    ref = reference((p,), p + 1 + EXTRA_POINTS)
    numbers = section.curves[curve]
    cells = numbers[np.arange((len(numbers) - 1) // p)[:, None] * p + np.arange(p + 1)]
    place = section.nodes[cells]
    at = np.einsum("qn,end->eqd", ref.values, place)
    speed = np.linalg.norm(np.einsum("qnx,end->eqd", ref.gradients, place), axis=-1)
    weight = harmonic.around * speed * ref.weights * at[..., 0]
    element = np.einsum("eq,qn,eqk->enk", weight, ref.values, traction(at[..., 0], at[..., 1]), optimize=True)
    out = np.zeros((len(section.nodes), 3))
    np.add.at(out, cells, element)
    return out


def body_load(section: Section, harmonic: Harmonic, force: Callable[[Array, Array], Array]) -> Array:
    """Nodal forces [n, 3] of a force per volume, N/mm3; force(r, z) gives [..., 3]."""
    orders = (section.order, section.order)
    ref = reference(orders)
    _, weights = mapped_gradients(section.nodes, section.cells, orders)
    at = np.einsum("qn,end->eqd", ref.values, section.nodes[section.cells])
    weight = harmonic.around * weights * at[..., 0]
    element = np.einsum("eq,qn,eqk->enk", weight, ref.values, force(at[..., 0], at[..., 1]), optimize=True)
    out = np.zeros((len(section.nodes), 3))
    np.add.at(out, section.cells, element)
    return out


def rotation_load(section: Section, material: Material) -> HarmonicLoad:
    """Centrifugal body force rho omega^2 r at omega = 1 rad/s."""
    density = density_t_mm3(material.density_kg_m3)
    case = UnitCase("rotation", "(rad/s)²", "steady speed of 1 rad/s")
    force = body_load(section, AXIAL, lambda r, z: np.stack([density * r, 0 * r, 0 * r], -1))
    return HarmonicLoad(case, AXIAL, force)


@dataclass(frozen=True)
class BeamSection:
    """A round section of a beam: bore and outer radius, mm. Its stress by Saint-Venant, see BEAM."""

    inner_mm: float
    outer_mm: float

    @property
    def area_mm2(self) -> float:
        """Area."""
        return math.pi * (self.outer_mm**2 - self.inner_mm**2)

    @property
    def inertia_mm4(self) -> float:
        """Second moment of area."""
        return 0.25 * math.pi * (self.outer_mm**4 - self.inner_mm**4)

    def pull(self, r: Array, force_N: float) -> Array:
        """Stress on a face towards +z [..., 3] (rz, tz, zz) under an axial force."""
        zero = np.zeros_like(r)
        return np.stack([zero, zero, zero + force_N / self.area_mm2], -1)

    def twist(self, r: Array, torque_Nmm: float) -> Array:
        """The same under a torque about +z."""
        return np.stack([0 * r, torque_Nmm / (2 * self.inertia_mm4) * r, 0 * r], -1)

    def bend(self, r: Array, moment_Nmm: float) -> Array:
        """The same under a moment that stretches the side of angle 0 (n = 1)."""
        return np.stack([0 * r, 0 * r, moment_Nmm / self.inertia_mm4 * r], -1)

    def flexure(self, r: Array, shear_N: float, poissons_ratio: float) -> Array:
        """Shear stress of a force of this size against the direction of angle 0, on a face towards +z (n = 1)."""
        nu = poissons_ratio
        k = shear_N * (3 + 2 * nu) / (8 * (1 + nu) * self.inertia_mm4)
        beta = (1 - 2 * nu) / (3 + 2 * nu)
        a2, b2 = self.inner_mm**2, self.outer_mm**2
        swing = a2 * b2 / r**2 if self.inner_mm else np.zeros_like(r)
        return np.stack([-k * (a2 + b2 - r**2 - swing), k * (a2 + b2 + swing - beta * r**2), 0 * r], -1)


def end_loads(
    section: Section, material: Material, *, bar: BeamSection, bar_end_mm: float, cut: BeamSection
) -> tuple[HarmonicLoad, ...]:
    """Unit loads on the bar's end (curve `bar_end`, at z = bar_end_mm), with what the cut (curve `cut`, at z = 0) answers.

    thrust and torsion: the cut is a support, no force there. bending and shear: the stress of a beam at the cut holds
    the balance, so the support that stops rigid motions carries nothing.
    """
    nu = material.poissons_ratio

    def end(harmonic: Harmonic, stress: Callable[[Array], Array]) -> Array:
        return curve_load(section, harmonic, "bar_end", lambda r, z: stress(r))

    def at_cut(stress: Callable[[Array], Array]) -> Array:
        return curve_load(section, BENDING, "cut", lambda r, z: -stress(r))

    bending = end(BENDING, lambda r: bar.bend(r, 1.0)) + at_cut(lambda r: cut.bend(r, 1.0))
    shear = end(BENDING, lambda r: bar.flexure(r, 1.0, nu)) + at_cut(
        lambda r: cut.flexure(r, 1.0, nu) + cut.bend(r, bar_end_mm)
    )
    return (
        HarmonicLoad(
            UnitCase("thrust", "N", "axial force of 1 N on the stub, pulling outward"),
            AXIAL,
            end(AXIAL, lambda r: bar.pull(r, 1.0)),
        ),
        HarmonicLoad(
            UnitCase("torsion", "N·mm", "torque of 1 N·mm about the axis, pointing outward, through the stub"),
            TWIST,
            end(TWIST, lambda r: bar.twist(r, 1.0)),
        ),
        HarmonicLoad(
            UnitCase("bending", "N·mm", "constant moment of 1 N·mm on the stub that stretches its side of angle 0"),
            BENDING,
            bending,
        ),
        HarmonicLoad(
            UnitCase("shear", "N", "force of 1 N across the stub at the bearing, towards the angle of 180 degrees"),
            BENDING,
            shear,
        ),
    )
