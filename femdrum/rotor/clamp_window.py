"""From a torque to the clamp that is left in the slot: scatter, embedding, order of tightening, rotation, a slot that opens.

The clamp is the normal force between bar, wedge and flank, N, pressing positive. Least: everything goes against it; most:
everything for it. The two are not a scatter band of one clamp, they are what different drums, or one on different days, may have.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure, figure
from ..model.check import Checks
from ..model.clamp import Clamp
from ..provenance import common_practice, computed
from .given import need
from .preload import (
    PreloadWindow,
    bolt_compliance_mm_N,
    embedding_loss_N,
    embedding_of,
    load_share,
    parts_compliance_mm_N,
    preload_window,
)
from .wedge import WedgeStatics, centrifugal_on_wedge_N, wedge_statics

__all__ = ["ClampWindow", "TighteningOrder", "clamp_window", "drive_over_normal", "opening_loss_N", "tightening_order"]

Array = NDArray[np.float64]

COUPLED = computed(
    "wedges on one bar as springs that feel their neighbours; the others keep their travel while one is tightened"
)
FOLLOWS = computed("slot, wedge and bolt as springs in series; the wedge slides in at its limit of friction")
STUCK = computed("stiffness across the slot times its opening, the wedge stuck")
CHAIN = computed(
    "least preload less embedding and working load, through the wedge at the high friction, less flattening and opening"
)
DECLARED = common_practice("declared by the user")
# a clamp this close to the target needs no further round
SETTLED_SHARE = 0.98
MOST_ROUNDS = 50


@dataclass(frozen=True)
class TighteningOrder:
    """What is left of each wedge's clamp, as share of the target, [step, wedge]; one step for each wedge tightened.

    least: after the last step. rounds_needed: rounds until the least reaches 98 %, None if 50 do not.
    """

    shares: Array
    least: float
    rounds_needed: int | None


def tightening_order(
    *, wedges: int, coupling: float, rounds: int = 1, order: tuple[int, ...] | None = None
) -> TighteningOrder:
    """Tighten coupled wedges one after another, `rounds` times: a later one takes clamp off the earlier ones.

    coupling: compression at the next wedge over that at the loaded one; it falls geometrically from wedge to wedge. order: of the wedges within a round, from 0; in a row unless
    given. A wedge that is left without clamp stays at 0. Raises InputFault.
    """
    checks = Checks()
    counted = checks.whole("wedges", wedges, 1, 100)
    checks.number("coupling", coupling, least=0.0, below=1.0, way_out="0: wedges do not feel each other")
    checks.whole("rounds", rounds, 1, MOST_ROUNDS)
    if counted and order is not None and sorted(order) != list(range(wedges)):
        checks.add("order", order, f"must name each wedge from 0 to {wedges - 1} once")
    checks.done()
    places = np.arange(wedges)
    compliance = coupling ** np.abs(places[:, None] - places[None, :]).astype(float)
    force, steps = np.zeros(wedges), []
    needed = None
    for turn in range(MOST_ROUNDS):
        for j in order or range(wedges):
            gain = max(0.0, 1.0 - force[j])
            others = places != j
            force[others] -= gain * np.linalg.solve(compliance[np.ix_(others, others)], compliance[others, j])
            force[j] += gain
            force = np.maximum(force, 0.0)
            if turn < rounds:
                steps.append(force.copy())
        if needed is None and force.min() >= SETTLED_SHARE:
            needed = turn + 1
        if needed is not None and turn + 1 >= rounds:
            break
    shares = np.array(steps)
    return TighteningOrder(shares, float(shares[-1].min()), needed)


def drive_over_normal(clamp: Clamp, *, friction: float) -> float:
    """Drive force over normal force of the clamp's wedge while it moves in: tan(alpha + phi) + tan phi."""
    return math.tan(math.radians(clamp.wedge.taper_deg) + math.atan(friction)) + friction


def opening_loss_N(clamp: Clamp, *, slot_opening_um: float, follows: bool, friction: float | None = None) -> float:
    """Clamp lost when the slot opens by slot_opening_um across, N, all wedges together; negative where it closes.

    Stuck wedge: stiffness times opening. follows: the bolt draws the wedge after, at the limit of friction, and loses its
    own stretch on the way: opening / (1 / k + tan(alpha) (drive over normal) / k_bolt). Raises InputFault.
    """
    need(finite={"slot_opening_um": slot_opening_um})
    k = 1e3 * clamp.stiffness_kN_mm / clamp.wedges
    opening = 1e-3 * slot_opening_um
    if not follows or opening <= 0:
        return clamp.wedges * k * opening
    mu = clamp.wedge.friction_low if friction is None else friction
    bolt = clamp.bolt
    spring = clamp.bolts / (bolt_compliance_mm_N(bolt) + parts_compliance_mm_N(bolt))
    slope = math.tan(math.radians(clamp.wedge.taper_deg)) * drive_over_normal(clamp, friction=mu)
    return clamp.wedges * opening / (1 / k + slope / spring)


@dataclass(frozen=True)
class ClampWindow:
    """Least and most clamp in one slot, N, all its wedges together, and what leads there.

    preload: of one bolt. embedding_N: lost by one bolt. share: Phi. order: of tightening. centrifugal_N: on one wedge,
    positive tightens. assembled_least_N, assembled_most_N: at standstill, after embedding and order. least_N, most_N: in
    the condition. after_stop_most_N: at standstill after running, if the wedge crept in while the slot was open.
    statics: of one wedge. working_N: force that pulls on one wedge in the condition.
    """

    preload: PreloadWindow
    embedding_N: float
    share: float
    order: TighteningOrder
    centrifugal_N: float
    assembled_least_N: float
    assembled_most_N: float
    least_N: float
    most_N: float
    after_stop_most_N: float
    working_N: float
    statics: WedgeStatics
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def loss_N(self) -> float:
        """What the condition takes off the least clamp."""
        return self.assembled_least_N - self.least_N


def clamp_window(
    clamp: Clamp,
    torque_Nm: float | None = None,
    *,
    preload_N: float | None = None,
    speed_rpm: float = 0.0,
    slot_opening_um: float = 0.0,
    wedge_out_N: float = 0.0,
) -> ClampWindow:
    """Least and most clamp of a slot, from the bolts' torque (theirs unless given) to a running condition.

    slot_opening_um: how much the slot opens between its flanks in that condition, from the field of the drum; negative closes. wedge_out_N: force along one wedge that pulls it out.
    Least: least preload - embedding - (1 - Phi) of what pulls the wedge out, by the high friction, times the least share of the tightening order, less flattening of the faces and
    stiffness times opening (wedge stuck). What rotation tightens counts for the most only: friction may keep it from the faces. Raises InputFault.
    """
    need(
        not_negative={"speed_rpm": speed_rpm, "wedge_out_N": wedge_out_N}, finite={"slot_opening_um": slot_opening_um},
        way_out={"slot_opening_um": "µm between the flanks, from the field; positive opens"},
    )  # fmt: skip
    wedge, bolt = clamp.wedge, clamp.bolt
    preload = preload_window(bolt, torque_Nm=torque_Nm, preload_N=preload_N)
    embedding, amount = embedding_of(bolt)
    phi = load_share(bolt_compliance_mm_N=bolt_compliance_mm_N(bolt), parts_compliance_mm_N=parts_compliance_mm_N(bolt))
    order = tightening_order(wedges=clamp.wedges, coupling=clamp.coupling or 0.0, rounds=clamp.rounds)
    pull = 0.0
    if wedge.driven != "along":
        pull = centrifugal_on_wedge_N(
            mass_kg=wedge.mass_kg, radius_mm=wedge.radius_mm, speed_rpm=speed_rpm, taper_deg=wedge.taper_deg, opens_outward=wedge.opens_outward
        )  # fmt: skip
    working = wedge_out_N + max(0.0, -pull)
    drive = clamp.bolts * max(0.0, preload.min - embedding)
    drive_most = clamp.bolts * preload.max
    statics = wedge_statics(wedge, drive_least_N=drive, drive_most_N=drive_most)
    t_high, t_low = (drive_over_normal(clamp, friction=f) for f in (wedge.friction_high, wedge.friction_low))
    flattened = 1e3 * clamp.stiffness_kN_mm * 1e-3 * clamp.face_embedding_um
    left = clamp.wedges * order.least
    assembled_least = max(0.0, left * drive / t_high - flattened)
    assembled_most = clamp.wedges * drive_most / t_low
    stuck = opening_loss_N(clamp, slot_opening_um=slot_opening_um, follows=False)
    least = left * (drive - (1 - phi) * working) / t_high - flattened - max(0.0, stuck)
    most = assembled_most + clamp.wedges * (1 - phi) * max(0.0, pull) / t_low + max(0.0, -stuck)
    crept = max(0.0, stuck) - opening_loss_N(clamp, slot_opening_um=max(0.0, slot_opening_um), follows=True)
    figures = (
        *preload.figures,
        amount,
        figure(embedding_loss_N, embedding),
        figure(load_share, phi),
        *statics.figures,
        figure(centrifugal_on_wedge_N, pull),
        Figure("least share left by the order of tightening", order.least, "-", f"{clamp.wedges} wedges, {clamp.rounds} rounds", COUPLED),
        Figure("clamp lost by a slot that opens, wedge stuck", 1e-3 * stuck, "kN", "k delta", STUCK),
        Figure("opening of the slot in the condition", slot_opening_um, "µm", "from the field", DECLARED),
        Figure("least clamp, assembled", 1e-3 * assembled_least, "kN", "wedges · share · n (F_min - F_Z) / (tan(alpha + phi) + tan phi) - k f", CHAIN),
        Figure("most clamp, assembled", 1e-3 * assembled_most, "kN", "wedges · n F_max / (tan(alpha + phi) + tan phi)", CHAIN),
        Figure("least clamp in the condition", 1e-3 * least, "kN", "assembled - (1 - Phi) F_A / (tan(alpha + phi) + tan phi) - k delta", CHAIN),
        Figure("most clamp in the condition", 1e-3 * most, "kN", "assembled + what rotation tightens", CHAIN),
        Figure("most clamp after a stop", 1e-3 * (assembled_most + crept), "kN", "assembled + k delta - delta / (1/k + tan(alpha) T / k_bolt)", FOLLOWS),
    )  # fmt: skip
    return ClampWindow(
        preload, embedding, phi, order, pull, assembled_least, assembled_most, least, most, assembled_most + crept,
        working, statics, figures, _notes(clamp, pull), _warnings(clamp, preload, statics, embedding, pull, order, crept, assembled_most),
    )  # fmt: skip


def _notes(clamp: Clamp, pull_N: float) -> tuple[str, ...]:
    if clamp.wedge.driven == "along":
        turns = "The wedge is drawn along the drum: rotation neither tightens nor loosens it, but throws it outward across its faces; its lip or keeper was not checked."
    else:
        turns = f"Rotation {'loosens' if clamp.wedge.opens_outward else 'tightens'} the wedge: the gap narrows {clamp.wedge.driven}."
        turns += f" Its own centrifugal force along the wedge is {1e-3 * pull_N:+.4g} kN (positive tightens)."
    return (
        turns,
        "A wedge that locks keeps some clamp when its bolt loses pull; vibration takes that away, so the least clamp follows the bolt.",
        "Steel faces flatten in the first hours: retighten after 1 h and 8 h of running (common practice).",
    )


def _warnings(
    clamp: Clamp, preload: PreloadWindow, statics: WedgeStatics, embedding: float, pull: float, order: TighteningOrder,
    crept: float, assembled_most: float,
) -> tuple[str, ...]:  # fmt: skip
    made = [*preload.warnings, *statics.warnings]
    if preload.min <= embedding:
        made.append("embedding takes all of the least preload: a longer bolt or a sleeve under its head loses less")
    elif embedding > 0.25 * preload.min:
        made.append(
            f"embedding takes {100 * embedding / preload.min:.2g} % of the least preload: a longer bolt or a sleeve under its head loses less"
        )
    if pull < 0:
        made.append(f"rotation loosens the wedge with {-1e-3 * pull:.4g} kN: the gap widens outward")
    if order.least < SETTLED_SHARE:
        rounds = (
            f"{order.rounds_needed} rounds settle it"
            if order.rounds_needed
            else f"{MOST_ROUNDS} rounds do not settle it"
        )
        made.append(
            f"tightened one after another, the loosest wedge keeps {100 * order.least:.3g} % of its clamp; {rounds}"
        )
    if crept > 0.1 * assembled_most:
        made.append(
            f"the slot opens at speed and the wedge can creep in: after a stop the clamp may be {100 * crept / assembled_most:.2g} % above what was tightened, and the wedge that much harder to release"
        )
    if clamp.locking == "none":
        made.append("the bolts are not locked: a bolt that turns loose takes the clamp with it")
    return tuple(made)
