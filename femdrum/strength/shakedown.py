"""Where the elastic stress exceeds yield: what the flow leaves behind, and what holds from then on.

At a notch the elastic surroundings decide, so a place that has yielded once may answer elastically ever after (it
shakes down) if its elastic range does not exceed twice the yield strength: a residual stress then exists that keeps
both ends of the range within yield (Melan's theorem for one stress). A larger range flows every cycle, both ways, and
strain life holds. None of this needs the net section to yield; where that does, the shell grows cycle by cycle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..figure import Figure
from ..model.check import Checks
from ..provenance import Provenance, common_practice, computed

__all__ = ["ALTERNATES", "ELASTIC", "GROWS", "SHAKES_DOWN", "Shakedown", "shakedown"]

Array = NDArray[np.float64]

ELASTIC = "elastic"
SHAKES_DOWN = "yields once, then elastic"
ALTERNATES = "yields every cycle"
GROWS = "net section yields"
# from harmless to worst
STATES = (ELASTIC, SHAKES_DOWN, ALTERNATES, GROWS)

WORDS = {
    ELASTIC: "elastic: stress life holds",
    SHAKES_DOWN: "yields locally once and then answers elastically: stress life holds, with the residual stress as mean",
    ALTERNATES: "yields locally every cycle, both ways: strain life holds, stress life does not",
    GROWS: "the net section yields: the static proof fails and no life is given",
}
MELAN: Provenance = computed("Melan's theorem for one stress, ideally plastic: elastic range at most 2 Re")
TWICE_YIELD: Provenance = common_practice("range limit of 2 Re at a notch; cyclic softening lowers it")
RATCHET: Provenance = computed(
    "net section within yield at the mean plus the whole range: no growth, with room to spare"
)


@dataclass(frozen=True)
class Shakedown:
    """Verdict at every place (arrays of the stresses' shape).

    state: one of STATES. local_yield: elastic stress exceeds yield somewhere in the cycle. growth: growth cycle by cycle
    is not excluded. net_share: net mean and whole range over yield, which decides that. range_share: elastic range over
    2 Re. residual_MPa: stress that the first overload leaves where it
    shakes down (ideally plastic, the surroundings hold the strain), the least that is needed; 0 elsewhere.
    """

    state: NDArray[np.str_]
    local_yield: NDArray[np.bool_]
    growth: NDArray[np.bool_]
    range_share: Array
    residual_MPa: Array
    yield_MPa: float
    name: str
    upper_MPa: Array
    lower_MPa: Array
    net_share: Array

    @property
    def worst(self) -> str:
        """The worst state of all places."""
        return max((str(s) for s in np.unique(self.state)), key=STATES.index)

    @property
    def words(self) -> str:
        """What holds at the worst place."""
        return WORDS[self.worst]

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the reader must know."""
        where = f" ({self.name})" if self.name else ""
        made = []
        if np.any(self.local_yield):
            most = float(np.max(np.maximum(np.abs(self.upper_MPa), np.abs(self.lower_MPa))))
            made.append(
                f"local yield{where}: elastic stress {most:.4g} MPa, yield {self.yield_MPa:.4g} MPa; {self.words}"
            )
        if np.any(self.growth) and self.worst != GROWS:
            made.append(f"growth cycle by cycle is not excluded{where}: net mean and range together exceed yield")
        if self.worst == GROWS and not np.any(self.local_yield):
            made.append(f"{WORDS[GROWS]}{where}")
        return tuple(made)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Of the place with the largest range."""
        where = f" ({self.name})" if self.name else ""
        i = np.unravel_index(int(np.argmax(self.range_share)), self.range_share.shape)
        share, left = float(self.range_share[i]), float(self.residual_MPa[i])
        return (
            Figure(
                "elastic range over twice the yield strength" + where,
                share,
                "-",
                "(upper - lower) / (2 Re)",
                TWICE_YIELD,
            ),
            Figure("residual stress needed to shake down" + where, left, "MPa", "Re - upper, or -Re - lower", MELAN),
            Figure(
                "net mean and range over yield" + where,
                float(np.max(self.net_share)),
                "-",
                "(|mean| + range) / Re",
                RATCHET,
            ),
        )


def shakedown(
    upper_MPa: ArrayLike,
    lower_MPa: ArrayLike,
    *,
    yield_MPa: float,
    net_mean_MPa: ArrayLike = 0.0,
    net_range_MPa: ArrayLike = 0.0,
    name: str = "",
) -> Shakedown:
    """Verdict from the elastic edge stress of a cycle: signed upper and lower, MPa, arrays of one shape.

    yield_MPa: of the material as it behaves in cycles, if known (softening steels: less than Re). net_mean_MPa (steady
    part) and net_range_MPa: of the net section's stress in the same cycle. Raises InputFault.
    """
    upper, lower = np.asarray(upper_MPa, dtype=float), np.asarray(lower_MPa, dtype=float)
    mean, net = np.asarray(net_mean_MPa, dtype=float), np.asarray(net_range_MPa, dtype=float)
    checks = Checks()
    checks.positive("yield_MPa", yield_MPa, "yield strength: give it, or a grade and wall")
    for field, values in (
        ("upper_MPa", upper), ("lower_MPa", lower), ("net_mean_MPa", mean), ("net_range_MPa", net),
    ):  # fmt: skip
        if not values.size or not np.all(np.isfinite(values)):
            checks.add(field, "not finite", "must be finite", "a sharp corner has no elastic peak")
    if np.any(net < 0):
        checks.add("net_range_MPa", float(net.min()), "must be at least 0")
    checks.done()
    try:
        upper, lower, mean, net = np.broadcast_arrays(upper, lower, mean, net)
    except ValueError:
        checks.add("upper_MPa", upper.shape, f"must have the shape of lower_MPa, {lower.shape}")
        checks.done()
    if np.any(upper < lower):
        checks.add("upper_MPa", float(upper[upper < lower][0]), "must not be below lower_MPa", "exchange the two")
    checks.done()
    room = yield_MPa * (1 + 1e-12)
    local = (np.abs(upper) > room) | (np.abs(lower) > room)
    range_share = (upper - lower) / (2 * yield_MPa)
    back = range_share > 1 + 1e-12
    yields = np.abs(mean) + 0.5 * net > room
    share = np.asarray((np.abs(mean) + net) / yield_MPa)
    growth = share > 1 + 1e-12
    state = np.where(yields, GROWS, np.where(back, ALTERNATES, np.where(local, SHAKES_DOWN, ELASTIC)))
    left = np.minimum(yield_MPa - upper, 0.0) + np.maximum(-yield_MPa - lower, 0.0)
    residual = np.where(local & ~back, left, 0.0)
    return Shakedown(
        state, local, np.asarray(growth), range_share, residual, yield_MPa, name, np.asarray(upper), np.asarray(lower), share
    )  # fmt: skip
