"""A single plane question, put together from plain words: shape, sizes, load."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from ..errors import MISSING, Fault, InputFault, nearest
from ..model.cutout import CUTOUTS
from ..model.load import LOADS, Load
from ..model.plate import Plate, PlateRow

__all__ = ["LOAD_DEFAULTS", "flag", "plate_and_load", "question_fields"]

# Kt does not depend on the size of a load, but a load must have one
LOAD_DEFAULTS: dict[str, dict[str, float]] = {
    "tension": {"stress_MPa": 100.0},
    "biaxial": {"stress_x_MPa": 100.0, "stress_y_MPa": 100.0},
    "shear": {"shear_MPa": 100.0},
}
_PLATE = ("length_mm", "width_mm", "thickness_mm", "pitch_mm")
_THICKNESS_MM = 10.0  # without influence on a plane stress


def flag(field: str) -> str:
    """`corner_radius_mm` -> `--corner-radius-mm`."""
    return "--" + field.replace("_", "-")


def question_fields(shape: str) -> tuple[str, ...]:
    """All fields that may be given for a shape."""
    cutout = [f.name for f in dataclasses.fields(CUTOUTS[shape]) if f.name not in ("around_mm", "axial_mm")]
    loads = [f.name for kind in LOAD_DEFAULTS for f in dataclasses.fields(LOADS[kind]) if f.name != "name"]
    return tuple(dict.fromkeys([*cutout, *_PLATE, *loads]))


def plate_and_load(shape: str, load: str, given: Mapping[str, Any]) -> tuple[Plate | PlateRow, Load]:
    """The plate and the load; faults name the flags. Without a length the plate is long, without a pitch alone."""
    faults: list[Fault] = []
    if shape not in CUTOUTS:
        raise InputFault(Fault("SHAPE", shape, f"must be one of {', '.join(CUTOUTS)}", nearest(shape, CUTOUTS)))
    if load not in LOAD_DEFAULTS:
        raise InputFault(
            Fault("--load", load, f"must be one of {', '.join(LOAD_DEFAULTS)}", nearest(load, LOAD_DEFAULTS))
        )
    cutout = _made(CUTOUTS[shape], _of(CUTOUTS[shape], given), faults)
    wanted = {"thickness_mm": _THICKNESS_MM, **{k: v for k, v in given.items() if k in _PLATE}}
    cls = PlateRow if "pitch_mm" in given else Plate
    if cls is PlateRow and "length_mm" in given:
        faults.append(
            Fault("--length-mm", given["length_mm"], "cannot stand beside --pitch-mm", "a row is endless along x")
        )
    width = wanted.get("width_mm")
    if cutout is not None and isinstance(width, (int, float)) and width > 0:
        wanted.setdefault("length_mm", 2 * cutout.half_x_mm + 4 * width)
    elif cls is Plate:
        wanted.setdefault("length_mm", 1.0)  # the width's own fault tells
    part = _made(cls, {**_of(cls, wanted), "cutout": MISSING if cutout is None else cutout}, faults)
    own = {f.name for f in dataclasses.fields(LOADS[load])}
    others = {f.name for k in LOAD_DEFAULTS for f in dataclasses.fields(LOADS[k])} - own
    for name in given.keys() & others:
        faults.append(Fault(flag(name), given[name], f"does not belong to --load {load}"))
    action = _made(LOADS[load], _of(LOADS[load], {**LOAD_DEFAULTS[load], **given}), faults)
    if faults:
        raise InputFault([f for f in faults if f.field != "--cutout"] or faults)
    return part, action


def _of(cls: Any, given: Mapping[str, Any]) -> dict[str, Any]:
    """The values that belong to a class, with the ones it needs and lacks as missing."""
    out = {}
    for f in dataclasses.fields(cls):
        if f.name in given:
            out[f.name] = given[f.name]
        elif f.default is dataclasses.MISSING:
            out[f.name] = MISSING
    return out


def _made(cls: Any, values: dict[str, Any], faults: list[Fault]) -> Any:
    try:
        return cls(**values)
    except InputFault as error:
        for fault in error.faults:
            faults.append(dataclasses.replace(fault, field=flag(fault.field)))
        return None
