"""Stress histories [step, place, 6]: their check, and what may be made of them without a plane."""

from __future__ import annotations

from typing import NoReturn

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import Fault, InputFault
from ..model.check import Checks

__all__ = ["history_of", "signed_von_mises", "von_mises", "von_mises_range"]

Array = NDArray[np.float64]

# no stress of a machine is anywhere near
MOST_MPA = 1e9

SHAPE = "must be an array [step, place, 6] of MPa in the order xx, yy, zz, xy, yz, zx"
INSTEAD = (
    "use findley() or normal_plane() from femdrum.strength.critical_plane, or count the signed stress along the edge "
    "with rainflow()"
)


def history_of(checks: Checks, history_MPa: ArrayLike, least_steps: int = 2) -> Array:
    """The history as an array of floats; raises InputFault with all faults, those already in `checks` among them."""
    try:
        history = np.asarray(history_MPa)
        if history.dtype.kind != "f":
            history = history.astype(np.float64)
    except (TypeError, ValueError):
        checks.add("history_MPa", history_MPa, SHAPE, "give numbers without quotes or unit")
        checks.done()
    if history.ndim != 3 or history.shape[2] != 6 or history.shape[1] == 0:
        checks.add("history_MPa", f"array of shape {history.shape}", SHAPE, "one place: history[:, None, :]")
    elif len(history) < least_steps:
        way = "give all steps of the history; a single state is a static proof"
        checks.add("history_MPa", f"{len(history)} steps", f"must have at least {least_steps} steps", way)
    elif not max(history.max(), -history.min()) <= MOST_MPA:
        bad = np.argwhere(~np.isfinite(history))
        if len(bad):
            at = tuple(int(k) for k in bad[0])
            way = "leave the step out at all places, or cut the history there"
            checks.add(f"history_MPa{list(at)}", float(history[at]), f"must be finite ({len(bad)} are not)", way)
        else:
            allowed = f"must be stresses in MPa, none above {MOST_MPA:g}"
            checks.add("history_MPa", float(np.abs(history).max()), allowed, "check the unit")
    checks.done()
    return history


def von_mises(history_MPa: ArrayLike) -> Array:
    """Von Mises stress of each state [step, place], MPa: never negative. For static proof only, not for ranges.

    Raises InputFault: shape, NaN.
    """
    history = history_of(Checks(), history_MPa, 1)
    xx, yy, zz, xy, yz, zx = (history[..., k].astype(np.float64) for k in range(6))
    normal = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
    return np.sqrt(0.5 * normal + 3.0 * (xy * xy + yz * yz + zx * zx))


def signed_von_mises(history_MPa: ArrayLike) -> Array:
    """Von Mises stress of each state [step, place], MPa, with the sign of the principal stress of largest magnitude.

    For checks like static ones of proportional loads only: where directions turn, cycles vanish from it. Where shear
    governs its sign jumps. Raises InputFault: shape, NaN.
    """
    magnitude = von_mises(history_MPa)
    xx, yy, zz, xy, yz, zx = np.moveaxis(np.asarray(history_MPa, float), -1, 0)
    matrix = np.stack([xx, xy, zx, xy, yy, yz, zx, yz, zz], axis=-1).reshape(*xx.shape, 3, 3)
    principal = np.linalg.eigvalsh(matrix)
    return np.where(principal[..., 2] >= -principal[..., 0], magnitude, -magnitude)


def von_mises_range(history_MPa: ArrayLike) -> NoReturn:
    """Refused, always: the range of an unsigned equivalent stress hides cycles. Raises InputFault that says why.

    Bending and torsion of tau = sigma / sqrt(3), 90 degrees apart, have a constant von Mises stress though every
    component cycles: range zero, life without end.
    """
    allowed = (
        "the range of the von Mises stress is no measure of fatigue: it has no sign, and is constant where stress turns"
    )
    raise InputFault(Fault("history_MPa", f"array of shape {np.shape(history_MPa)}", allowed, INSTEAD))
