"""Does the hammer stay in its slot? Clamp, faces, bolt, stop, release, wear and seats brought together, as plain results.

N, mm, MPa. Low friction where the question is whether it holds, high friction where it is whether it comes out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import OutsideRange
from ..figure import Figure
from ..model.clamp import Clamp, Seat
from ..model.retention_input import Hit
from ..provenance import common_practice, computed
from ..rotor.bar_loads import (
    BarReactions,
    FaceLoads,
    bar_reactions,
    centrifugal_loads,
    hit_loads,
)
from ..rotor.bolt_table import SCATTER
from ..rotor.clamp_window import ClampWindow, clamp_window
from ..rotor.release import Release, release
from ..rotor.retention import RESIDUAL_SHARE, RetentionProof, RetentionRow, retention_proof
from ..rotor.seat import SeatPressure, seat_pressure
from ..rotor.wear import (
    FrettingRank,
    WearLimit,
    WearState,
    clamp_wear_um,
    fretting_rank,
    wear_limit,
    wear_states,
)
from .retention_asked import RetentionInput, accidents_of
from .retention_course import SeatCourse, WindowCourse, seat_course, window_course

__all__ = ["NOT_CHECKED", "FaceProof", "Retention", "RetentionInput", "SeatResult", "WearResult", "retention"]

WEAR_STEPS = 13
TURNING = computed(
    "rigid flat strip turning on an elastic body of the same steel; the real wall is softer, which relieves its rim"
)
DECLARED = common_practice("declared by the user")

NOT_CHECKED: tuple[str, ...] = (
    "whether the lock of the bolts holds; pressure under the head, and stripping of the thread",
    "fatigue of slot, wedge and stop; the stress that clamp and hits make in the shell is a study of its own (femdrum study)",
    "the opening of the slot at speed: it is taken as given, and belongs to the field of this very drum",
    "friction: its bounds are taken as given; grease, rust and sap change it",
    "what happens in time: loads are taken as static, and the stop's as twice the pull",
    "guards and screens, and where a part flies that gets past its stop",
)


@dataclass(frozen=True)
class FaceProof:
    """One condition at one face, with what it asks of the assembled clamp: not to open, not to slip (N; 0 of the stop). load: what it came from."""

    row: RetentionRow
    load: FaceLoads
    against_opening_N: float
    against_slip_N: float

    @property
    def governs(self) -> str:
        """ "opening", "slip", "stop" in the accident case, or "neither" where the load asks for no clamp."""
        if self.row.accident:
            return "stop"
        if max(self.against_opening_N, self.against_slip_N) <= 0:
            return "neither"
        return "opening" if self.against_opening_N >= self.against_slip_N else "slip"


@dataclass(frozen=True)
class WearResult:
    """Wear of slot and seat under one hit. faces_um: wear of the clamped faces until the bolts must be tightened again; states by clearance."""

    hit: str
    limit: WearLimit
    states: tuple[WearState, ...]
    faces_um: float
    stiffness: Figure
    stiffness_Nmm_rad: float

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        how = computed("stiffness across the slot; the wedge taken as stuck")
        return (
            self.stiffness, *self.limit.figures,
            Figure("wear of both clamped faces until they must be tightened again", self.faces_um, "µm", "(N_min - N_needed) / k", how),
        )  # fmt: skip


@dataclass(frozen=True)
class SeatResult:
    """A seat under its angular error: number as in the file, pressure; or why there is none. course: over the angle."""

    number: int
    seat: Seat
    pressure: SeatPressure | None
    refused: str
    course: SeatCourse

    @property
    def name(self) -> str:
        """How it is called."""
        return f"seat {self.number}, {self.seat.kind}"


@dataclass(frozen=True)
class Retention:
    """The whole answer. faces: a row for each condition and face; worst: the one that asks most, or that the stop fails.

    curve: clamp over what the bolt is set by. figures: in groups, (heading, figures).
    """

    given: RetentionInput
    proof: RetentionProof
    faces: tuple[FaceProof, ...]
    reactions: tuple[tuple[str, BarReactions], ...]
    release: Release
    wear: WearResult | None
    seats: tuple[SeatResult, ...]
    seat_force_N: float
    fretting: tuple[FrettingRank, ...]
    curve: WindowCourse
    figures: tuple[tuple[str, tuple[Figure, ...]], ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """ "held", "not held", or "not proven" where no accident case was given."""
        return self.proof.verdict

    @property
    def worst(self) -> FaceProof:
        """The condition and face that govern."""
        return next(face for face in self.faces if face.row == self.proof.worst)

    @property
    def set_by(self) -> str:
        """What the bolt is set by: "torque", "pull" or "yield"."""
        return set_by(self.given.clamp)


def set_by(clamp: Clamp) -> str:
    """What a clamp's bolts are set by: "torque", "pull" or "yield"."""
    if SCATTER[clamp.bolt.tightening].by_torque:
        return "torque"
    return "pull" if clamp.bolt.tightening == "hydraulic" else "yield"


def _hit_loads(hit: Hit, clamp: Clamp, found: BarReactions) -> tuple[FaceLoads, ...]:
    return hit_loads(
        hit.name, found, flank_share=clamp.flank_share, towards=hit.towards, along_N=1e3 * hit.along_kN, tramp=hit.tramp, speed_rpm=hit.speed_rpm,
        slot_opening_um=hit.slot_opening_um, wedge_out_N=1e3 * hit.wedge_out_kN,
    )  # fmt: skip


def _reactions(hit: Hit) -> BarReactions:
    stiffness = hit.turning_stiffness_Nm_rad
    turning = turning_stiffness_Nmm_rad(hit) if stiffness is None else 1e3 * stiffness
    return bar_reactions(
        force_N=1e3 * hit.force_kN, overhang_mm=hit.overhang_mm, wall_mm=hit.wall_mm, width_mm=hit.width_mm, walls=hit.walls, spacing_mm=hit.spacing_mm,
        clearance_mm=hit.clearance_mm if hit.walls == "two" else 0.0, turning_stiffness_Nmm_rad=turning,
    )  # fmt: skip


def turning_stiffness_Nmm_rad(hit: Hit, *, youngs_modulus_MPa: float = 206_000.0, poissons_ratio: float = 0.3) -> float:
    """Upper estimate of how stiffly a wall resists the bar's turning, N mm/rad: pi E* w t² / 16, both of steel."""
    contact = youngs_modulus_MPa / (2 * (1 - poissons_ratio**2))
    return math.pi * contact * hit.width_mm * hit.wall_mm**2 / 16


def _faces(proof: RetentionProof, loads: Sequence[FaceLoads], clamp: Clamp) -> tuple[FaceProof, ...]:
    ordered = [load for load in loads if not load.accident] + [load for load in loads if load.accident]
    made = []
    for row, load in zip(proof.rows, ordered, strict=True):
        if row.accident:
            made.append(FaceProof(row, load, 0.0, 0.0))
            continue
        off = proof.clamp.assembled_least_N - row.clamp_least_N - load.normal_N
        opening = (off + load.rim_relief_N) / (1 - RESIDUAL_SHARE)
        slip = off + row.slip_required * abs(load.tangential_N) / clamp.face_friction_low
        made.append(FaceProof(row, load, max(0.0, opening), max(0.0, slip) if load.tangential_N else 0.0))
    return tuple(made)


def _wear(given: RetentionInput, proof: RetentionProof) -> WearResult | None:
    hit, asked = given.worn_by, given.wear
    if hit is None or asked is None:
        return None
    own = asked.turning_stiffness_Nm_rad or hit.turning_stiffness_Nm_rad
    stiffness = 1e3 * own if own is not None else turning_stiffness_Nmm_rad(hit)
    said = Figure(
        "turning stiffness of the bar in the near wall", 1e-3 * stiffness, "N·m/rad",
        "pi E* w t² / 16" if own is None else "as given", TURNING if own is None else DECLARED,
    )  # fmt: skip
    spacing = hit.spacing_mm or 0.0
    bar = {
        "force_N": 1e3 * hit.force_kN, "overhang_mm": hit.overhang_mm, "wall_mm": hit.wall_mm, "width_mm": hit.width_mm, "spacing_mm": spacing,
        "turning_stiffness_Nmm_rad": stiffness,
    }  # fmt: skip
    limit = wear_limit(**bar, allowed_MPa=asked.allowed_MPa, clamp=given.clamp)
    end = 1.25 * limit.one_wall_mm
    states = wear_states([end * i / (WEAR_STEPS - 1) for i in range(WEAR_STEPS)], **bar)
    faces = clamp_wear_um(given.clamp, assembled_least_N=proof.clamp.assembled_least_N, needed_N=proof.least_clamp_N)
    return WearResult(hit.name, limit, states, faces, said, stiffness)


def _seats(given: RetentionInput, force_N: float) -> tuple[SeatResult, ...]:
    error = given.seat_error
    if error is None:
        return ()
    made = []
    for number, seat in enumerate(given.seats, 1):
        course = seat_course(seat, force_N=force_N, angle_deg=error.angle_deg, across_deg=error.across_deg)
        try:
            found, why = (
                seat_pressure(seat, force_N=force_N, angle_deg=error.angle_deg, across_deg=error.across_deg),
                "",
            )
        except OutsideRange as refusal:
            found, why = None, "; ".join(f"{f.allowed}; {f.way_out}" for f in refusal.faults)
        made.append(SeatResult(number, seat, found, why, course))
    return tuple(made)


def retention(given: RetentionInput) -> Retention:
    """Prove that the hammer stays under all conditions, and reckon what belongs to it. Raises InputFault.

    In the accident case without a positive stop it refuses: friction alone is no retention, whatever the clamp.
    """
    clamp = given.clamp
    reactions = [(hit, _reactions(hit)) for hit in given.hits]
    loads = [
        *(load for t in given.turnings for load in centrifugal_loads(
            t.name, bar_mass_kg=t.bar_mass_kg, offset_mm=t.offset_mm, speed_rpm=t.speed_rpm, slots=t.slots, slot_opening_um=t.slot_opening_um)),
        *(load for hit, found in reactions for load in _hit_loads(hit, clamp, found)),
        *given.face_loads, *accidents_of(given),
    ]  # fmt: skip
    proof = retention_proof(clamp, loads)
    faces = _faces(proof, loads, clamp)
    windows = [_window(clamp, face.load) for face in faces if not face.row.accident] or [proof.clamp]
    asked = given.release
    most = max(window.after_stop_most_N for window in windows) / clamp.wedges
    freed = release(
        clamp, most_N=most, least_N=proof.clamp.assembled_least_N / clamp.wedges, screws=asked.screws, property_class=asked.property_class,
        blow_mass_kg=asked.blow_mass_kg,
    )  # fmt: skip
    wear = _wear(given, proof)
    pressed = max(
        (face.row.clamp_most_N for face in faces if not face.row.accident), default=proof.clamp.assembled_most_N
    )
    own = given.seat_error.force_kN if given.seat_error is not None else None
    force = 1e3 * own if own is not None else pressed
    seats = _seats(given, force)
    fretting = fretting_rank(given.fretting) if given.fretting else ()
    groups = (
        ("clamp, bolt and proof", proof.figures),
        *((f"hit {hit.name!r} on the bar", found.figures) for hit, found in reactions),
        ("release", freed.figures),
        *((("wear", wear.figures),) if wear else ()),
        *((s.name, s.pressure.figures) for s in seats if s.pressure is not None),
        *((("fretting", tuple(rank.figure for rank in fretting)),) if fretting else ()),
    )
    said = [*proof.warnings, *freed.warnings, *(wear.limit.warnings if wear else ())]
    for s in seats:
        said += [f"{s.name}: {text}" for text in (s.pressure.warnings if s.pressure else (s.refused,))]
    said += [_clearance(hit, found) for hit, found in reactions if hit.walls == "two" and hit.clearance_mm > 0]
    notes = [*proof.notes, *proof.bolt.notes, *(note for s in seats if s.pressure for note in s.pressure.notes)]
    return Retention(
        given, proof, faces, tuple((hit.name, found) for hit, found in reactions), freed, wear, seats, force, fretting,
        window_course(clamp, proof, set_by(clamp)), groups, tuple(dict.fromkeys(notes)), tuple(dict.fromkeys(said)),
    )  # fmt: skip


def _window(clamp: Clamp, load: FaceLoads) -> ClampWindow:
    return clamp_window(
        clamp, speed_rpm=load.speed_rpm, slot_opening_um=load.slot_opening_um, wedge_out_N=load.wedge_out_N
    )  # fmt: skip


def _clearance(hit: Hit, found: BarReactions) -> str:
    reach = "reached only" if found.touches else "not reached, it would be"
    return (
        f"hit {hit.name!r}: with {hit.clearance_mm:g} mm of clearance the far slot is {reach} at {1e-3 * (found.touch_N or 0.0):.4g} kN; until then the near wall "
        f"stands alone; its outer rim bears {found.edge_MPa:.4g} MPa under this hit"
    )  # fmt: skip
