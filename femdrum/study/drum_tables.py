"""[drum] and [[drum.state]] of a study file: the rest of the drum around the ring, for the map of all slots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault
from .reading import Document

if TYPE_CHECKING:
    from ..assess.life_plan import DrumPlan
    from ..model.duty import Duty

__all__ = ["drum_faults", "drum_of"]


def drum_of(doc: Document, duty: Sequence[Duty]) -> tuple[DrumPlan | None, list[Fault]]:
    """The drum around the ring, None where the study has none; and all that is wrong with it."""
    value = doc.values.get("drum")
    if value is None:
        return None, []
    # late: the whole drum is more than most studies ask for
    from ..assess.life_plan import DrumPlan
    from ..model.drum_input import DrumInput
    from ..rotor.row_state import RowState
    from .sheet import Maker

    maker = Maker(doc)
    if not isinstance(value, dict):
        maker.add(("drum",), MISSING if isinstance(value, list) else value, "must be one table, [drum]")
        return None, maker.faults
    drum = maker.made(DrumInput, {k: v for k, v in value.items() if k != "state"}, ("drum",))
    states = maker.made(tuple[RowState, ...], value.get("state", []), ("drum", "state")) or ()
    faults = maker.faults
    if not faults:
        given = Counter(s.condition for s in states)
        needed = dict.fromkeys(name for row in duty for name in (row.condition, row.back_to) if name)
        for name in needed:
            if name not in given:
                faults.append(Fault("drum.state", MISSING, f"says nothing of condition {name!r}, which the duty uses",
                                    "add [[drum.state]] with this condition and its speed_rpm, 0 at rest", doc.line(("drum",))))  # fmt: skip
        for n, state in enumerate(states):
            if given[state.condition] > 1:
                maker.add(("drum", "state", n, "condition"), state.condition, "has more than one state", "keep one")
    return (None, faults) if faults else (DrumPlan(drum, states), [])


def drum_faults(plan: DrumPlan, part: Any) -> list[Fault]:
    """What of the drum does not fit a variant's ring."""
    if part.kind != "ring":
        return [Fault("drum", MISSING, f"goes around a ring, not a {part.kind}", "leave it out")]
    faults = []
    try:
        drum = plan.drum.around(part)
    except InputFault as error:
        return [fault.at("drum") for fault in error.faults]
    for state in plan.states:
        try:
            state.check(drum)
        except InputFault as error:
            faults += [fault.at(f"drum.state {state.condition!r}") for fault in error.faults]
    return faults
