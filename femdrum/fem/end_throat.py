"""What a fillet weld of an unfused rim carries through its throat: the nominal stress for its root."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..model.drum_end import DrumEnd
from ..model.material import Material
from .harmonic_element import AXIAL, BENDING, TWIST, internal_forces
from .harmonic_loads import rotation_load
from .harmonic_section import Section
from .harmonic_solve import HarmonicField

__all__ = ["throat_forces", "throat_stress"]

Array = NDArray[np.float64]


def throat_forces(field: HarmonicField, material: Material, side: str) -> Array:
    """Force [case, 3] that the disc's half of a weld puts on the shell's half: along r, around, along z, integrated over
    the turn with cos or sin of each case; N per unit of the case. side: "inside" or "outside".

    All that hangs on the shell's side of the throats is cut free, so that the root's node counts whole. Where the rim is
    fused that cut carries too, and the throat's nodes alone mean nothing.
    """
    section = field.section
    cells = np.concatenate([some for name, some in section.parts.items() if name.startswith("shell")])
    nodes = section.curves[f"throat {side}"]
    out = np.zeros((len(field.loads), 3))
    shell = Section(section.order, section.nodes, section.cells[cells], {}, {})
    for harmonic in (AXIAL, TWIST, BENDING):
        some = [i for i, load in enumerate(field.loads) if load.harmonic == harmonic]
        if some:
            force = internal_forces(section, material, harmonic, field.u[..., some], cells)
            out[some] = force[nodes].sum(0).T
    for i, load in enumerate(field.loads):
        if load.case.name == "rotation":  # the shell's own mass pulls at its nodes too
            out[i] -= rotation_load(shell, material).force[nodes].sum(0)
    return out


def throat_stress(field: HarmonicField, material: Material, end: DrumEnd, side: str) -> Array:
    """Nominal stress [case, 3] on a weld's throat: across it (tension positive), along it in the section, and around.

    Force over throat (leg over the root of 2, at its middle radius); its moment about the throat's middle is not in it.
    MPa per unit of each case; with cos, cos and sin, as the stress on surfaces.
    """
    leg = end.inside_leg_mm if side == "inside" else end.outside_leg_mm
    throat = leg / math.sqrt(2)
    radius = end.shell_inner_radius_mm - 0.25 * leg
    around = np.array([load.harmonic.around for load in field.loads])
    amplitude = throat_forces(field, material, side) / (around[:, None] * radius * throat)
    turn = 1.0 if side == "inside" else -1.0  # the disc's half lies towards +z from an inside weld's throat
    across = (-amplitude[:, 0] + turn * amplitude[:, 2]) / math.sqrt(2)
    along = (amplitude[:, 0] + turn * amplitude[:, 2]) / math.sqrt(2)
    return np.stack([across, along, amplitude[:, 1]], -1)
