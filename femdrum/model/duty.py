"""How often a condition occurs: the rows of the duty, per 1,000 hours."""

from __future__ import annotations

from dataclasses import dataclass

from .check import Checks

__all__ = ["CYCLES", "Duty"]

CYCLES = ("steady", "pulsating", "reversed", "rotating")
_MOST = 1e13


@dataclass(frozen=True, kw_only=True)
class Duty:
    """One row: a condition (or a single load), how it comes and goes, and how often in 1,000 h of the machine.

    cycle: "steady": applied from rest, held, taken away, such as start and stop; "pulsating": from the state `back_to` to the
    condition and back; "reversed": likewise, and as far to the other side; "rotating": held for `hours_per_1000_h` while
    the drum turns at speed_rpm (the machine's unless given), so that what stands still in space makes a cycle each turn.
    back_to: name of the condition between the occurrences; rest where it is not given.
    history: a CSV file of a measured signal against time, beside the study; its column `column` scales the condition,
    which was stated at the signal's value `stated_at`; per_1000_h is then how many times the whole recording passes.
    """

    condition: str
    cycle: str = "pulsating"
    per_1000_h: float | None = None
    hours_per_1000_h: float | None = None
    speed_rpm: float | None = None
    back_to: str = ""
    history: str = ""
    column: str = ""
    stated_at: float | None = None
    name: str = ""

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("condition", self.condition)
        known = checks.one_of("cycle", self.cycle, CYCLES)
        if not self.name:
            object.__setattr__(self, "name", self._called())
        checks.text("name", self.name)
        if not isinstance(self.back_to, str):
            checks.add("back_to", self.back_to, "must be the name of a condition")
        if known and self.cycle == "rotating":
            checks.number("hours_per_1000_h", self.hours_per_1000_h, above=0.0, most=1000.0,
                          way_out="a rotating row counts hours of turning in 1,000 h")  # fmt: skip
            if self.speed_rpm is not None:
                checks.number("speed_rpm", self.speed_rpm, above=0.0, most=100_000.0)
            self._without(checks, "per_1000_h", "back_to", "history", "column", "stated_at")
        elif known:
            checks.number("per_1000_h", self.per_1000_h, above=0.0, most=_MOST,
                          way_out="how often it occurs in 1,000 h; leave out a row that never occurs")  # fmt: skip
            self._without(checks, "hours_per_1000_h", "speed_rpm")
            if self.cycle == "steady":
                self._without(checks, "back_to")
            if self.history:
                self._measured(checks)
            else:
                self._without(checks, "column", "stated_at", why="belongs to a measured history")
        checks.done()

    def _called(self) -> str:
        return f"{self.condition}, {'measured' if self.history else self.cycle}"[:80]

    def _measured(self, checks: Checks) -> None:
        if self.cycle != "pulsating":
            checks.add("cycle", self.cycle, "must be 'pulsating' with a measured history, which has its own cycles")
        checks.text("column", self.column)
        checks.nonzero("stated_at", self.stated_at, "the value of the signal at which the condition was stated")

    def _without(self, checks: Checks, *names: str, why: str = "") -> None:
        for name in names:
            value = getattr(self, name)
            if value not in (None, ""):
                checks.add(name, value, why or f"does not go with cycle {self.cycle!r}", "leave it out")
