"""What a proof of retention is asked for, checked as a whole: conditions of one clamp, and what else is wanted of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..errors import MISSING, Fault, InputFault
from ..model.check import Checks
from ..model.clamp import Clamp, Seat
from ..model.retention_input import Accident, Hit, ReleaseAsked, SeatError, Turning, WearAsked
from ..rotor.bar_loads import FaceLoads, accident_loads, clamp_for_friction_N
from ..rotor.clamp_window import clamp_window
from ..rotor.retention import FRICTION_SAFETY
from ..rotor.wear import FrettingPlace

__all__ = ["RetentionInput", "accidents_of"]


@dataclass(frozen=True, kw_only=True)
class RetentionInput:
    """All that is asked. Conditions: face_loads as they are, or from hits, turnings and accidents; one at least. Raises InputFault."""

    clamp: Clamp
    face_loads: tuple[FaceLoads, ...] = ()
    hits: tuple[Hit, ...] = ()
    turnings: tuple[Turning, ...] = ()
    accidents: tuple[Accident, ...] = ()
    seats: tuple[Seat, ...] = ()
    seat_error: SeatError | None = None
    wear: WearAsked | None = None
    fretting: tuple[FrettingPlace, ...] = ()
    release: ReleaseAsked = field(default_factory=ReleaseAsked)

    def __post_init__(self) -> None:
        checks = Checks()
        if not (self.face_loads or self.hits or self.turnings or self.accidents):
            way = "at least one of [[hit]], [[turning]], [[accident]], [[face_load]]"
            checks.add("hit", MISSING, "no condition is given", way)
        self._check_names(checks)
        if self.seats and self.seat_error is None:
            checks.add(
                "seat_error",
                MISSING,
                "is missing; seats need the angle under which they stand",
                "add [seat_error] with angle_deg",
            )
        if self.seat_error is not None and not self.seats:
            checks.add(
                "seat",
                MISSING,
                "is missing; there is a [seat_error] without a seat",
                "add [[seat]], or leave [seat_error] out",
            )
        self._check_bolt(checks)
        self._check_stop(checks)
        self._check_wear(checks)
        checks.done()

    def _check_names(self, checks: Checks) -> None:
        lists: dict[str, tuple[Hit | Turning | Accident | FaceLoads, ...]] = {
            "hit": self.hits, "turning": self.turnings, "accident": self.accidents, "face_load": self.face_loads,
        }  # fmt: skip
        seen: set[tuple[str, str]] = set()
        for table, things in lists.items():
            for n, thing in enumerate(things):
                face = thing.face if isinstance(thing, FaceLoads) else ""
                if (thing.name, face) in seen or (face and (thing.name, "") in seen):
                    at = f" at the {face} face" if face else ""
                    checks.add(f"{table}.{n}.name", thing.name, f"must be the name of one condition only{at}")
                seen.add((thing.name, face))

    def _check_bolt(self, checks: Checks) -> None:
        """What the bolt is tightened by must be said."""
        try:
            clamp_window(self.clamp)
        except InputFault as error:
            for f in error.faults:
                name = {"preload_N": "preload_kN"}.get(f.field, f.field)
                checks.faults.append(Fault(f"clamp.bolt.{name}", f.value, f.allowed, f.way_out))

    def _check_stop(self, checks: Checks) -> None:
        """Friction alone is refused where an accident is among the conditions."""
        if self.clamp.stop is not None:
            return
        pulls = [abs(load.tangential_N) for load in (*self.face_loads, *accidents_of(self)) if load.accident]
        if not pulls:
            return
        try:
            clamp_for_friction_N(
                force_N=max(pulls),
                safety=FRICTION_SAFETY,
                faces=2,
                friction=self.clamp.face_friction_low,
                accident=True,
            )
        except InputFault as error:
            checks.faults += [Fault("clamp.stop", MISSING, f.allowed, f.way_out) for f in error.faults]

    def _check_wear(self, checks: Checks) -> None:
        if self.wear is None:
            return
        fit = [hit for hit in self.hits if hit.spacing_mm is not None]
        names = ", ".join(repr(hit.name) for hit in fit) or "none"
        if self.wear.hit is not None and self.wear.hit not in [hit.name for hit in fit]:
            checks.add("wear.hit", self.wear.hit, f"must be a [[hit]] that gives spacing_mm; there is {names}")
        elif self.worn_by is None:
            checks.add(
                "wear.hit",
                MISSING,
                "is missing; no [[hit]] without tramp gives spacing_mm",
                "wear is judged under a hit on a bar in two walls",
            )
        elif self.worn_by.spacing_mm is not None and not self.worn_by.spacing_mm > self.worn_by.wall_mm:
            checks.add(
                "wear.hit",
                self.worn_by.name,
                "must have spacing_mm above wall_mm",
                "between the middles of the two walls",
            )

    @property
    def worn_by(self) -> Hit | None:
        """The hit under which wear is judged."""
        if self.wear is None:
            return None
        fit = [hit for hit in self.hits if hit.spacing_mm is not None]
        if self.wear.hit is not None:
            return next((hit for hit in fit if hit.name == self.wear.hit), None)
        return max((hit for hit in fit if not hit.tramp), key=lambda hit: hit.force_kN, default=None)


def accidents_of(given: RetentionInput) -> list[FaceLoads]:
    """The pulls of the accidents as loads of the stop."""
    return [
        load
        for a in given.accidents
        for load in accident_loads(
            a.name, half_mass_kg=a.half_mass_kg, half_radius_mm=a.half_radius_mm, speed_rpm=a.speed_rpm
        )
    ]
