"""Checks of arrays: finite, inside their limits; a fault names the first value that is not."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import MISSING
from ..model.check import Checks

__all__ = ["array_of"]

Array = NDArray[np.float64]


def array_of(
    checks: Checks,
    field: str,
    value: ArrayLike | None,
    *,
    above: float | None = None,
    least: float | None = None,
    finite: bool = True,
    way_out: str = "",
) -> Array:
    """The value as an array of floats; adds a fault for text, NaN, infinity or what lies outside the limits.

    `finite=False` lets infinities through. With a fault the array comes back all the same: `checks.done()` raises.
    """
    way_out = way_out or f"give {field} as numbers, none of them empty"
    limits = [f"above {above:g}"] if above is not None else [f"at least {least:g}"] if least is not None else []
    allowed = " ".join(["must be a finite number" if finite else "must be a number", *limits])
    if value is None:
        checks.add(field, MISSING, f"is missing; {allowed}", way_out)
        return np.zeros(0)
    try:
        array = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        checks.add(field, value, allowed, "give numbers without quotes or unit")
        return np.zeros(0)
    bad = ~np.isfinite(array) if finite else np.isnan(array)
    if above is not None:
        bad |= ~(array > above)
    elif least is not None:
        bad |= ~(array >= least)
    if bad.any():
        checks.add(field, float(array[bad].flat[0]) if array.ndim else float(array), allowed, way_out)
    return array
