"""Static proof of the net section: nominal stresses on what the slots leave, against yield.

Two cuts. Around: a circumferential cut through a row of slots; axial force, bending, torsion and transverse force pass
through the ligaments between the slots. Along: an axial cut through the slots; hoop force passes through the bridges
from row to row, and torsion too, by its complementary shear: the longer the slots against the pitch, the more.
Tension positive; N, mm, MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure, stated
from ..model.check import Checks
from ..provenance import Provenance, computed, memory
from .slotted_shell import SlottedShell

__all__ = [
    "BURST_SHARE",
    "NetSection",
    "SectionForces",
    "burst_speed_rpm",
    "net_section",
    "von_mises_MPa",
    "weak_bending_fraction",
]

Array = NDArray[np.float64]

NET: Provenance = computed("equilibrium, plane sections, stress spread evenly over what the slots leave")
MISES: Provenance = computed(
    "von Mises; the nominal stress across the cut, taken as present or absent, whichever is worse"
)
# share of the tensile strength that the average hoop stress reaches at burst; 0.75 to 0.95 are quoted
BURST_SHARE = 0.85
BURST: Provenance = memory("average hoop stress at burst is 0.75 to 0.95 of the tensile strength of discs; 0.85 taken")
AROUND_POINTS = 361


@dataclass(frozen=True, kw_only=True)
class SectionForces:
    """What a section of the shell carries; numbers, or arrays of one shape (conditions).

    axial_N: tension positive. bending_Nmm, transverse_N: in the same plane. torque_Nmm. hoop_N: pull around the drum of
    one pitch, from rotation (average hoop stress of the plain shell x wall x pitch, and what hangs in the slots).
    pressure_MPa: in the bore.
    """

    axial_N: ArrayLike = 0.0
    bending_Nmm: ArrayLike = 0.0
    torque_Nmm: ArrayLike = 0.0
    transverse_N: ArrayLike = 0.0
    hoop_N: ArrayLike = 0.0
    pressure_MPa: ArrayLike = 0.0

    def arrays(self) -> tuple[Array, ...]:
        """All six, broadcast to one shape. Raises InputFault."""
        names = ("axial_N", "bending_Nmm", "torque_Nmm", "transverse_N", "hoop_N", "pressure_MPa")
        checks, made = Checks(), []
        for name in names:
            try:
                value = np.asarray(getattr(self, name), dtype=float)
            except (TypeError, ValueError):
                value = np.array(math.nan)
            if not np.all(np.isfinite(value)):
                checks.add(name, getattr(self, name), "must be finite", "0 where there is none")
            made.append(value)
        checks.done()
        try:
            return tuple(np.broadcast_arrays(*made))
        except ValueError:
            shapes = ", ".join(f"{n} {v.shape}" for n, v in zip(names, made, strict=True) if v.ndim)
            checks.add("forces", shapes, "must have one shape, one entry a condition")
            checks.done()
            raise


@dataclass(frozen=True)
class NetSection:
    """Nominal net stresses, MPa, each of the shape of the forces, and their proof against yield.

    axial, bending (at the outer surface, on the pulled side), torsion and transverse (largest shear) on the cut around;
    hoop and cross (complementary shear of torsion and transverse force) on the cut along. mises_around, mises_along:
    largest von Mises stress of each cut. utilisation: the larger over the yield strength. bending_fraction: net over
    gross section modulus in the weakest direction; below the other fraction with one or two slots around only.
    """

    axial_MPa: Array
    bending_MPa: Array
    torsion_MPa: Array
    transverse_MPa: Array
    hoop_MPa: Array
    cross_MPa: Array
    mises_around_MPa: Array
    mises_along_MPa: Array
    utilisation: Array
    fraction_around: float
    fraction_along: float
    bending_fraction: float
    yield_MPa: float
    name: str
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def yields(self) -> bool:
        """Whether a net section yields in any of the conditions."""
        return bool(np.max(self.utilisation) > 1.0)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Of the condition that uses most of the yield strength."""
        worst = np.unravel_index(int(np.argmax(self.utilisation)), self.utilisation.shape)
        where = f" ({self.name})" if self.name else ""
        stresses = (
            ("axial stress, net", self.axial_MPa, "F / (A (1 - N b / (2 pi R)))"),
            ("bending stress, net", self.bending_MPa, "M r / (I f), f the weakest direction's net share"),
            ("torsion shear, net", self.torsion_MPa, "T r / (Ip (1 - N b / (2 pi R)))"),
            ("transverse shear, net", self.transverse_MPa, "2 V / (A (1 - N b / (2 pi R)))"),
            ("hoop stress, net", self.hoop_MPa, "(H / (t p) + p_i r_i / t) / (1 - L / p)"),
            ("shear on the axial cut, net", self.cross_MPa, "(T r / Ip + 2 V / A) / (1 - L / p)"),
        )
        return (
            Figure("net share of the cut around", self.fraction_around, "-", "1 - N b / (2 pi R)", NET),
            Figure("net share of the cut along", self.fraction_along, "-", "1 - L / p, each row for itself", NET),
            *(Figure(what + where, float(v[worst]), "MPa", formula, NET) for what, v, formula in stresses),
            Figure("von Mises, cut around" + where, float(self.mises_around_MPa[worst]), "MPa", "of the net stresses", MISES),
            Figure("von Mises, cut along" + where, float(self.mises_along_MPa[worst]), "MPa", "of the net stresses", MISES),
            Figure("share of yield, net section" + where, float(self.utilisation[worst]), "-", "von Mises / yield", MISES),
        )  # fmt: skip


def von_mises_MPa(x: ArrayLike, y: ArrayLike, shear: ArrayLike) -> Array:
    """Von Mises stress of two normal stresses and their shear, MPa."""
    a, b, t = np.asarray(x, dtype=float), np.asarray(y, dtype=float), np.asarray(shear, dtype=float)
    return np.asarray(np.sqrt(a * a - a * b + b * b + 3 * t * t))


def weak_bending_fraction(shell: SlottedShell) -> float:
    """Net over gross section modulus in the weakest direction of a row of slots, thin wall.

    Three and more slots evenly around leave the same in every direction, 1 - N b / (2 pi R). One or two leave a
    section that is weaker one way, and one moves its axis: the largest stress over all directions of the moment counts.
    """
    beta, n = shell.slot_angle_rad, shell.slots_around
    if n not in (1, 2):
        return shell.fraction_around
    # second moments across the slots' middles and beside them, of a ring of radius and wall 1
    across, beside = math.pi - 0.5 * n * (beta + math.sin(beta)), math.pi - 0.5 * n * (beta - math.sin(beta))
    shift = 0.0
    if n == 1:
        area, first = 2 * math.pi - beta, 2 * math.sin(0.5 * beta)
        shift, across = first / area, across - first**2 / area
    at = np.linspace(0.5 * beta, math.pi - (0.5 * beta if n == 2 else 0.0), AROUND_POINTS)
    most = np.max(np.hypot((np.cos(at) + shift) / across, np.sin(at) / beside))
    return float(1 / (math.pi * most))


def net_section(shell: SlottedShell, forces: SectionForces, *, yield_MPa: float, name: str = "") -> NetSection:
    """Nominal net stresses of a slotted shell and their share of yield. Raises InputFault.

    Bending turns against the slots, so its weakest direction counts; bending and transverse force lie in one plane.
    """
    checks = Checks()
    checks.positive("yield_MPa", yield_MPa, "the static proof needs the yield strength: give it, or a grade and wall")
    checks.done()
    axial_N, bending_Nmm, torque_Nmm, transverse_N, hoop_N, pressure = forces.arrays()
    area, inertia, outer = shell.gross_area_mm2, shell.gross_inertia_mm4, shell.outer_radius_mm
    around, along, weak = shell.fraction_around, shell.fraction_along, weak_bending_fraction(shell)
    axial = axial_N / area
    bending = np.abs(bending_Nmm) * outer / inertia
    torsion = torque_Nmm * outer / (2 * inertia)
    shear = 2 * np.abs(transverse_N) / area
    hoop = hoop_N / (shell.wall_mm * shell.pitch_mm) + pressure * shell.inner_radius_mm / shell.wall_mm
    phi = np.linspace(0.0, math.pi, AROUND_POINTS)
    cos, sin = np.cos(phi), np.sin(phi)

    def far(values: Array) -> Array:
        return np.asarray(values, dtype=float)[..., None]

    tau = np.abs(far(torsion)) + far(shear) * sin
    across_around = far(axial) / around + far(bending) / weak * cos
    across_along = far(hoop) / along
    mises_around = np.maximum(
        von_mises_MPa(across_around, 0.0, tau / around), von_mises_MPa(across_around, far(hoop), tau / around)
    ).max(axis=-1)
    gross = far(axial) + far(bending) * cos
    mises_along = np.maximum(
        von_mises_MPa(across_along, 0.0, tau / along), von_mises_MPa(across_along, gross, tau / along)
    ).max(axis=-1)
    utilisation = np.maximum(mises_around, mises_along) / yield_MPa
    notes, warnings = _words(shell, weak, utilisation, name)
    return NetSection(
        np.asarray(axial / around), bending / weak, torsion / around, shear / around, hoop / along,
        (np.abs(torsion) + shear) / along, mises_around, mises_along, np.asarray(utilisation), around, along, weak,
        yield_MPa, name, notes, warnings,
    )  # fmt: skip


def _words(shell: SlottedShell, weak: float, utilisation: Array, name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    notes = ["slots count as empty: what is clamped in them carries nothing"]
    if shell.slots_around and shell.rows != "aligned":
        notes.append(f"{shell.rows} rows: hoop force counts each row for itself, which is safe")
    if shell.slots_around in (1, 2):
        notes.append(f"{shell.slots_around} slots around: bending at {weak:.3g} of the plain shell, weakest direction")
    warnings = []
    if np.max(utilisation) > 1:
        where = f" ({name})" if name else ""
        warnings.append(f"the net section yields{where}: {float(np.max(utilisation)):.3g} of the yield strength")
    return tuple(notes), tuple(warnings)


@stated("speed at which the average hoop stress bursts the shell", "rpm", "n_b = n sqrt(0.85 Rm / sigma_avg)", BURST)
def burst_speed_rpm(
    *, speed_rpm: float, average_hoop_MPa: float, ultimate_MPa: float, share: float = BURST_SHARE
) -> float:
    """Burst speed by the average hoop stress at a known speed, rpm; with slots give the net average.

    A sound and ductile shell. Real drums are lost by fracture from a crack at a slot, far below. Raises InputFault.
    """
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm)
    checks.positive("average_hoop_MPa", average_hoop_MPa, "hoop stress averaged over the net axial cut at that speed")
    checks.positive("ultimate_MPa", ultimate_MPa, "tensile strength: give it, or a grade and wall")
    checks.number("share", share, above=0.0, most=1.0)
    checks.done()
    return speed_rpm * math.sqrt(share * ultimate_MPa / average_hoop_MPa)
