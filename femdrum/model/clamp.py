"""What holds a hammer in its slot: wedge, bolt, positive stop, and the seat that it bears on. Frozen, checked, no numerics."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from ..errors import MISSING
from .check import Checks

__all__ = [
    "BOLT_CLASSES",
    "DRIVEN",
    "LOCKINGS",
    "LUBRICATION",
    "PITCHES_MM",
    "SEATS",
    "TIGHTENING",
    "Bolt",
    "Clamp",
    "Seat",
    "Stop",
    "Wedge",
    "bolt_size",
]

# where the bolt draws the wedge: into the gap that narrows towards the axis, away from it, or along the drum
DRIVEN = ("inward", "outward", "along")
BOLT_CLASSES = ("8.8", "10.9", "12.9")
LUBRICATION = ("solid lubricant", "oiled", "as delivered", "dry")
TIGHTENING = (
    "yield controlled", "angle controlled", "hydraulic", "torque, friction measured", "torque, friction estimated",
    "power driver", "impact driver",
)  # fmt: skip
LOCKINGS = ("none", "wedge-lock washers", "thread adhesive", "wire or plate")
SEATS = ("flat", "cylindrical", "crowned")
# thread diameter (mm) -> pitches (mm), the coarse one first; after ISO 261, recalled
PITCHES_MM: dict[int, tuple[float, ...]] = {
    6: (1.0,), 8: (1.25, 1.0), 10: (1.5, 1.25, 1.0), 12: (1.75, 1.5, 1.25), 14: (2.0, 1.5), 16: (2.0, 1.5),
    18: (2.5, 2.0, 1.5), 20: (2.5, 2.0, 1.5), 22: (2.5, 2.0, 1.5), 24: (3.0, 2.0), 27: (3.0, 2.0), 30: (3.5, 2.0),
    33: (3.5, 2.0), 36: (4.0, 3.0), 39: (4.0, 3.0),
}  # fmt: skip
# a coefficient of friction outside of these is a slip of the pen
FRICTION = {"least": 0.01, "most": 1.0}
FRICTION_WAY = "a coefficient, not an angle or per cent; steel on steel 0.05 to 0.3"
_SEAT_FIELDS: dict[str, tuple[str, ...]] = {
    "flat": ("depth_mm",),
    "cylindrical": ("depth_mm", "radius_mm", "groove_radius_mm", "friction_low", "friction_high"),
    "crowned": ("radius_mm",),
}


def bolt_size(size: object) -> tuple[int, float] | None:
    """Diameter and pitch (mm) of "M16" (coarse) or "M16x1.5"; None for anything else."""
    if not isinstance(size, str) or not size.startswith("M"):
        return None
    diameter_text, cross, pitch_text = size[1:].partition("x")
    try:
        diameter = int(diameter_text)
        pitches = PITCHES_MM[diameter]
        pitch = float(pitch_text) if cross else pitches[0]
    except (ValueError, KeyError):
        return None
    return (diameter, pitch) if pitch in pitches else None


def _friction_pair(checks: Checks, low: object, high: object, low_name: str, high_name: str) -> bool:
    good = [
        checks.number(name, value, **FRICTION, way_out=FRICTION_WAY)
        for name, value in ((low_name, low), (high_name, high))
    ]
    if all(good) and low > high:  # type: ignore[operator]
        checks.add(low_name, low, f"must not exceed {high_name} = {high}", "low: does it hold; high: does it come out")
        return False
    return all(good)


@dataclass(frozen=True, kw_only=True)
class Wedge:
    """A wedge with one tapered and one plain face, drawn by its bolt along the plain one.

    taper_deg: angle between its faces. friction_low, friction_high: bounds of the coefficient on both faces: low
    answers "does it hold", high "does it come out" and "what does the bolt's force press". driven: "inward" (the
    gap narrows towards the axis: rotation loosens it), "outward" (rotation tightens it), "along" the drum. mass_kg,
    radius_mm: of its centre of gravity. travel_mm: how far the bolt can still draw it in. A taper that friction_high
    could not lock is refused.
    """

    taper_deg: float
    friction_low: float
    friction_high: float
    driven: str
    mass_kg: float
    radius_mm: float
    travel_mm: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        angled = checks.number(
            "taper_deg", self.taper_deg, above=0.0, below=45.0, way_out="angle between the two faces"
        )
        rubbed = _friction_pair(checks, self.friction_low, self.friction_high, "friction_low", "friction_high")
        if angled and rubbed:
            limit = 2 * math.degrees(math.atan(self.friction_high))
            if self.taper_deg >= limit:
                checks.add(
                    "taper_deg", self.taper_deg,
                    f"cannot lock: with friction {self.friction_high:g} on both faces a wedge stays only below {limit:.4g} degrees",
                    f"take a taper below {2 * math.degrees(math.atan(self.friction_low)):.3g} degrees, which also locks at friction_low",
                )  # fmt: skip
        checks.one_of("driven", self.driven, DRIVEN, "it decides whether rotation tightens or loosens the wedge")
        for field in ("mass_kg", "radius_mm"):
            checks.positive(field, getattr(self, field))
        checks.optional("travel_mm", self.travel_mm)
        checks.done()

    @property
    def opens_outward(self) -> bool:
        """Whether the gap widens away from the axis, so that rotation loosens the wedge."""
        return self.driven == "inward"


@dataclass(frozen=True, kw_only=True)
class Bolt:
    """A bolt that draws a wedge or holds a part.

    size: "M16" or "M16x1.5". property_class: "8.8", "10.9" or "12.9". clamp_length_mm: from head to first engaged
    thread, shank_mm of it without thread; tapped: screwed into the part, not into a nut.
    lubrication: state of thread and head, or friction_low and friction_high as measured: a torque without it
    says nothing, so one of the two must be given. tightening: how, tightening_factor: largest over least preload, by
    its way unless given. torque_Nm on the drawing, preload_kN where it is set by pull.
    hole_mm, head_bearing_mm: by size unless given. outer_mm: of the clamped parts or the sleeve, wide unless given.
    embedding_um over all faces, or interfaces (clamped ones between head and thread) of roughness_Rz_um.
    bolt_compliance_mm_N, parts_compliance_mm_N: reckoned unless given. rolled: the thread, "before" or "after" heat
    treatment. skew_deg: angle of the head's seat; skew_swing_deg: by how much it swings to either side in service.
    """

    size: str
    property_class: str
    clamp_length_mm: float
    tightening: str
    lubrication: str | None = None
    friction_low: float | None = None
    friction_high: float | None = None
    tightening_factor: float | None = None
    torque_Nm: float | None = None
    preload_kN: float | None = None
    shank_mm: float = 0.0
    tapped: bool = True
    hole_mm: float | None = None
    head_bearing_mm: float | None = None
    outer_mm: float | None = None
    embedding_um: float | None = None
    interfaces: int = 2
    roughness_Rz_um: float = 25.0
    bolt_compliance_mm_N: float | None = None
    parts_compliance_mm_N: float | None = None
    youngs_modulus_MPa: float = 206_000.0
    rolled: str = "before"
    skew_deg: float = 0.0
    skew_swing_deg: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        if bolt_size(self.size) is None:
            known = ", ".join(f"M{d}" for d in PITCHES_MM)
            checks.add("size", self.size, f"must be one of {known}, or with a fine pitch as in 'M16x1.5'")
        checks.one_of("property_class", self.property_class, BOLT_CLASSES)
        if checks.positive("clamp_length_mm", self.clamp_length_mm):
            checks.number("shank_mm", self.shank_mm, least=0.0, most=self.clamp_length_mm)
        checks.one_of("tightening", self.tightening, TIGHTENING)
        self._check_friction(checks)
        if self.tightening_factor is not None:
            checks.number(
                "tightening_factor", self.tightening_factor, least=1.0, most=6.0, way_out="largest over least preload"
            )
        for field in (
            "torque_Nm", "preload_kN", "hole_mm", "head_bearing_mm", "outer_mm", "bolt_compliance_mm_N", "parts_compliance_mm_N",
        ):  # fmt: skip
            checks.optional(field, getattr(self, field))
        if self.torque_Nm is not None and self.preload_kN is not None:
            checks.add(
                "preload_kN", self.preload_kN, f"contradicts torque_Nm = {self.torque_Nm}", "give one of the two"
            )
        if self.embedding_um is not None:
            checks.number("embedding_um", self.embedding_um, least=0.0, most=200.0, way_out="in micrometres")
        checks.truth("tapped", self.tapped)
        checks.whole("interfaces", self.interfaces, 0, 20)
        checks.number("roughness_Rz_um", self.roughness_Rz_um, above=0.0, below=160.0, way_out="of the clamped faces")
        checks.number("youngs_modulus_MPa", self.youngs_modulus_MPa, least=1e4, most=1e6, way_out="steel: 206000")
        checks.one_of("rolled", self.rolled, ("before", "after"), "thread rolled before or after heat treatment")
        for field in ("skew_deg", "skew_swing_deg"):
            checks.number(field, getattr(self, field), least=0.0, most=5.0, way_out="in degrees")
        checks.done()

    def _check_friction(self, checks: Checks) -> None:
        if self.friction_low is None and self.friction_high is None:
            checks.one_of(
                "lubrication", MISSING if self.lubrication is None else self.lubrication, LUBRICATION,
                "a torque without the lubrication says nothing of the preload; or give friction_low and friction_high as measured",
            )  # fmt: skip
        else:
            _friction_pair(checks, self.friction_low, self.friction_high, "friction_low", "friction_high")


@dataclass(frozen=True, kw_only=True)
class Stop:
    """A positive stop: a shoulder, pin or lip that the hammer cannot pass even if every clamp is gone.

    shear_area_mm2: what would have to be sheared off; bearing_area_mm2: what the hammer lies on; yield_MPa of the weaker part.
    """

    shear_area_mm2: float
    bearing_area_mm2: float
    yield_MPa: float
    name: str = "stop"

    def __post_init__(self) -> None:
        checks = Checks()
        for field in ("shear_area_mm2", "bearing_area_mm2", "yield_MPa"):
            checks.positive(field, getattr(self, field))
        checks.text("name", self.name)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Clamp:
    """How a hammer is held in one slot: between the slot's flank and the wedge.

    stiffness_kN_mm: of bar, wedge and slot in series, across the slot. flank_share: part of a push towards the flank that
    the flank takes; the rest takes pressure off the wedge's face (0.5 to 0.9, the wedge side being the softer; 1: flank alone).
    face_friction_low between bar and faces. bolts per wedge, wedges per slot; coupling, needed with more than one wedge: part of a wedge's own compression that
    its neighbour feels; rounds of tightening. face_area_mm2 of each clamped face and face_yield_MPa of its softer side
    limit the clamp from above. face_embedding_um: flattening of both clamped faces. locking of the bolts. stop: None if there is none.
    """

    wedge: Wedge
    bolt: Bolt
    stiffness_kN_mm: float
    flank_share: float
    face_friction_low: float
    locking: str
    bolts: int = 1
    wedges: int = 1
    coupling: float | None = None
    rounds: int = 1
    face_area_mm2: float | None = None
    face_yield_MPa: float | None = None
    face_embedding_um: float = 0.0
    stop: Stop | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        for field, kind in (("wedge", Wedge), ("bolt", Bolt)):
            if not isinstance(getattr(self, field), kind):
                checks.add(field, getattr(self, field), f"must be a {kind.__name__}")
        if self.stop is not None and not isinstance(self.stop, Stop):
            checks.add("stop", self.stop, "must be a Stop", "leave it out if there is none")
        checks.positive("stiffness_kN_mm", self.stiffness_kN_mm, "of bar, wedge and slot in series, across the slot")
        checks.number(
            "flank_share", self.flank_share, least=0.0, most=1.0, way_out="part that the flank takes, 0.5 to 0.9"
        )
        checks.number("face_friction_low", self.face_friction_low, **FRICTION, way_out=FRICTION_WAY)
        checks.one_of("locking", self.locking, LOCKINGS)
        for field in ("bolts", "wedges", "rounds"):
            checks.whole(field, getattr(self, field), 1, 12)
        if self.wedges != 1 or self.coupling is not None:
            checks.number("coupling", self.coupling, least=0.0, below=1.0, way_out="0: wedges do not feel each other")
        for field in ("face_area_mm2", "face_yield_MPa"):
            checks.optional(field, getattr(self, field))
        if (self.face_area_mm2 is None) != (self.face_yield_MPa is None):
            checks.add("face_area_mm2", self.face_area_mm2, "goes with face_yield_MPa", "give both or none")
        checks.number("face_embedding_um", self.face_embedding_um, least=0.0, most=200.0, way_out="in micrometres")
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A face that a hammer or wedge bears on.

    kind: "flat" on flat; "cylindrical": a flat pad on a half round in a groove, which turns about its axis and so closes the angle;
    "crowned": a pad of large radius on a flat. length_mm: across the axis about which it tilts; width_mm along that axis.
    depth_mm: elastic depth of the pad, needed where it stands flat. radius_mm of round or crown, groove_radius_mm of the groove (not below radius_mm).
    friction_low, friction_high: of the round in its groove. yield_MPa of the softer side.
    """

    kind: str
    length_mm: float
    width_mm: float
    depth_mm: float | None = None
    radius_mm: float | None = None
    groove_radius_mm: float | None = None
    friction_low: float | None = None
    friction_high: float | None = None
    youngs_modulus_MPa: float = 206_000.0
    poissons_ratio: float = 0.3
    yield_MPa: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        known = checks.one_of("kind", self.kind, SEATS)
        for field in ("length_mm", "width_mm"):
            checks.positive(field, getattr(self, field))
        wanted = _SEAT_FIELDS[self.kind] if known else ()
        for f in fields(self):
            if f.name not in ("depth_mm", "radius_mm", "groove_radius_mm", "friction_low", "friction_high"):
                continue
            value = getattr(self, f.name)
            if f.name not in wanted:
                if value is not None and known:
                    checks.add(f.name, value, f"does not belong to a {self.kind} seat", "leave it out")
            elif not f.name.startswith("friction"):
                checks.positive(f.name, value, f"a {self.kind} seat needs it")
        if "friction_low" in wanted:
            _friction_pair(checks, self.friction_low, self.friction_high, "friction_low", "friction_high")
        if (
            "groove_radius_mm" in wanted
            and isinstance(self.radius_mm, (int, float))
            and isinstance(self.groove_radius_mm, (int, float))
            and self.groove_radius_mm < self.radius_mm
        ):
            checks.add("groove_radius_mm", self.groove_radius_mm, f"must be at least radius_mm = {self.radius_mm}", "the round would stand on the groove's rims")  # fmt: skip
        checks.number("youngs_modulus_MPa", self.youngs_modulus_MPa, least=1e3, most=1e6, way_out="steel: 206000")
        checks.number("poissons_ratio", self.poissons_ratio, least=0.0, below=0.5, way_out="steel: 0.3")
        checks.optional("yield_MPa", self.yield_MPa)
        checks.done()
