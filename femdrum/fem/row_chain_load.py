"""What a chain of rows is asked to carry, and the refusal of what it cannot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import InputFault
from ..model.check import Checks
from ..model.ring import Ring
from .row_chain_end import RowEnd
from .unit_cases import meets_alike

__all__ = ["ALONG_SHELL", "GROWTH", "MOST_ROWS", "ChainLoad", "check_chain"]

# cases that act on the shell as a whole, so that no row can be picked for them
ALONG_SHELL = ("rotation", "internal_pressure", "axial", "torsion")
GROWTH = ("free", "held")
# rows that one chain may hold
MOST_ROWS = 60


@dataclass(frozen=True)
class ChainLoad:
    """A unit case by its name, in every row, or in the rows with these numbers (from 0)."""

    case: str
    rows: tuple[int, ...] | None = None

    @property
    def name(self) -> str:
        """Of the unit case in what the chain gives: the case's own, and the rows where not all are loaded."""
        return self.case if self.rows is None else f"{self.case} in row {', '.join(str(r) for r in self.rows)}"

    @property
    def parity(self) -> int:
        """1: the planes through the slots' middles mirror the field; -1: they turn its sign."""
        return -1 if self.case == "torsion" else 1


def check_chain(
    ring: Ring, rows_total: int, ends: tuple[RowEnd, RowEnd], loads: Sequence[ChainLoad], growth: str
) -> None:
    """Raise InputFault with everything that a chain cannot be, or cannot carry."""
    checks = Checks()
    if ring.rows == "helical":
        text = "rows that turn by an angle have no mirror planes"
        checks.add("rows", ring.rows, "must be 'aligned' or 'alternate'", text)
    if ring.slots_around < 2:
        checks.add("slots_around", ring.slots_around, "must be at least 2", "one slot a row bends the drum as a beam")
    if ring.cutout.sharp:
        checks.add("cutout", ring.cutout.shape, "must have a corner radius", "at a sharp corner no peak exists")
    counted = checks.whole("rows_total", rows_total, 1, MOST_ROWS)
    flat = all(end.flat for end in ends)
    if checks.one_of("growth", growth, GROWTH) and growth == "held" and not flat:
        checks.add("growth", growth, "needs flat ends, hold 'flat' or 'endless'", "or leave the growth free")
    names = [load.name for load in loads]
    if not names or len(set(names)) < len(names):
        checks.add("loads", names, "must be at least one, each asked once")
    for load in loads:
        if load.case != "torsion" and not meets_alike(ring, load.case):
            text = "known are those that do: rotation, hung, clamp:all, strut:all, internal_pressure, axial, torsion"
            checks.add("load", load.case, "does not meet all slots of a row alike", text)
        if load.rows is not None and load.case in ALONG_SHELL:
            checks.add("load.rows", load.rows, f"does not go with {load.case}, which acts along the whole shell")
        elif load.rows is not None and counted and not (load.rows and set(load.rows) <= set(range(rows_total))):
            checks.add("load.rows", load.rows, f"must be numbers of rows from 0 to {rows_total - 1}")
        if load.case == "axial" and (growth == "held" or not flat):
            checks.add("load", load.case, "needs flat ends that may move apart", "hold 'flat' and growth 'free'")
        if load.case == "torsion" and any(end.hold == "open" for end in ends):
            checks.add("load", load.case, "needs ends that carry the torque", "an open end carries none")
    faults = list(checks.faults)
    for end, name in zip(ends, ("first", "last"), strict=True):
        try:
            end.check(ring, name)
        except InputFault as fault:
            faults += fault.faults
    if faults:
        raise InputFault(faults)
