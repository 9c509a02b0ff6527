"""A hammer and its wedge between the flanks of a slot, in the plane section across the drum: what is pressed on what."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from ..errors import MISSING
from .check import Checks
from .clamp import DRIVEN

__all__ = ["HAMMER_ON", "WedgePack", "check_pieces"]

HAMMER_ON = ("leading", "trailing")
# a coefficient of friction above is a slip of the pen
MOST_FRICTION = 1.0
# steeper angular errors than this are no errors of machining, and large turns for a theory of small ones
MOST_ANGLE_MRAD = 20.0


def check_pieces(checks: Checks, pieces: Any) -> bool:
    """Hammer, wedge and faces as far as they can be judged without the slot; whether all of it is sound."""
    good = all([checks.positive(name, getattr(pieces, name)) for name in ("hammer_mm", "wedge_height_mm")])
    for name in ("hammer_inside_mm", "hammer_outside_mm"):
        if getattr(pieces, name) is not None:
            good &= checks.number(name, getattr(pieces, name), least=0.0, way_out="0: flush with the wall")
    for name in ("crown_radius_mm", "piece_mm", "push_stiffness_N_mm", "turn_stiffness_Nmm_rad"):
        good &= checks.optional(name, getattr(pieces, name), "leave it out if there is none")
    good &= checks.one_of("hammer_on", pieces.hammer_on, HAMMER_ON)
    good &= checks.number(
        "friction", pieces.friction, least=0.0, most=MOST_FRICTION,
        way_out="a coefficient, not an angle or per cent; steel on steel 0.05 to 0.3",
    )  # fmt: skip
    good &= checks.number(
        "angle_error_mrad", pieces.angle_error_mrad, least=-MOST_ANGLE_MRAD, most=MOST_ANGLE_MRAD,
        way_out="in mrad: 0.02 mm over 60 mm are 0.333",
    )  # fmt: skip
    good &= _check_drive(checks, pieces)
    for name in ("wedge_middle_mm", "crown_middle_mm"):
        good &= checks.number(name, getattr(pieces, name))
    return good & checks.number("edge_radius_mm", pieces.edge_radius_mm, least=0.0, way_out="0: sharp")


def _check_drive(checks: Checks, pieces: Any) -> bool:
    known = checks.one_of("driven", pieces.driven, DRIVEN, "it decides where the wedge's taper lies")
    good = checks.number("taper_deg", pieces.taper_deg, least=0.0, below=45.0, way_out="angle between its two faces")
    if known and good and pieces.driven == "along" and pieces.taper_deg:
        checks.add(
            "taper_deg", pieces.taper_deg, "must be 0 in this section: a wedge driven along the axis tapers along it",
            "leave it out; its taper decides the clamp force, which is given here",
        )  # fmt: skip
        return False
    if known and good and pieces.driven != "along" and not pieces.taper_deg:
        checks.add(
            "taper_deg", MISSING, f"is missing; a wedge driven {pieces.driven} has its taper in this section",
            "give the angle between its faces",
        )  # fmt: skip
        return False
    if known and good and pieces.driven != "along" and pieces.friction and pieces.hammer_inside_mm is None:
        checks.add(
            "hammer_inside_mm", MISSING, "is missing; must be a finite number at least 0",
            "the taper pushes the hammer along the slot: give the length from the bore to what holds it, its stop or the drum's axis",
        )  # fmt: skip
        return False
    return known and good


@dataclass(frozen=True, kw_only=True)
class WedgePack:
    """The plane section through a slot: x around the drum, y outward from the middle of the wall.

    slot_mm: between the flanks; wall_mm: height of a flank, bore to outer surface; length_mm: along the drum's axis, over which the
    clamp bears evenly. clamp_N: force on each flank. hammer_mm: the bar's thickness around the drum, at the middle of the wall; it lies on the
    flank hammer_on ("leading" or "trailing"), the wedge fills the rest. hammer_inside_mm, hammer_outside_mm: how far the bar
    reaches beyond bore and outer surface (None: by its own thickness, beyond which it hardly matters). Its inner end is held along the
    slot: with a taper in this section and friction hammer_inside_mm must reach to what holds it, a stop or the middle of a through-bar.
    wedge_height_mm: along the flank; wedge_middle_mm: height of its middle. driven "along" the drum's axis: its taper lies in another plane, and taper_deg
    is 0 here; "inward" (the gap narrows towards the axis) or "outward": taper_deg is the angle of its face on the hammer.
    friction: of all faces. angle_error_mrad: between the hammer's face and its flank, positive open at the outer rim.
    crown_radius_mm: of that face, top at crown_middle_mm (None: flat). edge_radius_mm: of the flanks' rims and the wedge's ends (0: sharp, then there is
    no peak pressure, it grows with every finer mesh). piece_mm: length of wall modelled beside each flank (None: the wall's
    height), its far end held stiffly or on springs: push_stiffness_N_mm around the drum, turn_stiffness_Nmm_rad of the whole length_mm.
    """

    slot_mm: float
    wall_mm: float
    length_mm: float
    clamp_N: float
    hammer_mm: float
    wedge_height_mm: float
    driven: str
    taper_deg: float = 0.0
    friction: float = 0.0
    hammer_on: str = "leading"
    hammer_inside_mm: float | None = None
    hammer_outside_mm: float | None = None
    wedge_middle_mm: float = 0.0
    angle_error_mrad: float = 0.0
    crown_radius_mm: float | None = None
    crown_middle_mm: float = 0.0
    edge_radius_mm: float = 0.0
    piece_mm: float | None = None
    push_stiffness_N_mm: float | None = None
    turn_stiffness_Nmm_rad: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        sizes = ("slot_mm", "wall_mm", "length_mm", "clamp_N")
        good = all([checks.positive(name, getattr(self, name)) for name in sizes])
        good &= check_pieces(checks, self)
        if good:
            self._check_sizes(checks)
        checks.done()

    def _check_sizes(self, checks: Checks) -> None:
        if self.hammer_mm >= self.slot_mm:
            checks.add(
                "hammer_mm", self.hammer_mm, f"leaves no room for a wedge: must be below slot_mm = {self.slot_mm:g}",
                "make the hammer thinner or the slot wider",
            )  # fmt: skip
            return
        slope = math.tan(math.radians(self.taper_deg))
        reach = max(abs(end) for end in self.wedge_ends_mm)
        if self.wedge_mm <= slope * reach * 1.02:
            checks.add(
                "taper_deg", self.taper_deg, f"the wedge of {self.wedge_mm:g} mm runs out to nothing within {reach:g} mm",
                "less taper, a thicker or a shorter wedge",
            )  # fmt: skip
        ends = [abs(y) for y in self.hammer_ends_mm]
        if self.hammer_mm <= slope * max(ends) * 1.02:
            checks.add(
                "hammer_mm",
                self.hammer_mm,
                "the hammer's seat for the wedge cuts it through",
                "less taper or a shorter hammer",
            )
        low, high = self.wedge_ends_mm
        half = 0.5 * self.wall_mm
        if min(high, half) - max(low, -half) < 0.2 * min(self.wall_mm, self.wedge_height_mm):
            checks.add(
                "wedge_middle_mm",
                self.wedge_middle_mm,
                "leaves less than a fifth of the wedge on the flank",
                "0: in the middle",
            )
        if low < self.hammer_ends_mm[0] or high > self.hammer_ends_mm[1]:
            checks.add(
                "wedge_height_mm", self.wedge_height_mm,
                f"the wedge reaches from {low:g} to {high:g} mm, beyond the hammer's end ({self.hammer_ends_mm[0]:g} to {self.hammer_ends_mm[1]:g})",
                "a longer hammer or a shorter wedge",
            )  # fmt: skip
        most = 0.2 * min(self.wall_mm, self.wedge_height_mm, self.wedge_mm)
        if self.edge_radius_mm > most:
            checks.add(
                "edge_radius_mm",
                self.edge_radius_mm,
                f"must be at most {most:.4g} mm, a fifth of wall, wedge and wedge height",
            )
        if self.crown_radius_mm is not None and self.crown_radius_mm < 2 * self.wall_mm:
            checks.add(
                "crown_radius_mm", self.crown_radius_mm, f"must be at least {2 * self.wall_mm:g} mm, twice the wall",
                "a crown is a flat face, slightly round",
            )  # fmt: skip
        if abs(self.crown_middle_mm) > half:
            checks.add(
                "crown_middle_mm",
                self.crown_middle_mm,
                f"must lie on the flank, within {half:g} mm of its middle",
                "0: in the middle",
            )

    @property
    def wedge_mm(self) -> float:
        """The wedge's thickness at the middle of the wall."""
        return self.slot_mm - self.hammer_mm

    @property
    def wedge_ends_mm(self) -> tuple[float, float]:
        """Heights of the wedge's inner and outer end."""
        return self.wedge_middle_mm - 0.5 * self.wedge_height_mm, self.wedge_middle_mm + 0.5 * self.wedge_height_mm

    @property
    def hammer_ends_mm(self) -> tuple[float, float]:
        """Heights of the hammer's inner and outer end as modelled."""
        inside = self.hammer_mm if self.hammer_inside_mm is None else self.hammer_inside_mm
        outside = self.hammer_mm if self.hammer_outside_mm is None else self.hammer_outside_mm
        return -0.5 * self.wall_mm - inside, 0.5 * self.wall_mm + outside

    @property
    def piece_length_mm(self) -> float:
        """Length of wall modelled beside each flank."""
        return self.wall_mm if self.piece_mm is None else self.piece_mm

    @property
    def line_load_N_mm(self) -> float:
        """Clamp force per mm of length."""
        return self.clamp_N / self.length_mm

    @property
    def taper_slope(self) -> float:
        """How much thicker the wedge becomes outward, mm per mm; negative where it is driven outward."""
        slope = math.tan(math.radians(self.taper_deg))
        return slope if self.driven == "inward" else -slope

    @property
    def wedge_on(self) -> str:
        """The flank that the wedge lies on."""
        return HAMMER_ON[1 - HAMMER_ON.index(self.hammer_on)]
