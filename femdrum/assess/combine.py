"""Conditions on stored unit cases: load vectors, the worst angle of the turning drum, and the range over one turn.

A load is up to three vectors over the unit cases. Loads that stand still in space turn in drum coordinates, so
state(phi) = steady + cos(phi) cosine + sin(phi) sine, phi the rotation of the drum. A condition is the sum of its
loads, each times its share. At one place the stress normal to a fixed direction n is a + b cos(phi) + c sin(phi);
over a turn it runs from a - hypot(b, c) to a + hypot(b, c). So the angle needs no search, only the direction does.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..edge import EdgeStress, Spot, principal
from ..quantity import Quantity, Verdict

__all__ = ["LoadVectors", "TurningRange", "Worst", "add_up", "load_vectors", "turning_range", "worst_angle"]

Array = NDArray[np.float64]

DIRECTIONS = 180  # directions of the surface tried at a place before the best is refined
ROUNDS = 14  # of refinement, each three times finer: the direction comes to 1e-8 rad
STEPS = np.array([0.0, -1.0, -2 / 3, -1 / 3, 1 / 3, 2 / 3, 1.0])  # of the refinement, the middle first
BLOCK = 1024  # places at once: memory stays bounded
# ends of opposite sign that differ by less stand for one: tension is then the one, as in `Peaks`; likewise angles
EQUAL = 1e-6


@dataclass(frozen=True)
class LoadVectors:
    """A load, or a condition, as factors on the unit cases [case] in drum coordinates."""

    name: str
    steady: Array
    cosine: Array
    sine: Array

    @property
    def turns(self) -> bool:
        """True where the state depends on the angle of the drum."""
        return bool(np.any(self.cosine) or np.any(self.sine))

    def at(self, phi_rad: float) -> Array:
        """Factors at a rotation of the drum."""
        return _state(np.stack([self.steady, self.cosine, self.sine]), phi_rad)

    def times(self, share: float) -> LoadVectors:
        """The same load, `share` times as large."""
        return LoadVectors(self.name, share * self.steady, share * self.cosine, share * self.sine)


class Worst(NamedTuple):
    """The angle of the largest peak, the factors there, and the principal stress at the sampled place that decided.

    The peak with its band comes from `edge.combine(factors).peaks()`, which also looks between the samples.
    """

    phi_rad: float
    factors: Array
    sample_MPa: float


@dataclass(frozen=True)
class TurningRange:
    """Largest range over one turn of the stress normal to one fixed direction of the surface, at one place.

    range: largest minus smallest, MPa, with band. mean_MPa: halfway between, which is the steady part there.
    direction_rad: direction of that stress, from along the edge towards across it. phi_rad: where it is largest.
    """

    range: Quantity
    mean_MPa: float
    at: Spot | None
    direction_rad: float
    phi_rad: float


def load_vectors(
    cases: Sequence[str],
    name: str,
    steady: Mapping[str, float],
    cosine: Mapping[str, float] | None = None,
    sine: Mapping[str, float] | None = None,
) -> LoadVectors:
    """Vectors over `cases` from factors by name; a factor on an unknown case raises KeyError."""
    vectors = []
    for part in (steady, cosine or {}, sine or {}):
        unknown = [case for case in part if case not in cases]
        if unknown:
            raise KeyError(f"no unit case {unknown[0]!r}; known: {', '.join(cases)}")
        vectors.append(np.array([float(part.get(case, 0.0)) for case in cases]))
    return LoadVectors(name, *vectors)


def add_up(name: str, loads: Sequence[LoadVectors], shares: Sequence[float]) -> LoadVectors:
    """A condition: the sum over loads of share times load."""
    if not loads or len(loads) != len(shares):
        raise ValueError(f"condition {name!r} has {len(loads)} loads and {len(shares)} shares")
    parts = [load.times(share) for load, share in zip(loads, shares, strict=True)]
    return LoadVectors(
        name, *(np.sum([getattr(p, which) for p in parts], axis=0) for which in ("steady", "cosine", "sine"))
    )


def worst_angle(edge: EdgeStress, steady: ArrayLike, cosine: ArrayLike, sine: ArrayLike) -> Worst:
    """The rotation, 0 <= phi < 2 pi, at which the principal stress of largest magnitude over the edge is largest.

    Of equal ends tension is taken, of equal angles the smallest; a state that does not turn has phi = 0. Found on the
    places that `edge` stores; a surface under pressure has -pressure as its third principal stress.
    """
    vectors = _vectors(edge, steady, cosine, sine)
    turning = bool(np.any(vectors[1:]))
    best, ends = 0.0, []
    for slot in range(edge.stress.shape[1]):
        stress = np.tensordot(vectors, edge.stress[:, slot], 1).reshape(3, -1, 3)
        third = -np.tensordot(vectors, edge.pressure[:, slot], 1).reshape(3, -1)
        most = np.maximum(_bound(stress), np.abs(third[0]) + np.hypot(third[1], third[2]))
        # the most promising places first; no other can win whose bound lies below what they reach
        order = np.argsort(-most, kind="stable")
        for start in range(0, order.size, BLOCK):
            block = order[start : start + BLOCK]
            block = block[most[block] >= (1 - EQUAL) * best]
            if not block.size:
                break
            abc = _governing(stress[:, block], third[:, block])
            reach = np.abs(abc[0]) + np.hypot(abc[1], abc[2])
            best = max(best, float(reach.max()))
            ends.append(abc[:, reach >= (1 - EQUAL) * best])
    if not ends or best == 0.0:
        return Worst(0.0, vectors[0], 0.0)
    a, b, c = np.concatenate(ends, axis=1)
    swing = np.hypot(b, c)
    high = a + swing >= (1 - EQUAL) * best
    low = ~np.any(high)
    a, b, c, swing = (v[(swing - a if low else a + swing) >= (1 - EQUAL) * best] for v in (a, b, c, swing))
    value = float(np.min(a - swing) if low else np.max(a + swing))
    if not turning:
        return Worst(0.0, vectors[0], value)
    phi = np.mod(np.arctan2(-c, -b) if low else np.arctan2(c, b), 2 * math.pi)
    phi[(phi > 2 * math.pi - EQUAL) | (swing <= EQUAL * best)] = 0.0
    first = float(phi.min())
    # of the places with equal angles the highest gives the angle
    near = phi <= first + 1e-3
    phi_rad = float(phi[near][np.argmax((np.abs(a) + swing)[near])])
    return Worst(phi_rad, _state(vectors, phi_rad), value)


def turning_range(
    edge: EdgeStress, steady: ArrayLike, cosine: ArrayLike, sine: ArrayLike, asked: float | None = None
) -> TurningRange:
    """Over one turn the largest range, at one place, of the stress normal to one fixed direction of the surface.

    Largest over places and directions. asked: wanted relative band. The range of one component is what a cycle
    sees; a range of principal stresses or of an equivalent stress, whose direction and sign change, is none.
    """
    vectors = _vectors(edge, steady, cosine, sine)
    words = (
        "largest range over one turn of the stress normal to a fixed direction, on the slot's edge and near surfaces"
    )
    if not np.any(vectors[1:]):
        return TurningRange(Quantity(0.0, "MPa", 0.0, Verdict.EXACT, words), 0.0, None, 0.0, 0.0)
    assert edge.earlier is not None
    fields: list[list[Array]] = [[], [], []]
    for slot in range(edge.stress.shape[1]):
        fine, step, earlier = (np.tensordot(vectors[1:], v[:, slot], 1) for v in (edge.stress, edge.step, edge.earlier))
        for field, parts in zip(fields, (fine, fine - step, fine - step - earlier), strict=True):
            field.append(2 * _largest_swing(parts)[0])
    fine, coarse, coarser = (np.stack(field) for field in fields)
    surface = edge.combine(vectors[1])  # lends its reading of places and bands
    least = edge.least_band * float(edge.doubts(vectors[1:]).max())
    value, band, spot = surface._extreme(fine, (fine - coarse, coarse - coarser), float(fine.max()), least)
    settled = asked is None or band <= asked * value
    here = np.tensordot(vectors, edge.stress[:, spot.slot, spot.s_index, spot.d_index], 1)
    direction = float(_largest_swing(here[1:])[1])
    a, b, c = here @ _weights(np.array(direction))
    verdict = Verdict.SETTLED if settled else Verdict.NOT_SETTLED
    return TurningRange(
        Quantity(value, "MPa", band, verdict, words),
        mean_MPa=float(a),
        at=spot,
        direction_rad=direction,
        phi_rad=math.atan2(c, b) % (2 * math.pi),
    )


def _vectors(edge: EdgeStress, *parts: ArrayLike) -> Array:
    vectors = np.array([np.asarray(part, dtype=float) for part in parts])
    if vectors.shape != (3, len(edge.cases)):
        raise ValueError(f"three vectors over {len(edge.cases)} unit cases are needed, not shape {vectors.shape}")
    return vectors


def _state(vectors: Array, phi_rad: float) -> Array:
    return np.asarray(vectors[0] + math.cos(phi_rad) * vectors[1] + math.sin(phi_rad) * vectors[2])


def _weights(direction: Array) -> Array:
    """Normal stress in a direction = (along, across, shear) times these [3, ...]."""
    cos, sin = np.cos(direction), np.sin(direction)
    return np.stack([cos * cos, sin * sin, 2 * sin * cos])


def _bound(stress: Array) -> Array:
    """No principal stress of a turn is larger at a place; stress [steady cosine sine, place, 3]."""
    steady, cosine, sine = (np.max(np.abs(principal(part)), axis=0) for part in stress)
    return np.asarray(steady + np.hypot(cosine, sine)) * (1 + 1e-12)


def _governing(stress: Array, third: Array) -> Array:
    """(a, b, c) [3, place] of the direction with the largest |a| + hypot(b, c); the surface's normal is one of them."""

    def reach(parts: Array) -> Array:
        return np.asarray(np.abs(parts[0]) + np.hypot(parts[1], parts[2]))

    width = math.pi / DIRECTIONS
    grid = np.linspace(0.0, math.pi, DIRECTIONS, endpoint=False)
    weights = _weights(grid)
    # by pieces, so that directions times places stay small
    pieces = np.array_split(np.arange(stress.shape[1]), -(-stress.shape[1] // 256))
    best: Array = np.concatenate([grid[np.argmax(reach(stress[:, piece] @ weights), axis=-1)] for piece in pieces])
    every = np.arange(best.size)
    for _ in range(ROUNDS):
        tried = np.asarray(best[:, None] + width * STEPS)
        found = np.argmax(reach(np.einsum("kpi,ipt->kpt", stress, _weights(tried))), axis=1)
        best = tried[every, found]
        width /= 3
    abc = np.einsum("kpi,ip->kp", stress, _weights(best))
    return np.where(reach(third) > reach(abc), third, abc)


def _largest_swing(parts: Array) -> tuple[Array, Array]:
    """Largest hypot(b, c) over directions, and that direction (rad); parts [cosine sine, ..., 3].

    With u twice the direction its square is a trigonometric polynomial of degree 2 in u: tried, then Newton.
    """
    mean = 0.5 * (parts[..., 0] + parts[..., 1])
    half, shear = 0.5 * (parts[..., 0] - parts[..., 1]), parts[..., 2]
    terms = np.stack([
        mean**2 + 0.5 * (half**2 + shear**2), 2 * mean * half, 2 * mean * shear, 0.5 * (half**2 - shear**2), half * shear
    ], -1).sum(axis=0)  # fmt: skip

    def basis(u: Array) -> Array:
        return np.stack([np.ones_like(u), np.cos(u), np.sin(u), np.cos(2 * u), np.sin(2 * u)], -1)

    def square(u: Array) -> Array:
        return np.asarray(np.sum(terms * basis(u), axis=-1))

    grid = 2 * math.pi * np.arange(48) / 48
    flat = terms.reshape(-1, 5)
    u = np.concatenate(
        [grid[np.argmax(flat[i : i + BLOCK] @ basis(grid).T, axis=1)] for i in range(0, len(flat), BLOCK)]
    ).reshape(terms.shape[:-1])
    top = square(u)
    for _ in range(5):
        cos1, sin1, cos2, sin2 = np.moveaxis(basis(u), -1, 0)[1:]
        c1, s1, c2, s2 = np.moveaxis(terms, -1, 0)[1:]
        slope = s1 * cos1 - c1 * sin1 + 2 * (s2 * cos2 - c2 * sin2)
        bend = -c1 * cos1 - s1 * sin1 - 4 * (c2 * cos2 + s2 * sin2)
        tried = u - np.divide(slope, bend, out=np.zeros_like(slope), where=bend < 0)
        value = square(tried)
        better = value > top
        u, top = np.where(better, tried, u), np.where(better, value, top)
    return np.sqrt(np.maximum(top, 0.0)), 0.5 * np.mod(u, 2 * math.pi)
