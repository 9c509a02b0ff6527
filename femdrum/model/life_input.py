"""What a life is reckoned for: how many places, how long, how sure, and with which rules."""

from __future__ import annotations

from dataclasses import dataclass

from .check import Checks
from .crack_input import CrackInput
from .finish import Finish
from .scatter_input import ScatterInput
from .weld import WeldDetail

__all__ = ["BEYOND", "RULES", "SIZES", "LifeInput"]

# of mean stress; the first is the main rule
RULES = ("fkm", "goodman", "gerber", "swt", "morrow")
# the S-N curve beyond its knee: slope 2k - 1, or k as before it
BEYOND = ("haibach", "elementary")
SIZES = ("area", "places")


@dataclass(frozen=True, kw_only=True)
class LifeInput:
    """The table [life].

    target_h: hours of the machine that the drum shall last. rows_total: rows of slots on the whole drum (a ring needs it:
    equal corners weaken each other). finish: how the slot's edge was cut. survival: share of drums that live longer.
    rule: of mean stress. beyond: the S-N curve beyond its knee. size: how many equal places count, by the stressed area of
    all of them ("area") or as places any of which may fail ("places"); the two are one effect. load_factor: on all
    stresses, for loads that nobody has measured.
    """

    target_h: float
    finish: Finish
    rows_total: int | None = None
    survival: float = 0.975
    rule: str = "fkm"
    beyond: str = "haibach"
    size: str = "area"
    load_factor: float = 1.0
    crack: CrackInput | None = None
    scatter: ScatterInput | None = None
    welds: tuple[WeldDetail, ...] = ()

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("target_h", self.target_h, above=0.0, most=1e7, way_out="hours that the drum shall last")
        if not isinstance(self.finish, Finish):
            checks.add("finish", self.finish, "must be a Finish: how the edge was cut")
        if self.rows_total is not None:
            checks.whole("rows_total", self.rows_total, 1, 10_000, "rows of slots on the whole drum")
        checks.number("survival", self.survival, least=0.5, below=1.0, way_out="0.975 is usual")
        checks.one_of("rule", self.rule, RULES)
        checks.one_of("beyond", self.beyond, BEYOND)
        checks.one_of("size", self.size, SIZES)
        checks.number("load_factor", self.load_factor, least=0.1, most=10.0)
        checks.done()
