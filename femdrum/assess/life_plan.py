"""What a study asks about life: the rows of the duty with their counted histories, and what is reckoned from them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..model.duty import Duty
from ..model.end_input import EndInput
from ..model.life_input import LifeInput

if TYPE_CHECKING:
    from ..model.drum_input import DrumInput
    from ..rotor.row_state import RowState
    from ..strength.cycles import Cycles

__all__ = ["DrumPlan", "LifePlan"]


@dataclass(frozen=True)
class DrumPlan:
    """The whole drum around the ring, and what each condition is to its rotor."""

    drum: DrumInput
    states: tuple[RowState, ...]


@dataclass(frozen=True)
class LifePlan:
    """measured: cycles of one pass of the history of a row, by the row's name, in the unit of its signal.
    end: the drum's end, judged beside the slots under the same duty. drum: for the map of all slots.
    """

    wanted: LifeInput
    duty: tuple[Duty, ...]
    measured: Mapping[str, Cycles] = field(default_factory=dict)
    end: EndInput | None = None
    drum: DrumPlan | None = None
