"""Arrays as text for a page: little-endian, base64; half precision where a hundredth is enough."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

__all__ = ["half", "single", "small"]


def single(values: ArrayLike) -> str:
    """Single precision: seven digits."""
    return _text(np.asarray(values), "<f4")


def half(values: ArrayLike) -> dict[str, Any]:
    """Half precision, each row of the first axis over its largest: {"by": [...], "of": text}."""
    rows = np.asarray(values, dtype=float)
    by = np.abs(rows).reshape(rows.shape[0], -1).max(1, initial=0.0)
    by = np.where(by > 0.0, by, 1.0)
    return {"by": by.tolist(), "of": _text(rows / by.reshape(-1, *[1] * (rows.ndim - 1)), "<f2")}


def small(values: ArrayLike) -> str:
    """Whole numbers from -32768 to 32767."""
    whole = np.asarray(values)
    if whole.size and (whole.min() < -32768 or whole.max() > 32767):
        raise ValueError("numbers do not fit into two bytes")
    return _text(whole, "<i2")


def _text(values: Any, kind: str) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype=kind).tobytes()).decode("ascii")
