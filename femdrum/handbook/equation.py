"""The integral equation on a stack of outlines of equal numbers of nodes: matrices, what makes them regular, solution.

Unknown is w = dphi/ds at the nodes of the hole and of the outer edge; on the outer edge without the uniform stress.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from .domains import Domain, EllipseDisc, FinitePlate, StripRow
from .kernels import Folded, folded
from .panels import Array, Complex, Panels, place

__all__ = ["CASES", "ODD", "edge_stress"]

CASES = ("tension_x", "tension_y", "shear")
ODD = CASES.index("shear")
EVEN, MIRRORED = 1, -1


def edge_stress(
    holes: Sequence[Panels], outers: Sequence[Panels | None], domains: Sequence[Domain], *, even: bool, odd: bool
) -> Array:
    """Stress [case, load, node] at the holes' nodes per 1 MPa of each of CASES; NaN for what is not asked.

    even: the tensions are asked. odd: shear is.

    The holes' panels are graded alike, those of the outer edges too, and all domains are of one kind.
    """
    both = [[hole] if outer is None else [hole, outer] for hole, outer in zip(holes, outers, strict=True)]
    t, offset, tangent, ds, curvature = (
        np.array([np.concatenate([getattr(p, name) for p in edges]) for edges in both])
        for name in ("t", "offset", "tangent", "ds", "curvature")
    )
    n = holes[0].t.size
    pitches = [domain.pitch for domain in domains]
    m = np.array([math.pi / pitch for pitch in pitches if pitch]) if pitches[0] else None
    kernels = folded(t, offset, _junctions(both[0]), tangent, ds, curvature, m)
    if isinstance(domains[0], FinitePlate):
        for i, outer in enumerate(outers):
            assert outer is not None
            _mend_corner(kernels, i, outer, n)
    on_hole, on_outer = tangent.copy(), tangent.copy()
    on_hole[:, n:] = 0.0
    on_outer[:, :n] = 0.0
    stress = np.full((len(both), len(CASES), n), np.nan)
    across = 4 * np.conj(tangent[:, None, :n])  # stress along the edge: 4 Re(w / tangent)
    if even:
        w = _even(kernels, t, ds, n, m, on_hole, on_outer, domains)
        stress[:, :ODD] = (w[:, :, :n] * across).real
    if odd:
        w = _odd(kernels, ds, n, on_hole, on_outer, closed=isinstance(domains[0], (FinitePlate, EllipseDisc)))
        stress[:, ODD:] = (w[:, :, :n] * across).real
    return stress


def _junctions(edges: Sequence[Panels]) -> list[slice]:
    """Nodes of the two panels around each junction."""
    out, first = [], 0
    for panels in edges:
        for before in np.flatnonzero(panels.cuts.grade > 0):
            start = first + int(before) * panels.order
            out.append(slice(start, start + 2 * panels.order))
        first += panels.t.size
    return out


def _even(
    kernels: Folded, t: Complex, ds: Array, n: int, m: Array | None, on_hole: Complex, on_outer: Complex,
    domains: Sequence[Domain],
) -> Complex:  # fmt: skip
    """W [case, tension_x and tension_y, node]. The equation leaves an all-round tension free: one line fixes it."""
    matrix = kernels.matrix(EVEN)
    # Re(sum slope w) = Re of phi's slope in the hole's centre, by Cauchy's integral
    slope = -2j / math.pi * ds / (t if m is None else np.tan(m[:, None] * t) / m[:, None])
    _pin(matrix, on_hole, slope)
    if isinstance(domains[0], StripRow):
        # a pull along the row is a solution without load: its phi grows along the edge from period to period
        growth = np.zeros_like(t)
        growth[:, n:] = ds[:, n:] / ds[:, n:].sum(axis=1, keepdims=True)
        _pin(matrix, on_outer, growth)
    turned = 0.5 * np.conj(on_hole)
    w = _solved(matrix, [0.25 * on_hole + turned, 0.25 * on_hole - turned])
    if isinstance(domains[0], StripRow):
        w = _with_mean(w, t, ds, n, domains)
    return w


def _odd(kernels: Folded, ds: Array, n: int, on_hole: Complex, on_outer: Complex, *, closed: bool) -> Complex:
    """W [case, shear, node]. Inside a closed outer edge the equation leaves a rotation free: one line fixes it."""
    matrix = kernels.matrix(MIRRORED)
    if closed:
        rotation = -1j * ds * np.conj(on_outer) / ds[:, n:].sum(axis=1, keepdims=True)
        _pin(matrix, 1j * on_outer, rotation)
    return _solved(matrix, [1j * np.conj(on_hole)])


def _pin(matrix: Array, along: Complex, functional: Complex) -> None:
    """Add `along` times Re(sum functional w)."""
    row = np.concatenate([functional.real, -functional.imag], axis=1)
    matrix += _split(along)[:, :, None] * row[:, None, :]


def _split(values: Complex) -> Array:
    return np.concatenate([values.real, values.imag], axis=-1)


def _solved(matrix: Array, right: list[Complex]) -> Complex:
    solution = np.linalg.solve(matrix, np.stack([_split(r) for r in right], axis=-1)).transpose(0, 2, 1)
    n = solution.shape[2] // 2
    return np.asarray(solution[..., :n] + 1j * solution[..., n:])


def _with_mean(w: Complex, t: Complex, ds: Array, n: int, domains: Sequence[Domain]) -> Complex:
    """Scale so that the mean stress of a section is the load itself.

    With phi periodic beyond the uniform stress, the mean of 4 Re(phi') over the plate is an integral over the hole's
    edge, and that of stress y is the load's; the rest is what the sections carry along x.
    """
    assert all(isinstance(d, StripRow) for d in domains)
    cell = np.array([d.pitch_mm * d.width_mm for d in domains if isinstance(d, StripRow)])
    extra = 16 / cell[:, None] * np.sum((t.imag * ds)[:, None, :n] * w[..., :n].real, axis=2)
    x = w[:, :1] / (1 + extra[:, 0, None, None])
    return np.concatenate([x, w[:, 1:] - extra[:, 1, None, None] * x], axis=1)


def _mend_corner(kernels: Folded, case: int, outer: Panels, first: int) -> None:
    """Integrate over the panel beyond the plate's corner exactly for a constant w.

    There the kernel is as steep as the distance is short, which no panel resolves; but the corner is free of stress
    and w hardly changes, so its value at the node next to the corner stands for all.
    """
    cuts, order = outer.cuts, outer.order
    before, after = (int(np.flatnonzero(cuts.grade == g)[0]) for g in (1, -1))
    corner = place(cuts.pieces[cuts.piece[before]], np.ones(1))[0]
    for source, target in ((before, after), (after, before)):
        piece = cuts.pieces[cuts.piece[source]]
        start, end = place(piece, cuts.t1[[source]])[0], place(piece, cuts.t0[[source]])[0]  # plate on the right
        own = slice(source * order, (source + 1) * order)
        to = slice(target * order, (target + 1) * order)
        nearest = first + source * order + (order - 1 if source == before else 0)
        along, t0, tangent = outer.tangent[own][0], outer.offset[to], outer.tangent[to]
        u1, u2 = start - corner - t0, end - corner - t0
        log = np.log(u2 / u1)
        a = (tangent / along * log).imag
        slope = along.imag / along  # Im(u) = slope u + rest on the straight panel
        rest = u1.imag - slope * u1
        y = (rest * tangent * (1 / u1 - 1 / u2) + (slope * tangent - tangent.imag) * log) / along
        u = outer.offset[own] - outer.offset[to][:, None]
        summed = (tangent[:, None] * np.conj(u)).imag / np.abs(u) ** 2 * outer.ds[own]
        missing = a - summed.sum(axis=1)
        missing_across = -np.conj(y) - (summed * u / np.conj(u)).sum(axis=1)
        rows = slice(first + to.start, first + to.stop)
        kernels.direct[case, rows, nearest] += missing / math.pi
        kernels.direct_across[0][case, rows, nearest] += missing_across.real / math.pi
        kernels.direct_across[1][case, rows, nearest] += missing_across.imag / math.pi
