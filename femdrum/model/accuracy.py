"""How exact the answer must be, and what it may cost."""

from __future__ import annotations

from dataclasses import dataclass

from .check import Checks

__all__ = ["Accuracy"]


@dataclass(frozen=True, kw_only=True)
class Accuracy:
    """error: wanted relative band of the peak; most_unknowns, most_seconds: the budget of one variant."""

    error: float = 0.01
    most_unknowns: int = 400_000
    most_seconds: float = 600.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("error", self.error, least=1e-5, most=0.2, way_out="0.01 is 1 %")
        checks.whole("most_unknowns", self.most_unknowns, 1_000, 20_000_000)
        checks.positive("most_seconds", self.most_seconds)
        checks.done()
