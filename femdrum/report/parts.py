"""From a stored variant's plain inputs back to the part and its loads, also with another value on an axis."""

from __future__ import annotations

import copy
from typing import Any

from ..model.cutout import CUTOUTS
from ..model.load import LOADS, Load
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from ..study import StoredVariant

__all__ = ["Part", "axis_number", "load_of", "part_of", "with_value"]

Part = Plate | PlateRow | Ring
# the two names of one size
_TWINS = {"around_mm": "size_x_mm", "axial_mm": "size_y_mm", "size_x_mm": "around_mm", "size_y_mm": "axial_mm"}
_PARTS: dict[str, Any] = {c.kind: c for c in (Plate, PlateRow, Ring)}


def part_of(inputs: dict[str, Any]) -> Part | None:
    """The part, or None for a kind without a slot of known shape (a mesh)."""
    fields = dict(inputs["part"])
    kind = _PARTS.get(fields.pop("kind"))
    if kind is None:
        return None
    cutout = dict(fields.pop("cutout"))
    part: Part = kind(**fields, cutout=CUTOUTS[cutout.pop("shape")](**cutout))
    return part


def load_of(inputs: dict[str, Any], case: str) -> Load:
    """The load of this name."""
    for given in inputs["load"]:
        if given["name"] == case:
            fields = dict(given)
            load: Load = LOADS[fields.pop("kind")](**fields)
            return load
    raise KeyError(case)


def with_value(inputs: dict[str, Any], key: str, value: Any) -> dict[str, Any]:
    """The inputs with another value of `part.cutout.corner_radius_mm` or the like; loads and others stay."""
    out = copy.deepcopy(inputs)
    home = out
    *way, last = key.split(".")
    for step in way:
        if not isinstance(home.get(step), dict):
            return out  # a load's or an extra table's value: the plane curves do not depend on it
        home = home[step]
    home[last] = value
    home.pop(_TWINS.get(last, ""), None)
    return out


def axis_number(variant: StoredVariant, column: str) -> float | None:
    """A variant's value on an axis as a number, a full round as its radius. None where it is not a number."""
    value = variant.axes.get(column)
    if value == "full":
        part = part_of(variant.inputs)
        return None if part is None else float(getattr(part.cutout, "radius_mm", 0.0)) or None
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
