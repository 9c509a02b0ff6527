"""What is wedged in a slot, as a study tells it beside its wedge_clamp: from it and the ring follows the pack whose contact is solved."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from ..errors import Fault, InputFault
from .check import Checks
from .flank import flank_height_mm, flank_length_mm
from .ring import Ring

if TYPE_CHECKING:
    from .contact_input import WedgePack

__all__ = ["ClampContact"]


@dataclass(frozen=True, kw_only=True)
class ClampContact:
    """Hammer and wedge in every slot of a ring. The fields mean what they mean in WedgePack; slot, wall and force come from ring and load.

    length_mm: along the flank, about its middle, over which the clamp bears (None: the whole flat flank).
    """

    hammer_mm: float
    wedge_height_mm: float
    driven: str
    taper_deg: float = 0.0
    friction: float = 0.0
    hammer_on: str = "leading"
    length_mm: float | None = None
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
        from .contact_input import check_pieces  # late, as below: every study knows this class, few use it

        checks = Checks()
        check_pieces(checks, self)
        checks.optional("length_mm", self.length_mm, "leave it out for the whole flat flank")
        checks.done()

    @property
    def proportional(self) -> bool:
        """Whether all pressures grow as the clamp force: flat faces without an angle touch with or without load."""
        return self.angle_error_mrad == 0 and self.crown_radius_mm is None

    def pack(self, ring: Ring, force_N: float) -> WedgePack:
        """The pack in this ring's slots. Raises InputFault, fields named as in the study: contact.hammer_mm."""
        from .contact_input import WedgePack

        length = flank_length_mm(ring, "leading")
        checks = Checks()
        if length <= 0:
            checks.add("kind", "wedge_clamp", f"a {ring.cutout.shape} has no flat leading and trailing flanks to wedge something between",
                       "use a slot whose corner radius leaves a flat flank")  # fmt: skip
        elif self.length_mm is not None:
            checks.number(
                "contact.length_mm",
                self.length_mm,
                above=0.0,
                most=length,
                way_out="the clamp must not leave the flat flank",
            )
        checks.done()
        given = {f.name: getattr(self, f.name) for f in fields(self)} | {"length_mm": self.length_mm or length}
        try:
            return WedgePack(
                slot_mm=2 * ring.cutout.half_x_mm, wall_mm=flank_height_mm(ring, "leading"), clamp_N=force_N, **given
            )
        except InputFault as error:
            raise InputFault([_named(fault) for fault in error.faults]) from None


def _named(fault: Fault) -> Fault:
    return fault.at("contact")
