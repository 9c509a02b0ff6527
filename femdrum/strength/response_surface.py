"""The peak over the sizes that a study computed: a smooth surface with its own error, found by leaving points out.

ln(value) as a polynomial of low order in ln(size); values that change sign are taken as they are. The order is the one
that foretells best what it was not shown. Where a size was not varied, or one variant only was computed, a scaling law
stands in, and says so.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..provenance import Provenance, common_practice, computed

__all__ = ["LAWS", "LAW_RANGE", "Law", "ResponseSurface", "SurfaceError"]

Array = NDArray[np.float64]
Powers = tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Law:
    """Peak ~ size^exponent; `doubt`: by how much the exponent may be off, which gives the stated error."""

    exponent: float
    doubt: float
    provenance: Provenance


# exponents of the exact plane slots lie between 0.02 and 0.48 in size; of the wall between 0 (inertia) and 2 (bending)
LAWS: Mapping[str, Law] = {
    "corner_radius_mm": Law(-0.5, 0.5, common_practice("local notch scaling, K ~ r^-0.5")),
    "wall_mm": Law(-1.0, 1.0, common_practice("stress ~ 1 / wall")),
}
# a law is trusted from this share of the size to its inverse
LAW_RANGE = 0.8
MOST_ORDER = 3
LEAVE_ONE_OUT = computed("leave-one-out: each variant foretold by the surface through the others")
LAW_ERROR = common_practice("scaling law at the ends of its range, exponent off by the law's doubt")


@dataclass(frozen=True)
class SurfaceError:
    """Relative error: root mean square and largest; how it was found; its provenance."""

    rms: float
    most: float
    how: str
    provenance: Provenance


@dataclass(frozen=True)
class ResponseSurface:
    """Made by `fit`. names: of the sizes. range: least and largest of each. order, powers: of the polynomial.

    error: of the values, relative (to the largest value of the point where values change sign). notes: in words.
    """

    names: tuple[str, ...]
    range: tuple[tuple[float, float], ...]
    powers: Powers
    error: SurfaceError
    notes: tuple[str, ...]
    logs: bool
    _centre: Array
    _width: Array
    _law: Array
    _doubt: Array
    _surface_error: tuple[float, float]
    _coefficients: Array
    _shape: tuple[int, ...]

    @classmethod
    def fit(
        cls, points: ArrayLike, values: ArrayLike, names: Sequence[str], *, most_order: int = MOST_ORDER
    ) -> ResponseSurface:
        """Surface through points [n, k] (sizes in mm, above 0, by names [k]) with values [n, ...].

        Values that are all above 0 are fitted by their logarithm; others as they are. Raises InputFault.
        """
        x, y, names = _checked(points, values, names)
        n, shape = len(x), y.shape[1:]
        logs = bool(np.all(y > 0))
        flat = (np.log(y) if logs else y).reshape(n, -1)
        scale = 1.0 if logs else np.maximum(np.abs(flat).max(axis=1, keepdims=True), np.finfo(float).tiny)
        size = np.log(x)
        levels = [len(np.unique(np.round(column, 12))) for column in size.T]
        alone = np.array([count == 1 for count in levels])
        law = np.array([LAWS[m].exponent if a and m in LAWS else 0.0 for m, a in zip(names, alone, strict=True)])
        if not logs:
            law = np.zeros_like(law)
        centre = 0.5 * (size.max(axis=0) + size.min(axis=0))
        width = np.where(alone, 1.0, 0.5 * (size.max(axis=0) - size.min(axis=0)))
        z = (size - centre) / width
        powers, error, chosen = _best(z, flat, scale, levels, names, width, logs, most_order)
        basis = _basis(z, powers)
        coefficients = np.asarray(np.linalg.lstsq(basis, flat, rcond=None)[0], dtype=float)
        span, words, law_error = _law_reach(names, alone, x, logs)
        doubt = np.array([LAWS[m].doubt if e else 0.0 for m, e in zip(names, law, strict=True)])
        notes, own = (chosen, *words), (error.rms, error.most)
        if law_error is not None:
            rms, most = math.hypot(error.rms, law_error[0]), error.most + law_error[1]
            how = law_error[2] if n == 1 else f"{error.how}; {law_error[2]}"
            error = SurfaceError(rms, most, how, LAW_ERROR if n == 1 else error.provenance)
        return cls(
            tuple(names), span, powers, error, notes, logs, centre, width, law, doubt, own, coefficients, shape,
        )  # fmt: skip

    def value(self, x: ArrayLike | Mapping[str, ArrayLike]) -> Array:
        """Values at sizes x [..., k], or by name, in mm: [..., shape of one value].

        Raises InputFault outside the range.
        """
        at = self._sizes(x)
        size = np.log(at).reshape(-1, len(self.names)) - self._centre
        flat = _basis(size / self._width, self.powers) @ self._coefficients + (size @ self._law)[:, None]
        made = np.exp(flat) if self.logs else flat
        return np.asarray(made.reshape((*at.shape[:-1], *self._shape)), dtype=float)

    def error_at(self, x: ArrayLike | Mapping[str, ArrayLike]) -> Array:
        """Stated relative error at sizes x [..., k], or by name: the surface's largest, and the laws' by distance.

        `error` takes the laws at the ends of their range; close to the variant this is narrower. Raises InputFault.
        """
        at = self._sizes(x)
        reach = np.abs(np.log(at) - self._centre) @ self._doubt
        return np.asarray(self._surface_error[1] + np.expm1(reach), dtype=float)

    def _sizes(self, x: ArrayLike | Mapping[str, ArrayLike]) -> Array:
        if isinstance(x, Mapping):
            missing = [name for name in self.names if name not in x]
            if missing:
                raise InputFault([Fault(m, None, "is missing", f"give {', '.join(self.names)}") for m in missing])
            x = np.stack(np.broadcast_arrays(*(np.asarray(x[name], dtype=float) for name in self.names)), axis=-1)
        at = np.asarray(x, dtype=float)
        if at.ndim == 0 or at.shape[-1] != len(self.names):
            raise InputFault(Fault("x", at.shape, f"must have {len(self.names)} columns: {', '.join(self.names)}"))
        self._refuse(at)
        return at

    def _refuse(self, at: Array) -> None:
        faults = []
        for i, (name, (low, high)) in enumerate(zip(self.names, self.range, strict=True)):
            column, room = at[..., i], 1e-9 * high
            if not column.size:
                continue
            if not np.all(np.isfinite(column)) or np.any((column < low - room) | (column > high + room)):
                worst = float(column.reshape(-1)[np.argmax(np.abs(column - 0.5 * (low + high)))])
                faults.append(
                    Fault(
                        name, worst, f"must lie from {low:.6g} to {high:.6g}: the surface knows nothing beyond",
                        "compute variants beyond it, or narrow the scatter of this size",
                    )
                )  # fmt: skip
        if faults:
            raise InputFault(faults)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Error of the surface for the report."""
        return (
            Figure("response surface, error rms", 100 * self.error.rms, "%", self.error.how, self.error.provenance),
            Figure(
                "response surface, error at most", 100 * self.error.most, "%", self.error.how, self.error.provenance
            ),
        )


def _checked(points: ArrayLike, values: ArrayLike, names: Sequence[str]) -> tuple[Array, Array, tuple[str, ...]]:
    x, y = np.asarray(points, dtype=float), np.asarray(values, dtype=float)
    checks = Checks()
    if x.ndim == 1:
        x = x[:, None]
    if x.ndim != 2 or not x.size or x.shape[1] != len(names):
        checks.add("points", x.shape, f"must be [variants, {len(names)}], a column for each of {', '.join(names)}")
    elif not np.all(np.isfinite(x) & (x > 0)):
        checks.add("points", float(x[~(np.isfinite(x) & (x > 0))][0]), "must be finite sizes above 0")
    elif len(np.unique(x, axis=0)) < len(x):
        checks.add("points", len(x), "must differ from one another", "leave repeated variants out")
    if y.ndim < 1 or (x.ndim == 2 and len(y) != len(x)):
        checks.add("values", y.shape, f"must hold one entry for each of the {len(x)} points")
    elif not np.all(np.isfinite(y)):
        checks.add("values", "not finite", "must be finite", "a sharp corner has no peak: leave that variant out")
    elif np.any(np.all(y.reshape(len(y), -1) == 0, axis=1)):
        checks.add("values", 0.0, "must not all be zero at a point")
    if len(set(names)) < len(names):
        checks.add("names", tuple(names), "must differ from one another")
    checks.done()
    return x, y, tuple(names)


def _basis(z: Array, powers: Powers) -> Array:
    return np.stack([np.prod(z ** np.array(p, dtype=float), axis=-1) for p in powers], axis=-1)


def _candidates(levels: Sequence[int], most_order: int) -> list[Powers]:
    """Polynomials of rising order; no power of a size that its number of different values could not hold."""
    k = len(levels)
    made: list[Powers] = []
    for order in range(1, most_order + 1):
        every = [p for p in itertools.product(range(order + 1), repeat=k) if sum(p) <= order]
        fits = sorted(
            (p for p in every if all(e < m for e, m in zip(p, levels, strict=True))), key=lambda p: (sum(p), p)
        )
        for kept in ([p for p in fits if sum(e > 0 for e in p) <= 1], fits):
            powers = tuple(kept)
            if len(powers) > 1 and powers not in made:
                made.append(powers)
    return made


def _left_out(basis: Array, flat: Array) -> Array | None:
    """What the surface through the others misses at each point, or None where a point is held by itself alone."""
    n, terms = basis.shape
    if n <= terms:
        return None
    q, r = np.linalg.qr(basis)
    if np.min(np.abs(np.diag(r))) < 1e-9 * np.max(np.abs(np.diag(r))):
        return None
    leverage = np.sum(q * q, axis=1)
    if np.max(leverage) > 1 - 1e-9:
        return None
    return np.asarray((flat - q @ (q.T @ flat)) / (1 - leverage)[:, None])


def _relative(missed: Array, scale: Array | float, logs: bool) -> Array:
    share = np.abs(np.expm1(np.minimum(np.abs(missed), 50.0))) if logs else np.abs(missed) / scale
    return np.asarray(share)


def _best(
    z: Array, flat: Array, scale: Array | float, levels: Sequence[int], names: Sequence[str], width: Array, logs: bool,
    most_order: int,
) -> tuple[Powers, SurfaceError, str]:  # fmt: skip
    k, n = len(names), len(z)
    flat_only: Powers = ((0,) * k,)
    if n == 1:
        return flat_only, SurfaceError(0.0, 0.0, "one variant", LAW_ERROR), "one variant: a scaling law, no surface"
    best: tuple[float, Powers, SurfaceError] | None = None
    exact: Powers | None = None
    for powers in _candidates(levels, most_order):
        basis = _basis(z, powers)
        if len(powers) == n and exact is None and np.linalg.cond(basis) < 1e9:
            exact = powers
        missed = _left_out(basis, flat)
        if missed is None:
            continue
        error = _as_error(_relative(missed, scale, logs), "leave-one-out", LEAVE_ONE_OUT)
        if best is None or error.rms < best[0]:
            best = (error.rms, powers, error)
    if best is not None:
        order = max(sum(p) for p in best[1])
        return best[1], best[2], f"polynomial of order {order} with {len(best[1])} terms through {n} variants"
    # too few to leave one out: run through all of them, and let the law (or nothing) foretell each from the others
    law = np.array([LAWS[m].exponent if m in LAWS and logs else 0.0 for m in names])
    slope = z * width @ law
    rest = flat - slope[:, None]
    missed = (rest - rest.mean(axis=0)) * n / (n - 1)
    how = "each variant foretold from the others by the scaling law"
    error = _as_error(_relative(missed, scale, logs), how, LEAVE_ONE_OUT)
    if exact is None:
        varied = [n for n, c in zip(names, levels, strict=True) if c > 1]
        raise InputFault(
            Fault(
                "points", n, f"are too few, or too regular, for a surface over {', '.join(varied)}",
                "compute more variants: three values of each size, all combined",
            )
        )  # fmt: skip
    return exact, error, f"runs exactly through {n} variants: too few to leave one out"


def _as_error(share: Array, how: str, provenance: Provenance) -> SurfaceError:
    return SurfaceError(float(np.sqrt(np.mean(share**2))), float(np.max(share)), how, provenance)


def _law_reach(
    names: Sequence[str], alone: NDArray[np.bool_], x: Array, logs: bool
) -> tuple[tuple[tuple[float, float], ...], tuple[str, ...], tuple[float, float, str] | None]:
    """Range of each size, words for the sizes that a law stands for, and the law's error (rms, most, how)."""
    span: list[tuple[float, float]] = []
    words: list[str] = []
    most, square = 0.0, 0.0
    for i, name in enumerate(names):
        low, high = float(x[:, i].min()), float(x[:, i].max())
        if alone[i] and logs and name in LAWS:
            law = LAWS[name]
            words.append(f"{name} not varied: {law.provenance}, from {LAW_RANGE:g} to {1 / LAW_RANGE:g} of {low:g} mm")
            end = law.doubt * -math.log(LAW_RANGE)
            most += math.expm1(end)
            square += end**2 / 3  # the mean square over the range
            span.append((LAW_RANGE * low, high / LAW_RANGE))
        else:
            if alone[i]:
                words.append(f"{name} not varied and no law known: the surface holds at {low:g} mm only")
            span.append((low, high))
    error = None if most == 0.0 else (math.sqrt(square), most, "scaling law at the ends of its range")
    return tuple(span), tuple(words), error
