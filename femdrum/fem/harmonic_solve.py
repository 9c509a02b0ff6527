"""Displacements of a body of revolution under unit loads: one system for each harmonic that occurs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel
from ..model.material import Material
from .condensed import Condensed, condense_cells
from .harmonic_element import AXIAL, BENDING, TWIST, Harmonic, stiffness_batches
from .harmonic_loads import HarmonicLoad
from .harmonic_section import Section
from .reference import reference
from .supports import Supports
from .system import solve_condensed

__all__ = ["HarmonicField", "at_cut", "axis_supports", "rigid_motions", "solve_loads"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class HarmonicField:
    """section; loads; u [n, 3, case]: amplitudes along r, around, along z, mm per unit of each case; unknowns solved."""

    section: Section
    loads: tuple[HarmonicLoad, ...]
    u: Array
    unknowns: int
    solver: str
    residual: float


def axis_supports(section: Section, harmonic: Harmonic) -> Supports:
    """What holds at r = 0, so that the field is one of a body without a hole."""
    supports = Supports(len(section.nodes), harmonic.unknowns)
    for k in harmonic.fixed_on_axis:
        supports.fix(section.on_axis, k)
    return supports


def at_cut(section: Section, harmonic: Harmonic) -> Supports:
    """The cut (curve `cut`): a plane that stays plane under n = 0, free to grow; under n = 1 one place on its outer rim
    stops the two rigid motions, and carries nothing where the loads are in balance.
    """
    supports = axis_supports(section, harmonic)
    cut = section.curves["cut"]
    if harmonic == AXIAL:
        supports.fix(cut, 1)
    elif harmonic == TWIST:
        supports.fix(cut, 0)
    else:
        rim = cut[[int(np.argmax(section.nodes[cut, 0]))]]
        supports.fix(rim, 0)
        supports.fix(rim, 2)
    return supports


def solve_loads(
    section: Section,
    material: Material,
    loads: Sequence[HarmonicLoad],
    supports: Callable[[Section, Harmonic], Supports] = at_cut,
) -> HarmonicField:
    """Displacements of all loads. Raises SingularModel where the supports leave a rigid motion free."""
    u = np.zeros((len(section.nodes), 3, len(loads)))
    unknowns, solver, residual = 0, "", 0.0
    for harmonic in (AXIAL, TWIST, BENDING):
        some = [i for i, load in enumerate(loads) if load.harmonic == harmonic]
        if not some:
            continue
        force = harmonic.from_space(np.stack([loads[i].force for i in some], -1))
        held = supports(section, harmonic)
        _require_held(section, harmonic, held)
        solved = solve_condensed(_condensed(section, material, harmonic, force), held, force)
        u[..., some] = harmonic.to_space(solved.u)
        unknowns += solved.unknowns
        solver, residual = solved.solver, max(residual, solved.residual)
    return HarmonicField(section, tuple(loads), u, unknowns, solver, residual)


def rigid_motions(section: Section, harmonic: Harmonic) -> Array:
    """The rigid motions of a harmonic [n, 3, motion]: along the axis; about it; across it, and tilt."""
    r, z = section.nodes.T
    zero, one = np.zeros_like(r), np.ones_like(r)
    motions = {
        AXIAL.name: [(zero, zero, one)],
        TWIST.name: [(zero, r, zero)],
        BENDING.name: [(one, -one, zero), (z, -z, -r)],
    }[harmonic.name]
    return np.stack([np.stack(motion, -1) for motion in motions], -1)


def _require_held(section: Section, harmonic: Harmonic, supports: Supports) -> None:
    """A direct solver may answer without a residual where a rigid motion is free: so the supports are looked at."""
    motions = harmonic.to_unknowns(rigid_motions(section, harmonic))
    motions /= np.abs(motions).max((0, 1))
    if np.linalg.matrix_rank(motions[supports.fixed], tol=1e-6) < motions.shape[2]:
        raise SingularModel(f"a rigid motion is left free ({harmonic.name}): the supports do not hold the body")


def _condensed(section: Section, material: Material, harmonic: Harmonic, force: Array) -> Iterator[Condensed]:
    ref = reference((section.order, section.order))
    inside_first = np.concatenate([ref.interior, ref.boundary])  # parts of a matrix are then views
    inside, outside = np.split(np.arange(inside_first.size), [ref.interior.size])
    m = harmonic.unknowns
    dofs = (inside_first[:, None] * m + np.arange(m)).ravel()
    for cells, k in stiffness_batches(section, material, harmonic):
        yield condense_cells(k[:, dofs[:, None], dofs], cells[:, inside_first], outside, inside, force)
