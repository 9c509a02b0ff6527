"""Whole-number steps between sets of plates that hardly change their sum: the coordinates in which the search is short.

Among the sums of plates on many positions very many lie close together. A solver that fixes one position after the
other does not see that; in a reduced basis of the lattice of plate counts its branches are parted by real distances.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["reduced_basis"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

# of Lenstra, Lenstra and Lovász: nearer to 1 is shorter and slower
SHORTER = 0.99
MOST_ROUNDS = 100_000


def _orthogonal(rows: Array) -> tuple[Array, Array]:
    """Coefficients and squared lengths of the Gram-Schmidt vectors, from the triangular factor."""
    r = np.linalg.qr(rows.T, mode="r")
    diagonal = np.diag(r)
    return (r / diagonal[:, None]).T, diagonal**2


def reduced_basis(vectors: NDArray[np.complex128], weight: float) -> Whole:
    """Unimodular matrix T [count, step]: counts = T z reaches all whole numbers, columns are nearly at right angles.

    The length of a column t is |t|^2 + weight^2 |sum t_i vectors_i|^2: a large weight finds steps that leave the sum
    almost as it is. By the method of Lenstra, Lenstra and Lovász, with floating-point orthogonalisation; a basis that
    is not fully reduced costs time, never correctness, since T stays unimodular.
    """
    many = len(vectors)
    rows = np.hstack([np.eye(many), weight * vectors.real[:, None], weight * vectors.imag[:, None]])
    steps = np.eye(many, dtype=np.int64)
    mu, squares = _orthogonal(rows)
    k = 1
    for _ in range(MOST_ROUNDS):
        if k >= many:
            break
        for j in range(k - 1, -1, -1):
            turns = round(mu[k, j])
            if turns:
                rows[k] -= turns * rows[j]
                steps[k] -= turns * steps[j]
                mu[k, : j + 1] -= turns * mu[j, : j + 1]
        if squares[k] >= (SHORTER - mu[k, k - 1] ** 2) * squares[k - 1]:
            k += 1
            continue
        rows[[k - 1, k]], steps[[k - 1, k]] = rows[[k, k - 1]], steps[[k, k - 1]]
        mu, squares = _orthogonal(rows)
        k = max(k - 1, 1)
    return steps.T.copy()
