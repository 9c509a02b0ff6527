"""Proof that a hammer stays: over every condition no face opens and none slips, and a positive stop carries the accident.

Low friction between bar and faces, the least clamp, each face for itself. N; safeties are numbers, shares of 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import Fault, InputFault
from ..figure import Figure
from ..model.check import Checks
from ..model.clamp import Clamp, Stop
from ..provenance import common_practice, computed
from .bar_loads import FaceLoads, clamp_for_friction_N
from .bolt import BoltStrength, bolt_strength
from .bolt_table import SCATTER
from .clamp_window import ClampWindow, clamp_window, drive_over_normal
from .preload import PreloadWindow, assembly_preload_N, bolt_friction, scatter_factor, torque_arm_mm
from .release import knock_out_energy_J

__all__ = ["RetentionProof", "RetentionRow", "StopCheck", "retention_proof", "stop_check"]

# common practice, no source
RESIDUAL_SHARE = 0.1
SLIP_SAFETY, SLIP_SAFETY_TRAMP = 1.3, 1.1
STOP_SAFETY, SUDDEN = 1.5, 2.0
FRICTION_SAFETY = 2.0
FACE_SHARE = 0.7
CRITERION = common_practice("no face below a tenth of its clamp; slip safety 1.3, under tramp metal 1.1")
STOPPED = common_practice("safety 1.5 against yield; the load taken twice because it comes suddenly")
SHEAR = computed("von Mises: shear yields at 1 / sqrt(3) of yield; even shear over its area")
STATICS = computed("statics")
INVERSE = computed("the chain from preload to face, solved for the preload at which the last condition just holds")
PRESSURE = common_practice("mean pressure of a resting face up to 0.7 of yield")


@dataclass(frozen=True)
class RetentionRow:
    """One condition at one face.

    clamp_least_N: least clamp in the condition before the load itself; clamp_most_N: the face's largest force with it. residual_share: normal force
    left at the worst rim over the assembled clamp. slip_safety: friction over what it has to carry. needed_N: assembled
    clamp with which the row just holds. In the accident case the shares are of the stop. verdict: "holds", "opens",
    "slips", "opens and slips", "stop holds", "stop too weak" or "no positive stop".
    """

    condition: str
    face: str
    tramp: bool
    accident: bool
    clamp_least_N: float
    clamp_most_N: float
    residual_share: float
    slip_safety: float
    slip_required: float
    needed_N: float
    verdict: str

    @property
    def holds(self) -> bool:
        """Whether nothing opens, slips or gets past the stop."""
        return self.verdict in ("holds", "stop holds")


@dataclass(frozen=True)
class StopCheck:
    """A positive stop under a suddenly applied force: capacity of shear and bearing, demand (both N), safety."""

    capacity_N: float
    demand_N: float
    by: str

    @property
    def safety(self) -> float:
        """Capacity over demand."""
        return self.capacity_N / self.demand_N

    @property
    def holds(self) -> bool:
        """Whether the safety against yield is reached."""
        return self.safety >= STOP_SAFETY

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        return (
            Figure(
                f"force that the stop carries ({self.by})",
                1e-3 * self.capacity_N,
                "kN",
                "min(0.577 Re A_shear, Re A_bearing)",
                SHEAR,
            ),
            Figure("force on the stop, sudden", 1e-3 * self.demand_N, "kN", "2 m r omega²", STOPPED),
            Figure("safety of the stop", self.safety, "-", "capacity / demand, 1.5 asked", STOPPED),
        )


def stop_check(stop: Stop, *, pull_N: float, sudden: float = SUDDEN) -> StopCheck:
    """Check a positive stop against a pull, N, which comes suddenly: twice unless given. Raises InputFault."""
    checks = Checks()
    checks.positive("pull_N", pull_N)
    checks.number(
        "sudden", sudden, least=1.0, most=20.0, way_out="2: at once, without play; more where it falls onto the stop"
    )
    checks.done()
    ways = {
        "shear": stop.yield_MPa / math.sqrt(3) * stop.shear_area_mm2,
        "bearing": stop.yield_MPa * stop.bearing_area_mm2,
    }
    by = min(ways, key=lambda way: ways[way])
    return StopCheck(ways[by], sudden * pull_N, by)


@dataclass(frozen=True)
class RetentionProof:
    """Whether a hammer stays in its slot over all conditions given.

    window: preload of one bolt, before losses, from the least with which every row holds to the most that bolt and
    faces may carry; torque_window_Nm: torque at which both ends of its scatter lie inside, None where no torque sets the bolt;
    an end above the other means that there is none. stop_needed: no stop yet carries every accident case. clamp: as assembled. bolt: its strength over all conditions.
    """

    rows: tuple[RetentionRow, ...]
    clamp: ClampWindow
    bolt: BoltStrength
    window: PreloadWindow
    torque_window_Nm: tuple[float, float] | None
    least_clamp_N: float
    stop: StopCheck | None
    stop_needed: bool
    accident_proven: bool
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """ "held", "not held", or "not proven" where no accident case was given."""
        if not all(row.holds for row in self.rows) or not self.bolt.holds:
            return "not held"
        return "held" if self.accident_proven else "not proven"

    @property
    def holds(self) -> bool:
        """Held in every condition, the accident case among them."""
        return self.verdict == "held"

    @property
    def worst(self) -> RetentionRow:
        """The row that asks for the largest clamp, or one that the stop fails."""
        failed = [row for row in self.rows if row.accident and not row.holds]
        return failed[0] if failed else max(self.rows, key=lambda row: row.needed_N)


def _face_row(clamp: Clamp, load: FaceLoads, window: ClampWindow) -> RetentionRow:
    assembled, left = window.assembled_least_N, window.least_N + load.normal_N
    rim = left - load.rim_relief_N
    required = SLIP_SAFETY_TRAMP if load.tramp else SLIP_SAFETY
    mu, slips = clamp.face_friction_low, abs(load.tangential_N)
    safety = math.inf if slips == 0 else max(0.0, mu * left / slips)
    residual = rim / assembled if assembled > 0 else -math.inf
    opens, glides = residual <= RESIDUAL_SHARE, safety < required
    verdict = "opens and slips" if opens and glides else "opens" if opens else "slips" if glides else "holds"
    off = window.loss_N - load.normal_N
    needed = max((off + load.rim_relief_N) / (1 - RESIDUAL_SHARE), off + required * slips / mu, 0.0)
    most = max(window.most_N + load.normal_N + load.rim_relief_N, window.after_stop_most_N)
    return RetentionRow(
        load.name, load.face, load.tramp, False, window.least_N, most, residual, safety, required, needed, verdict
    )  # fmt: skip


def _stop_row(clamp: Clamp, load: FaceLoads) -> tuple[RetentionRow, StopCheck | None]:
    pull = abs(load.tangential_N)
    check = None if clamp.stop is None else stop_check(clamp.stop, pull_N=pull)
    safety = 0.0 if check is None else check.safety
    verdict = "no positive stop" if check is None else "stop holds" if check.holds else "stop too weak"
    return (
        RetentionRow(load.name, load.face, load.tramp, True, 0.0, 0.0, 0.0, safety, STOP_SAFETY, 0.0, verdict),
        check,
    )


def retention_proof(
    clamp: Clamp, conditions: Sequence[FaceLoads], *, torque_Nm: float | None = None, preload_N: float | None = None
) -> RetentionProof:
    """Prove each condition at each face: residual clamp above a tenth, slip safety 1.3 (tramp 1.1), stop in the accident case.

    torque_Nm, preload_N: instead of the bolt's own. Friction never counts in the accident case; without such a case among the conditions
    the verdict stays "not proven". Raises InputFault.
    """
    loads = tuple(conditions)
    if not loads or not all(isinstance(load, FaceLoads) for load in loads):
        raise InputFault(
            Fault(
                "conditions",
                conditions,
                "must be one FaceLoads or more",
                "hit_loads(), centrifugal_loads(), accident_loads()",
            )
        )
    standing = clamp_window(clamp, torque_Nm, preload_N=preload_N)
    held = [load for load in loads if not load.accident]
    windows = [
        clamp_window(
            clamp, torque_Nm, preload_N=preload_N, speed_rpm=load.speed_rpm, slot_opening_um=load.slot_opening_um, wedge_out_N=load.wedge_out_N
        )
        for load in held
    ]  # fmt: skip
    rows = [_face_row(clamp, load, window) for load, window in zip(held, windows, strict=True)]
    accidents = [_stop_row(clamp, load) for load in loads if load.accident]
    stops = [check for _, check in accidents if check is not None]
    stop = min(stops, key=lambda check: check.safety) if stops else None
    workings = [window.working_N / clamp.bolts for window in windows]
    bolt = bolt_strength(clamp.bolt, preload_most_N=standing.preload.max, working_most_N=max(workings, default=0.0))
    least = max((row.needed_N for row in rows), default=0.0)
    window = _preload_needed(clamp, standing, least, rows)
    torques = _torques(clamp, window)
    pulls = [abs(load.tangential_N) for load in loads if load.accident]
    figures = (
        *(_last(windows, standing).figures),
        *bolt.figures,
        Figure("least clamp with which every condition holds", 1e-3 * least, "kN", "max over rows", CRITERION),
        Figure("least preload of a bolt for it", 1e-3 * window.min, "kN", "((N + k f) T / (wedges share)) / n + F_Z", INVERSE),
        Figure("most preload that bolt and faces may carry", 1e-3 * window.max, "kN", "min(90 % of yield, 0.7 Re of the face)", PRESSURE),
        *(
            ()
            if torques is None
            else (
                Figure("least torque", torques[0], "N·m", "F max(K_high, alpha_A K_low)", INVERSE),
                Figure("most torque", torques[1], "N·m", "F K_low", INVERSE),
            )
        ),
        *(() if stop is None else stop.figures),
        *(
            Figure("clamp that friction alone would need in the accident case, not admitted", 1e-3 * clamp_for_friction_N(force_N=pull, safety=FRICTION_SAFETY, faces=2, friction=clamp.face_friction_low), "kN", "S F / (n mu), S = 2, two faces", STATICS)
            for pull in ([max(pulls)] if pulls else [])
        ),
    )  # fmt: skip
    return RetentionProof(
        tuple(rows) + tuple(row for row, _ in accidents), standing, bolt, window, torques, least, stop, not accidents or not all(row.holds for row, _ in accidents),
        bool(accidents), figures, _notes(clamp, standing, windows), _warnings(rows, accidents, window, torques, bolt, _last(windows, standing)),
    )  # fmt: skip


def _last(windows: Sequence[ClampWindow], standing: ClampWindow) -> ClampWindow:
    """The condition that takes most off the clamp."""
    return max(windows, key=lambda window: window.loss_N, default=standing)


def _preload_needed(clamp: Clamp, standing: ClampWindow, least_N: float, rows: Sequence[RetentionRow]) -> PreloadWindow:
    wedge, bolt = clamp.wedge, clamp.bolt
    flattened = clamp.stiffness_kN_mm * clamp.face_embedding_um
    drive = (
        (least_N + flattened)
        * drive_over_normal(clamp, friction=wedge.friction_high)
        / (clamp.wedges * standing.order.least)
    )
    low, _ = bolt_friction(bolt)
    # tightened to its own yield, a bolt carries what it then pulls
    by_yield = bolt.tightening in ("yield controlled", "angle controlled")
    allowed = standing.preload.max if by_yield else assembly_preload_N(bolt, friction=low)
    if clamp.face_area_mm2 is not None and clamp.face_yield_MPa is not None:
        over = max((row.clamp_most_N - standing.assembled_most_N for row in rows), default=0.0)
        room = FACE_SHARE * clamp.face_yield_MPa * clamp.face_area_mm2 - max(over, 0.0)
        pressed = room * drive_over_normal(clamp, friction=wedge.friction_low) / (clamp.wedges * clamp.bolts)
        allowed = min(allowed, max(pressed, 0.0))
    return PreloadWindow(drive / clamp.bolts + standing.embedding_N, allowed)


def _torques(clamp: Clamp, window: PreloadWindow) -> tuple[float, float] | None:
    if not SCATTER[clamp.bolt.tightening].by_torque:
        return None
    low, high = (torque_arm_mm(clamp.bolt, friction=mu) for mu in bolt_friction(clamp.bolt))
    return 1e-3 * window.min * max(high, scatter_factor(clamp.bolt) * low), 1e-3 * window.max * low


def _notes(clamp: Clamp, standing: ClampWindow, windows: Sequence[ClampWindow]) -> tuple[str, ...]:
    energy = knock_out_energy_J(
        clamp, normal_N=standing.assembled_least_N / clamp.wedges, friction=clamp.wedge.friction_low
    )
    slack = (
        f"With its bolt slack the wedge comes out by a blow of {energy:.3g} J along it; a hit in service can bring that. Self-locking alone is not retention."
        if energy > 0
        else "With its bolt slack the wedge comes out by itself."
    )
    return (
        *_last(windows, standing).notes,
        *standing.statics.notes,
        slack,
        "Each face is proven for itself with half of what acts along the bar; the low friction between bar and faces counts.",
        f"Bolts locked by: {clamp.locking}. Whether the lock itself holds was not checked.",
        "In the accident case (bar broken, one half fitted, wedge lost) friction does not count: the stop alone carries the pull.",
    )


def _warnings(
    rows: Sequence[RetentionRow], accidents: Sequence[tuple[RetentionRow, StopCheck | None]], window: PreloadWindow,
    torques: tuple[float, float] | None, bolt: BoltStrength, worst: ClampWindow,
) -> tuple[str, ...]:  # fmt: skip
    made = [*worst.warnings, *bolt.warnings]
    for row in rows:
        if not row.holds:
            made.append(
                f"{row.condition}, {row.face} face {row.verdict}: {100 * row.residual_share:.3g} % of the clamp is left, slip safety {row.slip_safety:.3g} of {row.slip_required:g}; it needs {1e-3 * row.needed_N:.4g} kN of clamp"
            )
    for row, _ in accidents:
        if row.verdict == "no positive stop":
            made.append(
                f"{row.condition}: nothing but friction would hold the hammer, which is refused: a positive stop is needed"
            )
        elif not row.holds:
            made.append(f"{row.condition}: the stop's safety is {row.slip_safety:.3g}, {STOP_SAFETY:g} is asked")
    if not accidents:
        made.append(
            "no accident case was given (bar broken, one half fitted, wedge lost): retention is not proven without it"
        )
    if worst.preload.max > 1.0001 * window.max:
        made.append(
            f"the bolt may pull {1e-3 * worst.preload.max:.4g} kN, bolt and faces carry {1e-3 * window.max:.4g} kN: what yields beds in and takes clamp with it"
        )
    if not window.open:
        made.append(
            f"the conditions ask for {1e-3 * window.min:.4g} kN of preload, bolt and faces carry {1e-3 * window.max:.4g} kN: a larger or stronger bolt, more of them, or less load"
        )
    elif torques is not None and torques[0] > torques[1]:
        made.append(
            f"no torque serves: the least preload asks for {torques[0]:.4g} N·m, the most allows {torques[1]:.4g} N·m; tighten with less scatter, or take a larger bolt"
        )
    return tuple(dict.fromkeys(made))
