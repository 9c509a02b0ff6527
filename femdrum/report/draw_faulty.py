"""Drawings of a part that a study describes wrongly: as far as its sizes are numbers, with the faults in words beside it."""

from __future__ import annotations

from collections.abc import Iterable
from types import SimpleNamespace
from typing import Any

from ..errors import Fault, InputFault
from ..model.cutout import CUTOUTS
from ..study.reading import parse
from .draw_plate import PlateDrawing
from .draw_ring import RingDrawing
from .draw_scene import Drawn
from .draw_slot import SlotDrawing
from .picture import Picture

__all__ = ["faulty_drawings"]

MOST_TOLD = 6
_SIZES = {
    "ring": ("outer_diameter_mm", "wall_mm", "pitch_mm"),
    "plate": ("length_mm", "width_mm", "thickness_mm"),
    "plate_row": ("pitch_mm", "width_mm", "thickness_mm"),
}
MOST_SLOTS = 48


def faulty_drawings(text: str, faults: Iterable[Fault]) -> list[Picture]:
    """Drawings of the part in a study's text; of a list of values the one that is at fault. Empty where too little is given to draw."""
    told = list(faults)
    try:
        part = parse(text, "study").values.get("part")
    except InputFault:
        return []
    if not isinstance(part, dict) or part.get("kind") not in _SIZES:
        return []
    sizes: dict[str, Any] = {
        key: _chosen(f"part.{key}", value, told) for key, value in part.items() if not isinstance(value, dict)
    }
    given = part.get("cutout")
    cutout = (
        _cutout({k: _chosen(f"part.cutout.{k}", v, told) for k, v in given.items()})
        if isinstance(given, dict)
        else None
    )
    kind = str(part["kind"])
    if cutout is None or not all(_size(sizes.get(name)) for name in _SIZES[kind]):
        return []
    words = tuple(f"At fault: {fault}" for fault in told[:MOST_TOLD])
    if len(told) > MOST_TOLD:
        words = (*words, f"and {len(told) - MOST_TOLD} more faults")
    if kind != "ring":
        along = sizes["pitch_mm"] if kind == "plate_row" else sizes["length_mm"]
        plate = SimpleNamespace(kind=kind, cutout=cutout, half_x_mm=0.5 * along, half_y_mm=0.5 * sizes["width_mm"], **{
            name: sizes[name] for name in _SIZES[kind]})  # fmt: skip
        return [PlateDrawing(Drawn(plate), words), SlotDrawing(Drawn(plate))]
    count = sizes.get("slots_around")
    whole = isinstance(count, int) and not isinstance(count, bool) and 1 <= count <= MOST_SLOTS
    if (
        not whole
        or 2 * sizes["wall_mm"] >= sizes["outer_diameter_mm"]
        or sizes["outer_diameter_mm"] > 1e3 * sizes["pitch_mm"]
    ):
        return []
    turn, chamfer = sizes.get("row_angle_deg"), sizes.get("edge_break_mm")
    ring = SimpleNamespace(
        kind="ring", cutout=cutout, slots_around=count, rows=str(sizes.get("rows", "aligned")), held="nothing", block_rows=1,
        row_angle_deg=turn if _number(turn) else None, edge_break_mm=chamfer if _size(chamfer) else 0.0,
        **{name: float(sizes[name]) for name in _SIZES["ring"]},
    )  # fmt: skip
    drawn = Drawn(ring)
    return [RingDrawing(drawn, words), SlotDrawing(drawn)]


def _chosen(key: str, value: Any, faults: list[Fault]) -> Any:
    """Of a list the value at fault, else its first."""
    if not isinstance(value, list):
        return value
    wrong = [f.value for f in faults if f.field == key]
    return next((v for v in value if any(v is w or v == w for w in wrong)), value[0] if value else None)


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e6


def _size(value: Any) -> bool:
    return _number(value) and value > 0


def _cutout(fields: dict[str, Any]) -> Any:
    """The cutout, a slot whose radius is too large with sharp corners; None where it cannot be drawn."""
    shape = fields.pop("shape", None)
    if not isinstance(shape, str) or shape not in CUTOUTS:
        return None
    for attempt in (fields, {**fields, "corner_radius_mm": 0.0}):
        try:
            return CUTOUTS[shape](**attempt)
        except (InputFault, TypeError):
            continue
    return None
