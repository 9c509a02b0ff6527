"""The drum's end in a study: its drawing, how its stub was finished, and what each condition does to it."""

from __future__ import annotations

from dataclasses import dataclass, field

from .check import Checks
from .drum_end import DrumEnd, DrumEndLoads
from .finish import Finish

__all__ = ["EndInput", "EndState"]

MILLED = Finish(process="milled")


@dataclass(frozen=True, kw_only=True)
class EndState:
    """What a condition of the study does to the drum's end; signs as in DrumEndLoads, forces in kN, moments in N m.

    Nothing given is an end at rest.
    """

    condition: str
    speed_rpm: float = 0.0
    thrust_kN: float = 0.0
    torque_Nm: float = 0.0
    bending_Nm: float = 0.0
    shear_kN: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("condition", self.condition)
        checks.number("speed_rpm", self.speed_rpm, least=0.0, most=20_000.0)
        for name in ("thrust_kN", "torque_Nm", "bending_Nm", "shear_kN"):
            checks.number(name, getattr(self, name))
        checks.done()

    @property
    def loads(self) -> DrumEndLoads | None:
        """In N and N mm; None at rest."""
        values = (
            self.speed_rpm,
            1e3 * self.thrust_kN,
            1e3 * self.torque_Nm,
            1e3 * self.bending_Nm,
            1e3 * self.shear_kN,
        )
        if not any(values):
            return None
        names = ("speed_rpm", "thrust_N", "torque_Nmm", "bending_Nmm", "shear_N")
        return DrumEndLoads(**dict(zip(names, values, strict=True)))


@dataclass(frozen=True, kw_only=True)
class EndInput:
    """The tables [drum_end], [drum_end.finish] of the stub's fillet (milled unless given), and [[drum_end.state]]."""

    end: DrumEnd
    states: tuple[EndState, ...]
    finish: Finish = field(default=MILLED)
