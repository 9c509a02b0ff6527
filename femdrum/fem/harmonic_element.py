"""Elements of revolution: one harmonic around the axis, quadrilaterals of any order in the meridian section.

    u_r = U cos(n t), u_z = W cos(n t), u_t = V sin(n t), t the angle around the axis

Three systems that do not see each other: AXIAL (n = 0 in the section), TWIST (n = 0, u_t = V alone) and BENDING
(n = 1). The stress of each is of the same form: normal stresses and rz go with cos, what has one t in it with sin
(n = 0: both constant). Bending is written in U, S = U + V and W: then only S and W stand over r, both are zero on the
axis, and the two rigid motions of n = 1 (across, tilt) have S = 0. Source: any text on Fourier finite elements.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from .elasticity import lame, mapped_gradients
from .harmonic_section import Section
from .reference import derivative_matrix, reference

__all__ = ["AXIAL", "BENDING", "STRAINS", "TWIST", "Harmonic", "internal_forces", "nodal_stress", "stiffness_batches"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes of one batch of strain rows
BATCH_BYTES = 24e6
# order of the strains and stresses
STRAINS = ("rr", "tt", "zz", "rz", "rt", "tz")


@dataclass(frozen=True)
class Harmonic:
    """One of the three systems. number: n. unknowns: how many a node has. around: the integral of cos^2 over a turn.

    fixed_on_axis: its unknowns that are zero where r = 0.
    """

    name: str
    number: int
    unknowns: int
    around: float
    fixed_on_axis: tuple[int, ...]

    def from_space(self, force: Array) -> Array:
        """Forces on the unknowns [n, unknowns, ...] from forces [n, 3, ...] along r, around, along z."""
        if self == BENDING:
            return np.stack([force[:, 0] - force[:, 1], force[:, 1], force[:, 2]], 1)
        return np.asarray(force[:, [0, 2]] if self == AXIAL else force[:, [1]])

    def to_space(self, q: Array) -> Array:
        """Displacements [n, 3, ...] along r, around, along z from the unknowns [n, unknowns, ...]."""
        if self == BENDING:
            return np.stack([q[:, 0], q[:, 1] - q[:, 0], q[:, 2]], 1)
        zero = np.zeros_like(q[:, 0])
        return np.stack([q[:, 0], zero, q[:, 1]], 1) if self == AXIAL else np.stack([zero, q[:, 0], zero], 1)

    def to_unknowns(self, u: Array) -> Array:
        """The unknowns [n, unknowns, ...] of displacements [n, 3, ...] along r, around, along z."""
        if self == BENDING:
            return np.stack([u[:, 0], u[:, 0] + u[:, 1], u[:, 2]], 1)
        return np.asarray(u[:, [0, 2]] if self == AXIAL else u[:, [1]])


AXIAL = Harmonic("axial", 0, 2, 2 * math.pi, (0,))
TWIST = Harmonic("twist", 0, 1, 2 * math.pi, (0,))
BENDING = Harmonic("bending", 1, 3, math.pi, (1, 2))


def _rows(harmonic: Harmonic, values: Array, slope_r: Array, slope_z: Array) -> tuple[Array, tuple[int, ...]]:
    """Strain rows [..., strain, n, unknown] from N / r, dN/dr and dN/dz [..., n], and which strains they are."""
    if harmonic == TWIST:
        out = np.stack([slope_r - values, slope_z], -2)[..., None]
        return out, (4, 5)
    full = harmonic == BENDING
    rows = np.zeros((*values.shape[:-1], 6 if full else 4, values.shape[-1], harmonic.unknowns))
    w = harmonic.unknowns - 1
    rows[..., 0, :, 0] = slope_r
    rows[..., 1, :, 1 if full else 0] = values
    rows[..., 2, :, w] = slope_z
    rows[..., 3, :, 0] = slope_z
    rows[..., 3, :, w] = slope_r
    if full:
        rows[..., 4, :, 0] = -slope_r
        rows[..., 4, :, 1] = slope_r - values
        rows[..., 5, :, 0] = -slope_z
        rows[..., 5, :, 1] = slope_z
        rows[..., 5, :, 2] = -values
    return rows, tuple(range(rows.shape[-3]))


def _batches(section: Section, harmonic: Harmonic) -> Iterator[tuple[Index, Array, tuple[int, ...], Array]]:
    """Cells [e, n], strain rows [e, q, strain, n, unknown], their kinds, and weights times volume of the turn [e, q]."""
    orders = (section.order, section.order)
    ref = reference(orders)
    q, n = ref.values.shape
    size = max(1, int(BATCH_BYTES / (8 * q * 6 * n * harmonic.unknowns)))
    for start in range(0, len(section.cells), size):
        cells = section.cells[start : start + size]
        gradients, weights = mapped_gradients(section.nodes, cells, orders)
        r = section.nodes[cells, 0] @ ref.values.T
        rows, kinds = _rows(harmonic, ref.values / r[..., None], gradients[..., 0], gradients[..., 1])
        yield cells, rows, kinds, weights * r * harmonic.around


def stiffness_batches(section: Section, material: Material, harmonic: Harmonic) -> Iterator[tuple[Index, Array]]:
    """Cells [e, n] and their matrices [e, n unknowns, n unknowns], node by node, batch by batch."""
    lam, mu = lame(material, 3)
    for cells, rows, _, weights in _batches(section, harmonic):
        rows *= np.sqrt(weights)[..., None, None, None]
        if harmonic == TWIST:
            rows *= math.sqrt(mu)
        else:  # the root of the law: its part that changes volume, and the rest
            bulk = (math.sqrt(3 * lam + 2 * mu) - math.sqrt(2 * mu)) / 3
            spread_out = bulk * rows[:, :, :3].sum(2, keepdims=True)
            rows[:, :, :3] *= math.sqrt(2 * mu)
            rows[:, :, :3] += spread_out
            rows[:, :, 3:] *= math.sqrt(mu)
        h = rows.reshape(len(cells), -1, rows.shape[3] * rows.shape[4])
        yield cells, h.transpose(0, 2, 1) @ h


def law(strain: Array, kinds: tuple[int, ...], material: Material) -> Array:
    """Stress [..., strain] of the strains of these kinds (shear as the change of angle), MPa."""
    lam, mu = lame(material, 3)
    factor = np.array([2 * mu if k < 3 else mu for k in kinds])
    stress = strain * factor
    if kinds[0] == 0:
        stress[..., :3] += lam * strain[..., :3].sum(-1, keepdims=True)
    return np.asarray(stress)


def internal_forces(
    section: Section, material: Material, harmonic: Harmonic, u: Array, cells: Index | None = None
) -> Array:
    """Nodal forces [n, 3, case] with which the given cells (all, if none are named) hold the displacements u
    [n, 3, case]: integrated over the turn, along r, around, along z, N per unit of each case.

    Without loads on these cells their sum over a cut is what the cut carries, exactly on the mesh.
    """
    q = harmonic.to_unknowns(u)
    some = section if cells is None else Section(section.order, section.nodes, section.cells[cells], {}, {})
    out = np.zeros_like(q)
    for numbers, rows, kinds, weights in _batches(some, harmonic):
        h = rows.reshape(*rows.shape[:3], -1)
        local = q[numbers].reshape(len(numbers), h.shape[-1], -1)
        strain = np.moveaxis(h @ local[:, None], -1, -2)
        stress = law(strain, kinds, material) * weights[..., None, None]
        force = np.einsum("eqsa,eqcs->eac", h, stress, optimize=True)
        np.add.at(out, numbers, force.reshape(*numbers.shape, harmonic.unknowns, -1))
    if harmonic == BENDING:
        return np.stack([out[:, 0] + out[:, 1], out[:, 1], out[:, 2]], 1)
    return harmonic.to_space(out)


def nodal_stress(section: Section, material: Material, harmonic: Harmonic, u: Array) -> Array:
    """Stress [n, 6, case] at the nodes in the order of STRAINS, averaged over the cells that meet there, MPa.

    On the axis the limit is taken. u [n, 3, case].
    """
    p = section.order
    q = harmonic.to_unknowns(u)
    one = np.eye(p + 1)
    d = derivative_matrix(p)
    values = np.kron(one, one)
    slopes = np.stack([np.kron(d, one), np.kron(one, d)], -1)
    place = section.nodes[section.cells]
    jacobian = np.einsum("end,qnr->eqdr", place, slopes, optimize=True)
    gradients = slopes @ np.linalg.inv(jacobian)
    r = place[..., 0]
    axis = r <= 1e-9 * np.abs(section.nodes).max()
    over = np.where(axis[..., None], gradients[..., 0], values / np.where(axis, 1.0, r)[..., None])
    rows, kinds = _rows(harmonic, over, gradients[..., 0], gradients[..., 1])
    h = rows.reshape(*rows.shape[:3], -1)
    local = q[section.cells].reshape(len(section.cells), h.shape[-1], -1)
    stress = law(np.moveaxis(h @ local[:, None], -1, -2), kinds, material)
    total = np.zeros((len(section.nodes), 6, q.shape[2]))
    np.add.at(total[:, kinds[0] : kinds[-1] + 1], section.cells, np.moveaxis(stress, -1, -2))
    count = np.bincount(section.cells.ravel(), minlength=len(section.nodes))
    return np.asarray(total / count[:, None, None])
