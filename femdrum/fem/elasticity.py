"""Linear elasticity on batches of cells: stiffness, body force, traction on faces. Tension positive.

The law is isotropic: stress = lambda tr(strain) I + 2 mu strain; in plane stress lambda becomes
E nu / (1 - nu^2), so one code serves both. Source: any text on finite elements.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveFailure
from ..model.material import Material
from .reference import Orders, Reference, reference

__all__ = ["face_load", "face_load_at", "lame", "mapped_gradients", "stiffness", "surface_stress", "volume_load"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes of element matrices that are worked on at a time, so that they stay in the processor's cache
CACHE_BYTES = 1e6


def lame(material: Material, dim: int) -> tuple[float, float]:
    """lambda and mu in MPa; dim 2 is plane stress."""
    e, nu = material.youngs_modulus_MPa, material.poissons_ratio
    if dim == 2:
        return e * nu / (1 - nu**2), e / (2 * (1 + nu))
    return e * nu / ((1 + nu) * (1 - 2 * nu)), e / (2 * (1 + nu))


def mapped_gradients(
    nodes: Array, cells: Index, orders: Orders, last: tuple[float, ...] | None = None
) -> tuple[Array, Array]:
    """Gradients of the shape functions in space [e, q, n, dim] and weights times volume [e, q]; last: see `reference`."""
    ref = reference(orders, last=last)
    jacobian = _jacobian(nodes, cells, ref)
    det = np.linalg.det(jacobian)
    if (det > 0).any() and (det < 0).any():
        raise SolveFailure(
            "the mesh has cells that are turned inside out; make the mesh finer or the shape less extreme"
        )
    gradients = ref.gradients @ np.linalg.inv(jacobian)
    return gradients, np.abs(det) * ref.weights


def _jacobian(nodes: Array, cells: Index, ref: Reference) -> Array:
    return np.asarray(np.einsum("end,qnr->eqdr", nodes[cells], ref.gradients, optimize=True))


def stiffness(gradients: Array, weights: Array, lam: float, mu: float) -> Array:
    """Element matrices [e, n dim, n dim], degrees of freedom node by node."""
    e, q, n, dim = gradients.shape
    k = np.empty((e, n, dim, n, dim))
    few = max(1, int(CACHE_BYTES / (8 * (n * dim) ** 2)))
    for start in range(0, e, few):
        part = slice(start, start + few)
        h = (gradients[part] * np.sqrt(weights[part])[..., None, None]).reshape(-1, q, n * dim)
        m = (h.transpose(0, 2, 1) @ h).reshape(-1, n, dim, n, dim)
        np.multiply(m, lam, out=k[part])
        trace = mu * np.einsum("eaibi->eab", m)
        m *= mu
        k[part] += m.transpose(0, 1, 4, 3, 2)
        for i in range(dim):
            k[part, :, i, :, i] += trace
    return k.reshape(e, n * dim, n * dim)


def volume_load(nodes: Array, cells: Index, orders: Orders, force: Array) -> Array:
    """Nodal forces [n, dim] of a body force given at the nodes [n, dim] (N/mm3), interpolated like displacements."""
    ref = reference(orders)
    weights = np.abs(np.linalg.det(_jacobian(nodes, cells, ref))) * ref.weights
    at_points = np.einsum("qn,end->eqd", ref.values, force[cells], optimize=True)
    element = np.einsum("eq,qn,eqd->end", weights, ref.values, at_points, optimize=True)
    return _sum_up(cells, element, nodes.shape)


def face_load(nodes: Array, faces: Index, orders: Orders, traction: Array) -> Array:
    """Nodal forces [n, dim] of a traction given at the faces' nodes [f, m, dim] (MPa)."""
    ref = reference(orders)
    return _face_forces(nodes, faces, ref, np.einsum("qm,fmd->fqd", ref.values, traction, optimize=True))


def face_load_at(
    nodes: Array, faces: Index, orders: Orders, traction: Callable[[Array], Array], points: int | None = None
) -> Array:
    """The same for a traction given as a function of places [..., dim], which may bend more than the cells do.

    points: Gauss points a direction; by default enough for a load that falls to zero within a cell.
    """
    ref = reference(orders, points or max(orders) + 10)
    places = np.einsum("qm,fmd->fqd", ref.values, nodes[faces], optimize=True)
    return _face_forces(nodes, faces, ref, traction(places))


def _face_forces(nodes: Array, faces: Index, ref: Reference, at_points: Array) -> Array:
    tangents = np.einsum("fmd,qmr->fqdr", nodes[faces], ref.gradients, optimize=True)
    if nodes.shape[1] == 3:
        area = np.linalg.norm(np.cross(tangents[..., 0], tangents[..., 1]), axis=-1)
    else:
        area = np.linalg.norm(tangents[..., 0], axis=-1)
    element = np.einsum("fq,qm,fqd->fmd", area * ref.weights, ref.values, at_points, optimize=True)
    return _sum_up(faces, element, nodes.shape)


def _sum_up(cells: Index, element: Array, shape: tuple[int, ...]) -> Array:
    out = np.zeros(shape)
    np.add.at(out, cells, element)
    return out


def surface_stress(strain: Array, pressure: Array | float, material: Material) -> Array:
    """In-surface stress [..., 3] (11, 22, 12) from in-surface strain (11, 22, 12 as tensor) on a surface that
    carries the given pressure (MPa) and no other normal traction.

    The normal stress is known there, so only strains in the surface are needed, and those are the most
    exact that displacements give.
    """
    e, nu = material.youngs_modulus_MPa, material.poissons_ratio
    plane = e / (1 - nu**2)
    normal = -np.asarray(pressure) * nu / (1 - nu)
    return np.stack(
        [
            plane * (strain[..., 0] + nu * strain[..., 1]) + normal,
            plane * (strain[..., 1] + nu * strain[..., 0]) + normal,
            e / (1 + nu) * strain[..., 2],
        ],
        -1,
    )
