"""Static proof before any life: net section, plastic limit, and where the elastic stress passes yield."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..handbook.closed_forms import ring_average
from ..model.material import Material
from ..model.ring import Ring
from ..strength.plastic_ring import plastic_limit
from ..strength.slotted_shell import SlottedShell
from ..strength.static_proof import SectionForces, net_section
from ..units import density_t_mm3
from .life_result import StaticRow

__all__ = ["NO_PROOF", "static_rows"]

Array = NDArray[np.float64]

NO_PROOF = "static proof of the net section: it is made for rings"
LOCAL = (
    "what presses on the flanks acts on the net section only through the pull that it puts on the ring; the pressing itself is "
    "judged by the local stress"
)


def static_rows(
    ring: Ring, material: Material, names: tuple[str, ...], vectors: Mapping[str, Array], peaks: Mapping[str, float],
    load_factor: float,
) -> tuple[tuple[StaticRow, ...], tuple[Figure, ...], tuple[str, ...]]:  # fmt: skip
    """A row for each condition, the figures of the worst, and notes.

    names: of the unit cases; vectors: condition -> factors [3, case]; peaks: condition -> elastic peak, MPa, signed.
    """
    shell = _shell(ring)
    yield_MPa = float(material.yield_MPa or 0.0)
    rows: list[StaticRow] = []
    figures: list[tuple[float, tuple[Figure, ...]]] = []
    told: tuple[str, ...] = ()
    for name, turning in vectors.items():
        forces, pull = _forces(ring, material, names, load_factor * turning)
        net = net_section(shell, forces, yield_MPa=yield_MPa, name=name)
        peak = load_factor * peaks[name]
        share = float(net.utilisation)
        local = abs(peak) > yield_MPa
        limit = None
        if pull or any(float(np.max(np.abs(force))) for force in forces.arrays()):
            limit = plastic_limit(
                shell, forces, yield_MPa=yield_MPa, slot_radial_N=pull,
                first_yield=yield_MPa / abs(peak) if peak else None, name=name,
            )  # fmt: skip
            told = limit.notes
        bounded = limit is not None and math.isfinite(limit.upper)
        words = "; ".join((*net.warnings, *(limit.warnings if limit else ()))) or (
            "the net section stays elastic" + (", the corner yields locally" if local else " and so does every corner")
        )
        rows.append(
            StaticRow(name, share, limit.lower if limit and bounded else None, limit.upper if limit and bounded else None,
                      limit.mode if limit and bounded else "nothing loads the section", peak, local, words)
        )  # fmt: skip
        figures.append((share, (*net.figures, *(limit.figures if limit else ()))))
    worst = max(figures, key=lambda f: f[0])[1] if figures else ()
    return tuple(rows), worst, (LOCAL, *told, *net.notes) if rows else ()


def _shell(ring: Ring) -> SlottedShell:
    cutout = ring.cutout
    return SlottedShell(
        outer_radius_mm=ring.outer_radius_mm,
        wall_mm=ring.wall_mm,
        pitch_mm=ring.pitch_mm,
        slots_around=ring.slots_around,
        slot_around_mm=2 * cutout.half_x_mm,
        slot_axial_mm=2 * cutout.half_y_mm,
        rows=ring.rows,
        row_angle_deg=ring.row_angle_deg,
        slot_corner_radius_mm=min(cutout.least_radius_mm, cutout.half_x_mm, cutout.half_y_mm),
    )


def _forces(ring: Ring, material: Material, names: tuple[str, ...], turning: Array) -> tuple[SectionForces, float]:
    """Section forces at their worst angle, and the pull outward on each slot, N."""

    def most(case: str) -> float:
        if case not in names:
            return 0.0
        a, b, c = (float(v) for v in turning[:, names.index(case)])
        return math.copysign(abs(a) + math.hypot(b, c), a if a else 1.0)

    area = math.pi * (ring.outer_radius_mm**2 - ring.inner_radius_mm**2)
    speed = math.sqrt(max(most("rotation"), 0.0))
    density = density_t_mm3(material.density_kg_m3)
    hoop = ring_average(
        inner_mm=ring.inner_radius_mm, outer_mm=ring.outer_radius_mm, density_t_mm3=density, omega_rad_s=speed
    )
    struts = [n for n in names if n.partition(":")[0] == "strut"]
    pull = most("hung") + sum(most(n) for n in struts)
    forces = SectionForces(
        axial_N=most("axial") * area,
        bending_Nmm=math.hypot(most("bending_x"), most("bending_y")),
        torque_Nmm=most("torsion"),
        transverse_N=math.hypot(most("transverse_x"), most("transverse_y")),
        hoop_N=hoop * ring.wall_mm * ring.pitch_mm,
        pressure_MPa=most("internal_pressure"),
    )
    return forces, pull
