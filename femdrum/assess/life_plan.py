"""What a study asks about life: the rows of the duty with their counted histories, and what is reckoned from them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..model.duty import Duty
from ..model.end_input import EndInput
from ..model.life_input import LifeInput
from ..strength.cycles import Cycles

__all__ = ["LifePlan"]


@dataclass(frozen=True)
class LifePlan:
    """measured: cycles of one pass of the history of a row, by the row's name, in the unit of its signal.
    end: the drum's end, judged beside the slots under the same duty.
    """

    wanted: LifeInput
    duty: tuple[Duty, ...]
    measured: Mapping[str, Cycles] = field(default_factory=dict)
    end: EndInput | None = None
