"""A weld as the engineer names it: which detail of the table, how thick, where, and by which stress it is judged."""

from __future__ import annotations

from dataclasses import dataclass

from .check import Checks

__all__ = ["WELD_METHODS", "WELD_PLACES", "WeldDetail"]

WELD_METHODS = ("hot spot", "effective notch", "nominal")
WELD_PLACES = ("drum end", "shell", "near slot")


@dataclass(frozen=True, kw_only=True)
class WeldDetail:
    """A weld, a hardfacing, or a plate edge that is judged by a class.

    detail: a name of the table of classes. thickness_mm: of the plate that would crack. place: "drum end", "shell" or
    "near slot"; the last needs distance_from_slot_mm, from the slot's end to the weld's toe or to the rim of the
    hardfacing. method: "hot spot", "effective notch" or "nominal". as_welded: False only after stress relief or a
    treatment of the toe, with `procedure_record` naming the record of it. Raises InputFault.
    """

    name: str
    detail: str
    thickness_mm: float
    place: str = "drum end"
    distance_from_slot_mm: float | None = None
    method: str = "hot spot"
    as_welded: bool = True
    procedure_record: str = ""

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.text("detail", self.detail)
        checks.number("thickness_mm", self.thickness_mm, above=0.0, most=500.0)
        placed = checks.one_of("place", self.place, WELD_PLACES)
        checks.one_of("method", self.method, WELD_METHODS)
        if placed and self.place == "near slot":
            checks.number(
                "distance_from_slot_mm", self.distance_from_slot_mm, least=0.0,
                way_out="from the slot's end to the toe of the weld or to the rim of the hardfacing",
            )  # fmt: skip
        elif self.distance_from_slot_mm is not None:
            checks.number("distance_from_slot_mm", self.distance_from_slot_mm, least=0.0)
        if checks.truth("as_welded", self.as_welded) and not self.as_welded and not self.procedure_record.strip():
            checks.add(
                "procedure_record", self.procedure_record, "must name the record of the stress relief or treatment",
                "without a record the weld counts as welded: as_welded = true",
            )  # fmt: skip
        checks.done()
