"""What balancing is reckoned for: grade and speed, planes with positions for bolt-on masses, and their bolts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from ..errors import MISSING
from ..provenance import Provenance, common_practice
from .check import Checks

__all__ = ["PHASE_SENSES", "BalanceInput", "MassBolts", "MassPositions"]

# of a reading: does the vibration's peak come before the mark passes the sensor, or after it?
PHASE_SENSES = ("lead", "lag")
MOST_POSITIONS = 120
MOST_PLATES = 20
# two positions nearer than this along their circle are one
LEAST_GAP_MM = 1.0
_OPTIONAL = (
    "clamp_kN", "lip_height_mm", "lip_width_mm", "yield_MPa", "hole_mm", "edge_distance_mm", "plate_thickness_mm",
    "stress_area_mm2", "ultimate_MPa", "torque_Nm",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class MassBolts:
    """How each mass is held: bolts through the stack of plates, and the lip that the stack may rest against.

    bolts: on each mass. size, grade: for the plan's rows, such as "M16" and "10.9". clamp_kN: least clamp of one bolt,
    after scatter of tightening and embedding. friction: lower bound, in the one face that carries. safety: against
    slip. lip: the stack rests outward against a lip, so the pull does not hang on friction; no default, it decides what
    the bolts carry. lip_height_mm (along the drum's axis), lip_width_mm, yield_MPa: for the pressure on it;
    plate_thickness_mm: does the lip hold the whole stack? hole_mm, edge_distance_mm: bolt hole, and from its middle to
    the plate's outer edge. stress_area_mm2, ultimate_MPa: of one bolt, for shear as the last stop. torque_Nm, part: to
    be written into the plan.
    """

    bolts: int
    lip: bool
    size: str
    grade: str
    clamp_kN: float | None = None
    friction: float = 0.12
    safety: float = 2.0
    lip_height_mm: float | None = None
    lip_width_mm: float | None = None
    yield_MPa: float | None = None
    hole_mm: float | None = None
    edge_distance_mm: float | None = None
    plate_thickness_mm: float | None = None
    stress_area_mm2: float | None = None
    ultimate_MPa: float | None = None
    torque_Nm: float | None = None
    part: str = ""

    defaults: ClassVar[Provenance] = common_practice("friction of steel on steel not below 0.12; 2 against slip")

    def __post_init__(self) -> None:
        checks = Checks()
        checks.whole("bolts", self.bolts, 1, 20, "two or more: one bolt lets the mass turn")
        checks.truth("lip", self.lip)
        checks.text("size", self.size)
        checks.text("grade", self.grade)
        checks.number("friction", self.friction, above=0.0, most=1.0, way_out="the lower bound: does it hold?")
        checks.number("safety", self.safety, least=1.0, most=10.0)
        for field in _OPTIONAL:
            checks.optional(field, getattr(self, field))
        if self.part:
            checks.text("part", self.part)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class MassPositions:
    """The positions for bolt-on masses in one correction plane.

    z_mm: of the plane, along the axis from the drive end. radius_mm: of a plate's centre of gravity. angles_deg: of
    each position, from the drum's mark in the sense of rotation; position numbers count from 1 in this order. plate_g:
    mass of one plate, its share of longer bolts included. most_plates: highest stack on one position. most_used: how
    many positions may carry plates; None: all. most_mass_g: in the whole plane; None: as the stacks allow. blocked:
    numbers of positions that cannot be used. plate_width_mm, around the drum: plates of neighbours must not overlap.
    """

    z_mm: float
    radius_mm: float
    angles_deg: tuple[float, ...]
    plate_g: float
    most_plates: int
    most_used: int | None = None
    most_mass_g: float | None = None
    blocked: tuple[int, ...] = ()
    plate_width_mm: float | None = None

    @classmethod
    def even(cls, count: int, *, first_deg: float = 0.0, **fields: object) -> MassPositions:
        """`count` positions evenly around, the first at first_deg. Raises InputFault."""
        checks = Checks()
        checks.whole("count", count, 1, MOST_POSITIONS, "how many positions there are around the plane")
        checks.number("first_deg", first_deg, least=-360.0, most=360.0)
        checks.done()
        angles = tuple((first_deg + 360.0 * i / count) % 360.0 for i in range(count))
        return cls(angles_deg=angles, **fields)  # type: ignore[arg-type]

    def __post_init__(self) -> None:
        for field in ("angles_deg", "blocked"):
            if isinstance(getattr(self, field), list):
                object.__setattr__(self, field, tuple(getattr(self, field)))
        checks = Checks()
        checks.number("z_mm", self.z_mm, way_out="place of the plane along the axis, from the drive end")
        wide = checks.positive("radius_mm", self.radius_mm, "of a plate's centre of gravity, from the axis")
        checks.number("plate_g", self.plate_g, above=0.0, most=20_000.0, way_out="mass of one plate in grams")
        checks.whole("most_plates", self.most_plates, 1, MOST_PLATES, "highest stack that the bolts can hold")
        self._check_angles(checks, wide)
        if self.most_used is not None:
            checks.whole("most_used", self.most_used, 1, MOST_POSITIONS, "leave it out if all may be used")
        if self.most_mass_g is not None:
            low = self.plate_g if isinstance(self.plate_g, (int, float)) else 0.0
            checks.number("most_mass_g", self.most_mass_g, least=low, way_out="at least one plate must be allowed")
        if self.plate_width_mm is not None:
            checks.positive("plate_width_mm", self.plate_width_mm)
        checks.done()

    def _check_angles(self, checks: Checks, wide: bool) -> None:
        angles = self.angles_deg
        if not isinstance(angles, tuple) or not angles:
            value = MISSING if angles is None else angles
            checks.add("angles_deg", value, "must name at least one position", "without positions nothing is bolted on")
            return
        if len(angles) > MOST_POSITIONS:
            checks.add("angles_deg", len(angles), f"must be at most {MOST_POSITIONS} positions")
        good = [checks.number(f"angles_deg[{i}]", a, least=-360.0, most=360.0) for i, a in enumerate(angles, 1)]
        if not all(good):
            return
        free = self._check_blocked(checks)
        if not wide or not free:
            return
        width = self.plate_width_mm
        least = max(LEAST_GAP_MM, width if isinstance(width, (int, float)) else 0.0)
        order = sorted(range(len(angles)), key=lambda i: angles[i] % 360.0)
        for i, j in zip(order, order[1:] + order[:1], strict=True):
            step = (angles[j] - angles[i]) % 360.0 if i != j else 360.0
            # chord: plates are flat
            gap = 2 * self.radius_mm * math.sin(math.radians(min(step, 360.0 - step) / 2)) if i != j else math.inf
            if gap < least:
                what = "coincide" if gap < LEAST_GAP_MM else f"overlap: {gap:.1f} mm apart, plates {least:g} mm wide"
                numbers = f"positions {min(i, j) + 1} and {max(i, j) + 1}"
                checks.add("angles_deg", (angles[i], angles[j]), f"{numbers} {what}", "give each position once")

    def _check_blocked(self, checks: Checks) -> bool:
        many = len(self.angles_deg)
        bad = [b for b in self.blocked if not isinstance(b, int) or isinstance(b, bool) or not 1 <= b <= many]
        for b in bad:
            checks.add("blocked", b, f"must be a position number from 1 to {many}")
        if not bad and len(set(self.blocked)) == many:
            checks.add("blocked", self.blocked, "leaves no position to use", "free at least one position")
            return False
        return not bad

    @property
    def count(self) -> int:
        """Positions, blocked ones included."""
        return len(self.angles_deg)

    @property
    def quantum_g_mm(self) -> float:
        """Unbalance of one plate: q r."""
        return self.plate_g * self.radius_mm


@dataclass(frozen=True, kw_only=True)
class BalanceInput:
    """The balancing of one rotor.

    grade_mm_s: 16 for G16. rotor_mass_kg, speed_rpm: with hammers, in service. condition: in which state the rotor is
    balanced, in words ("new hammers", "worn set", "bare rotor"); no default, the permissible unbalance holds for a
    state. bearings_mm: places of both bearings along the axis; cg_mm: of the centre of gravity, midway between them
    unless given. planes: the two correction planes, by increasing z. budget_share: of the permissible unbalance that
    this balancing may use up; the rest is left for wear and for the next hammer set. enough_share: a plane whose
    residual is at or below this share of its permissible is good enough, then the fewest plates win; 0: as low as the
    positions allow. place_hammers: reorder weighed hammers before masses are chosen. phase_sense: of readings, "lead"
    or "lag"; wanted with readings only. overspeed_ratio: bolts are checked there. total_mass_kg: rotor, casing and all
    that shakes with it; zone_limits_mm_s: of velocity, rms, by the user's own standard, ascending.
    """

    grade_mm_s: float
    rotor_mass_kg: float
    speed_rpm: float
    condition: str
    bearings_mm: tuple[float, float]
    planes: tuple[MassPositions, MassPositions]
    cg_mm: float | None = None
    budget_share: float = 1.0
    enough_share: float = 0.0
    place_hammers: bool = False
    phase_sense: str | None = None
    overspeed_ratio: float = 1.2
    bolts: MassBolts | None = None
    total_mass_kg: float | None = None
    zone_limits_mm_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        for field in ("bearings_mm", "planes", "zone_limits_mm_s"):
            if isinstance(getattr(self, field), list):
                object.__setattr__(self, field, tuple(getattr(self, field)))
        checks = Checks()
        checks.number("grade_mm_s", self.grade_mm_s, least=0.4, most=4000.0, way_out="16 for G16, 6.3 for G6.3")
        checks.number("rotor_mass_kg", self.rotor_mass_kg, above=0.0, most=1e6, way_out="with hammers, in kg")
        checks.number("speed_rpm", self.speed_rpm, least=60.0, most=20_000.0,
                      way_out="revolutions a minute: 60 times revolutions a second, 9.55 times rad/s")  # fmt: skip
        checks.text("condition", self.condition)
        spanned = self._pair(checks, "bearings_mm", "both bearings, by increasing z")
        if self.cg_mm is not None and spanned:
            low, high = self.bearings_mm
            way = "an overhung rotor's permissible unbalance is not split by this rule"
            checks.number("cg_mm", self.cg_mm, least=low, most=high, way_out=way)
        self._check_planes(checks)
        checks.number("budget_share", self.budget_share, least=0.1, most=1.0, way_out="1: the whole permissible")
        checks.number(
            "enough_share", self.enough_share, least=0.0, most=1.0, way_out="0: as low as can be; 0.2 is a fifth"
        )
        checks.truth("place_hammers", self.place_hammers)
        if self.phase_sense is not None:
            checks.one_of("phase_sense", self.phase_sense, PHASE_SENSES, "the instrument's manual says which")
        checks.number("overspeed_ratio", self.overspeed_ratio, least=1.0, most=2.0, way_out="1.2 is 20 % above")
        if self.bolts is not None and not isinstance(self.bolts, MassBolts):
            checks.add("bolts", self.bolts, "must be a MassBolts")
        if checks.optional("total_mass_kg", self.total_mass_kg) and self.total_mass_kg is not None:
            low = self.rotor_mass_kg if isinstance(self.rotor_mass_kg, (int, float)) else 0.0
            checks.number("total_mass_kg", self.total_mass_kg, least=low, way_out="rotor and all that shakes with it")
        self._check_zones(checks)
        checks.done()

    def _pair(self, checks: Checks, field: str, way_out: str) -> bool:
        pair = getattr(self, field)
        if not isinstance(pair, tuple) or len(pair) != 2:
            checks.add(field, pair, "must be two places along the axis in mm", way_out)
            return False
        good = all([checks.number(f"{field}[{i}]", z) for i, z in enumerate(pair, 1)])
        if good and not pair[0] < pair[1]:
            checks.add(field, pair, "must increase", way_out)
            return False
        return good

    def _check_planes(self, checks: Checks) -> None:
        planes = self.planes
        if not isinstance(planes, tuple) or len(planes) != 2 or not all(isinstance(p, MassPositions) for p in planes):
            checks.add("planes", planes, "must be two MassPositions", "two planes: force and couple are both corrected")
        elif not planes[0].z_mm < planes[1].z_mm:
            checks.add("planes", (planes[0].z_mm, planes[1].z_mm), "must stand at increasing z_mm", "and apart")

    def _check_zones(self, checks: Checks) -> None:
        limits = self.zone_limits_mm_s
        if not isinstance(limits, tuple):
            checks.add("zone_limits_mm_s", limits, "must be a list of velocities in mm/s rms")
            return
        good = all([checks.positive(f"zone_limits_mm_s[{i}]", v) for i, v in enumerate(limits, 1)])
        if good and list(limits) != sorted(set(limits)):
            checks.add("zone_limits_mm_s", limits, "must increase", "from your copy of the standard, A/B first")

    @property
    def centre_mm(self) -> float:
        """Place of the centre of gravity along the axis."""
        return 0.5 * sum(self.bearings_mm) if self.cg_mm is None else self.cg_mm
