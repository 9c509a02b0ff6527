"""Stiffness and consistent mass of the ring's quarter cell with all its nodes, in its own cylindrical frame.

Taking the nodes inside cells out is exact at rest only; what moves keeps them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.material import Material
from ..units import density_t_mm3
from .elasticity import lame, mapped_gradients, stiffness
from .mesh import Mesh
from .reference import reference

__all__ = ["cell_matrices"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# bytes of one batch of element matrices
BATCH_BYTES = 96e6


def cell_matrices(mesh: Mesh, material: Material, frame: Array) -> tuple[Any, Any]:
    """Stiffness (N/mm) and mass (t) as sparse matrices over 3 n components in the nodes' frames [n, 3, 3]."""
    ref = reference(mesh.orders)
    n, m = len(mesh.nodes), mesh.cells.shape[1]
    lam, mu = lame(material, mesh.dim)
    rho = density_t_mm3(material.density_kg_m3)
    size = max(1, int(BATCH_BYTES / (8 * 4 * (3 * m) ** 2)))
    stiff: Any = 0
    heavy: Any = 0
    for start in range(0, len(mesh.cells), size):
        cells = mesh.cells[start : start + size]
        gradients, weights = mapped_gradients(mesh.nodes, cells, mesh.orders)
        k = stiffness(gradients, weights, lam, mu).reshape(-1, m, 3, m, 3)
        own = frame[cells]
        k = np.einsum("eaip,eaibj,ebjq->eapbq", own, k, own, optimize=True)
        scalar = rho * np.einsum("eq,qa,qb->eab", weights, ref.values, ref.values, optimize=True)
        mass = np.einsum("eab,eaip,ebiq->eapbq", scalar, own, own, optimize=True)
        stiff = stiff + _sparse(cells, k, n)
        heavy = heavy + _sparse(cells, mass, n)
    return stiff, heavy


def _sparse(cells: Index, blocks: Array, nodes: int) -> Any:
    from scipy.sparse import coo_array

    dofs = (3 * cells[:, :, None] + np.arange(3)).reshape(len(cells), -1)
    rows = np.broadcast_to(dofs[:, :, None], (*dofs.shape, dofs.shape[1]))
    columns = np.broadcast_to(dofs[:, None, :], rows.shape)
    return coo_array((blocks.ravel(), (rows.ravel(), columns.ravel())), shape=(3 * nodes, 3 * nodes)).tocsr()
