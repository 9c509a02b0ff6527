"""A half round in its groove under a force, for a contact solution: radii that are nearly equal, a block of finite depth."""

from __future__ import annotations

from dataclasses import dataclass

from .check import Checks

__all__ = ["RoundSeat"]

# of the groove over the round: a wider groove is line contact
MOST_PLAY = 1.2


@dataclass(frozen=True, kw_only=True)
class RoundSeat:
    """A half round with a flat top, pressed evenly into a groove.

    force_kN; radius_mm of the round; groove_radius_mm, above radius_mm; width_mm along the round's axis; depth_mm: of the
    block below and beside the groove, held at its far side. name: as it is told.
    """

    force_kN: float
    radius_mm: float
    groove_radius_mm: float
    width_mm: float
    depth_mm: float
    name: str = "half round in its groove"

    def __post_init__(self) -> None:
        checks = Checks()
        good = all(
            [
                checks.positive(f, getattr(self, f))
                for f in ("force_kN", "radius_mm", "groove_radius_mm", "width_mm", "depth_mm")
            ]
        )
        if good and not self.radius_mm < self.groove_radius_mm <= MOST_PLAY * self.radius_mm:
            checks.add(
                "groove_radius_mm", self.groove_radius_mm, f"must be above radius_mm = {self.radius_mm:g}, and at most {MOST_PLAY:g} times as large",
                "the play decides over what angle they touch: give it from the drawing's tolerances",
            )  # fmt: skip
        if good and not 0.2 <= self.depth_mm / self.groove_radius_mm <= 50:
            checks.add(
                "depth_mm",
                self.depth_mm,
                "must be 0.2 to 50 times groove_radius_mm",
                "depth of the block behind the groove",
            )
        checks.text("name", self.name)
        checks.done()

    @property
    def line_load_N_mm(self) -> float:
        """Force per mm along the axis."""
        return 1e3 * self.force_kN / self.width_mm
