"""What a condition of a study is to the whole rotor."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.check import Checks
from .running import Running

__all__ = ["RowState"]


@dataclass(frozen=True, kw_only=True)
class RowState(Running):
    """A running state that belongs to a condition of the study. At rest: speed_rpm = 0."""

    condition: str

    def __post_init__(self) -> None:
        super().__post_init__()
        checks = Checks()
        checks.text("condition", self.condition)
        checks.done()
