"""A drum's own stub shafts, section by section: fillets at the discs and shoulders, with safeties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..figure import Figure
from ..handbook.fit_formulas import Fit
from ..handbook.shoulder import shoulder_fits
from ..model.drum import Drum
from ..model.drum_shaft import StubShaft
from ..model.material import Material
from ..provenance import Provenance, common_practice
from .running import Cause, Running, causes
from .shaft_strength import (
    CRITERIA,
    DE,
    NOMINAL,
    PRESS_FIT,
    ShaftDuty,
    ShaftStrength,
    first_yield_safety,
    notch_factor,
    section_modulus_mm3,
    shaft_safety,
    shoulder_notch,
)

__all__ = ["PRESS_FIT_FACTOR", "StubSection", "stub_sections"]

PRESS_FIT_FACTOR = 2.5  # between the 2 and 3 of common practice, see PRESS_FIT
# a free end carries nothing at its bearing but rounding
NOTHING_NMM = 1.0
GIVEN = common_practice("declared by the user")


@dataclass(frozen=True)
class StubSection:
    """A section of a stub: where it is, what it carries, its notch, and its safeties.

    name: "drive-side fillet at the disc", "drive-side shoulder", "drive-side bearing seat", ... z_mm from the drive bearing. safeties: by criterion, against
    fatigue. yield_safety with everything at once, hits too. bending_amplitude_MPa: nominal, reversed once a revolution.
    """

    name: str
    z_mm: float
    diameter_mm: float
    bore_mm: float
    kt_bending: float
    kt_torsion: float
    duty: ShaftDuty
    bending_amplitude_MPa: float
    torsion_mean_MPa: float
    safeties: dict[str, float]
    yield_safety: float
    notch_from: str
    notes: tuple[str, ...]

    def _source(self, fit: Fit) -> tuple[str, Provenance]:
        if self.notch_from == "fit":
            return fit.case, fit.provenance
        return ("end of the press fit", PRESS_FIT) if self.notch_from == "press fit" else ("as given", GIVEN)

    @property
    def least_safety(self) -> float:
        """The least of the criteria."""
        return min(self.safeties.values())

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        who, d = self.name, self.duty
        bending, torsion = shoulder_fits("bending")[0], shoulder_fits("torsion")[0]
        return (
            Figure(f"{who}: moment amplitude", 1e-6 * d.bending_amplitude_Nmm, "kN·m", "statics of the rotor", NOMINAL),
            Figure(f"{who}: mean torque", 1e-6 * d.torque_mean_Nmm, "kN·m", "statics of the rotor", NOMINAL),
            Figure(f"{who}: Kt in bending", self.kt_bending, "-", *self._source(bending)),
            Figure(f"{who}: Kt in torsion", self.kt_torsion, "-", *self._source(torsion)),
            Figure(f"{who}: nominal bending amplitude", self.bending_amplitude_MPa, "MPa", "32 M / (pi d³)", NOMINAL),
            *(Figure(f"{who}: safety, {c}", s, "-", "distortion energy", DE) for c, s in self.safeties.items()),
            Figure(f"{who}: safety against first yield", self.yield_safety, "-", "Re / von Mises stress", NOMINAL),
        )


def stub_sections(
    drum: Drum,
    running: Running,
    strength: ShaftStrength,
    material: Material | None = None,
    *,
    notch_sensitivity: float = 1.0,
    kt_at_disc: tuple[float, float] | None = None,
    press_fit_factor: float = PRESS_FIT_FACTOR,
    acting: Sequence[Cause] | None = None,
) -> tuple[StubSection, ...]:
    """The stubs' fillets at the discs, their shoulders and bearing seats, with safeties, the worst first.

    What stands in space bends the turning stub once a revolution: amplitude. What turns with the drum is a mean. The torque
    of the drive is a mean. Hits count for first yield only. kt_at_disc: Kt in bending and in torsion of the fillet at the
    disc, if computed, instead of the fit for a thick shoulder. press_fit_factor: fatigue notch factor where a bearing's ring
    ends on its seat, taken at the bearing's middle. Sections that carry nothing are left out. Raises InputFault.
    """
    all_causes = tuple(causes(drum, running, material) if acting is None else acting)
    out = []
    for side, end, face, sign in (
        ("drive", drum.drive_end, drum.disc_faces_mm[0][0], -1.0), ("free", drum.other_end, drum.disc_faces_mm[1][0], 1.0),
    ):  # fmt: skip
        for name, at, large, small, radius in _steps(drum, end):
            known = kt_at_disc if name == "fillet at the disc" else None
            kts, notes = _notches(large, small, radius) if known is None else (known, ())
            factors = tuple(notch_factor(kt, sensitivity=notch_sensitivity) for kt in kts)
            where = _Where(
                f"{side}-side {name}", face + sign * at, small, end.stub_bore_mm, "fit" if known is None else "given"
            )
            out.append(_section(where, kts, factors, notes, all_causes, strength))
        seat = _Where(
            f"{side}-side bearing seat",
            face + sign * end.stub_length_mm,
            end.end_diameter_mm,
            end.stub_bore_mm,
            "press fit",
        )
        press = (press_fit_factor, press_fit_factor)
        out.append(_section(seat, press, press, (), all_causes, strength))
    return tuple(sorted((s for s in out if s is not None), key=lambda s: s.least_safety))


def _steps(drum: Drum, end: StubShaft) -> list[tuple[str, float, float, float, float]]:
    """Name, place from the disc's outer face, large and small diameter, radius."""
    rim = 2 * drum.inner_radius_mm
    out = [("fillet at the disc", 0.0, rim, end.stub_diameter_mm, end.fillet_radius_mm)]
    if end.seat_diameter_mm is not None:
        assert end.shoulder_mm is not None
        assert end.shoulder_radius_mm is not None
        out.append(("shoulder", end.shoulder_mm, end.stub_diameter_mm, end.seat_diameter_mm, end.shoulder_radius_mm))
    return out


def _notches(large: float, small: float, radius: float) -> tuple[tuple[float, float], tuple[str, ...]]:
    kts, notes = [], []
    for case in ("bending", "torsion"):
        kt, _, note = shoulder_notch(case, large_diameter_mm=large, small_diameter_mm=small, fillet_radius_mm=radius)
        kts.append(max(kt, 1.0))
        notes += [note] if note else []
    return (kts[0], kts[1]), tuple(notes)


@dataclass(frozen=True)
class _Where:
    name: str
    z_mm: float
    diameter_mm: float
    bore_mm: float
    notch_from: str


def _section(
    where: _Where, kts: tuple[float, float], factors: tuple[float, ...], notes: tuple[str, ...], acting: Sequence[Cause],
    strength: ShaftStrength,
) -> StubSection | None:  # fmt: skip
    z = where.z_mm

    def moment(frame: str, steady: bool) -> float:
        found = [complex(c.forces.moment_Nmm(z)) for c in acting if c.frame == frame and (c.steady or not steady)]
        return abs(sum(found))

    def torque(steady: bool) -> float:
        twisting = [c.torques for c in acting if c.torques is not None and (c.steady or not steady)]
        return sum(max(abs(float(t.inside_Nmm(z))), abs(float(t.inside_Nmm(z, beyond=True)))) for t in twisting)

    amplitude, mean = moment("space", True), moment("drum", True)
    loads = {"bending_amplitude_Nmm": amplitude, "bending_mean_Nmm": mean, "torque_mean_Nmm": torque(True)}
    if max(loads.values()) < NOTHING_NMM:
        return None
    duty = ShaftDuty(**loads, bending_notch_factor=factors[0], torsion_notch_factor=factors[1])
    worst = ShaftDuty(
        bending_amplitude_Nmm=amplitude,
        bending_mean_Nmm=max(mean, moment("drum", False)),
        torque_mean_Nmm=torque(False),
    )
    at = {"diameter_mm": where.diameter_mm, "bore_mm": where.bore_mm}
    modulus = section_modulus_mm3(**at)
    return StubSection(
        where.name, z, where.diameter_mm, where.bore_mm, kts[0], kts[1], duty, 2 * amplitude / modulus,
        torque(True) / modulus, {c: shaft_safety(c, duty, strength, **at) for c in CRITERIA},
        first_yield_safety(worst, strength, **at), where.notch_from, notes,
    )  # fmt: skip
