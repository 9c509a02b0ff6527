"""Seats under an angular error: flat on flat, a self-aligning half round, a crowned pad; and the bar's corner in the slot's.

The flat pad stands on springs (elastic layer of a given depth): an estimate that shows how little angle a flat seat bears.
A half round turns about its own axis and closes the angle, unless friction locks it. N, mm, MPa, angles in mrad or degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import Fault, OutsideRange
from ..figure import Figure, figure, stated
from ..handbook.closed_forms_bars import LineContact, line_contact
from ..model.check import Checks
from ..model.clamp import Seat
from ..provenance import common_practice, computed, memory, published
from .conforming import ConformingContact, conforming_contact
from .given import need

__all__ = [
    "HERTZ_WIDTH_SHARE",
    "YIELD_MISES",
    "YIELD_TRESCA",
    "SeatPressure",
    "aligning_radius_mm",
    "chamfer_to_clear_mm",
    "contact_length_mm",
    "edge_pressure_ratio",
    "hertz_line",
    "lift_off_mrad",
    "locked_tilt_ratio",
    "projected_pressure_MPa",
    "seat_pressure",
    "tilted_pad",
]

WINKLER = computed("pad on springs of stiffness E / depth, an estimate")
LOCKED = computed("pad on springs, its moment against Coulomb friction on the round")
STATICS = computed("statics")
GEOMETRY = computed("geometry")
HERTZ = published("Hertz line contact in handbooks of machine design", "the form is seen in secondary reproductions")
BEDDED = common_practice("mean pressure of a resting seat up to 0.7 to 1.0 of yield; 0.7 taken")
# beyond this half width over radius the line-contact formula is refused
HERTZ_WIDTH_SHARE = 0.3
MEAN_SHARE = 0.7
# peak pressure of line contact over yield at which the first grain below the surface yields
YIELD_TRESCA = 1 / (2 * 0.300283106)
YIELD_MISES = 1.79
FIRST_YIELD = memory("line contact: first yield below the surface at 1.67 (Tresca) or 1.79 (von Mises) of yield")


@stated("angle at which a flat seat lifts off at one edge", "mrad", "theta_0 = 2 p / (k L), k = E / h", WINKLER)
def lift_off_mrad(
    *, force_N: float, length_mm: float, width_mm: float, depth_mm: float, youngs_modulus_MPa: float
) -> float:
    """Angle at which one edge just loses contact, mrad: 2 p / (k L). Raises InputFault."""
    need(
        positive={
            "force_N": force_N, "length_mm": length_mm, "width_mm": width_mm, "depth_mm": depth_mm, "youngs_modulus_MPa": youngs_modulus_MPa,
        },
    )  # fmt: skip
    return 1e3 * 2 * force_N / (length_mm**2 * width_mm) * depth_mm / youngs_modulus_MPa


@stated("length in contact", "mm", "L sqrt(theta_0 / theta) beyond lift-off", WINKLER)
def contact_length_mm(*, length_mm: float, ratio: float) -> float:
    """Length that stays in contact, mm; ratio: angle over the angle of lift-off. Raises InputFault."""
    need(positive={"length_mm": length_mm}, not_negative={"ratio": ratio})
    return length_mm if ratio <= 1 else length_mm / math.sqrt(ratio)


@stated(
    "edge pressure over mean pressure", "-", "1 + theta / theta_0 up to lift-off, then 2 sqrt(theta / theta_0)", WINKLER
)
def edge_pressure_ratio(*, ratio: float) -> float:
    """Peak over mean pressure; ratio: angle over the angle of lift-off. Raises InputFault."""
    need(not_negative={"ratio": ratio})
    return 1 + ratio if ratio <= 1 else 2 * math.sqrt(ratio)


@stated("tilt locked by friction over lift-off", "-", "6 mu R / L up to 1, then 1 / (9 (1/2 - mu R / L)²)", LOCKED)
def locked_tilt_ratio(*, length_mm: float, radius_mm: float, friction: float) -> float:
    """Tilt at which a half round still does not turn, over the lift-off tilt of its pad; infinite: it never turns.

    Up to 1 the pad keeps full contact: R < L / (6 mu). Raises InputFault.
    """
    need(positive={"length_mm": length_mm, "radius_mm": radius_mm}, friction={"friction": friction})
    lever = friction * radius_mm / length_mm
    if lever <= 1 / 6:
        return 6 * lever
    return 1 / (9 * (0.5 - lever) ** 2) if lever < 0.5 else math.inf


@stated("largest radius that aligns itself with full contact", "mm", "R < L / (6 mu)", LOCKED)
def aligning_radius_mm(*, length_mm: float, friction: float) -> float:
    """Largest radius of a half round whose friction leaves its pad in full contact, mm. Raises InputFault."""
    need(positive={"length_mm": length_mm}, friction={"friction": friction})
    return length_mm / (6 * friction)


@stated("projected pressure", "MPa", "p = F / (d L)", STATICS)
def projected_pressure_MPa(*, force_N: float, diameter_mm: float, length_mm: float) -> float:
    """Force over the projected area of a round, MPa. Raises InputFault."""
    need(positive={"force_N": force_N, "diameter_mm": diameter_mm, "length_mm": length_mm})
    return force_N / (diameter_mm * length_mm)


@stated(
    "least 45 degree chamfer that clears the slot's corner",
    "mm",
    "c = r - g - sqrt(2 r g - g²); flush: c = r - g",
    GEOMETRY,
)
def chamfer_to_clear_mm(*, slot_radius_mm: float, side_gap_mm: float, flush: bool = False) -> float:
    """Least chamfer on the bar's corner that clears the slot's corner radius, mm; 0 where none is needed.

    side_gap_mm: gap on both faces; flush: a wedged bar lies on its loaded face and has the gap on the other only.
    Raises InputFault.
    """
    need(positive={"slot_radius_mm": slot_radius_mm}, not_negative={"side_gap_mm": side_gap_mm})
    r, g = slot_radius_mm, side_gap_mm
    if g >= r:
        return 0.0
    return r - g if flush else max(0.0, r - g - math.sqrt(2 * r * g - g * g))


def hertz_line(
    *, force_N: float, length_mm: float, radius_mm: float, youngs_modulus_MPa: float, poissons_ratio: float, groove_radius_mm: float = math.inf
) -> LineContact:  # fmt: skip
    """Line contact of a round on a flat or in a wider groove, equal materials. Raises InputFault.

    Raises OutsideRange where the half width exceeds 0.3 of the radius: there the formula is wrong.
    """
    checks = Checks()
    if checks.positive("radius_mm", radius_mm) and not groove_radius_mm > radius_mm:
        checks.add(
            "groove_radius_mm",
            groove_radius_mm,
            f"must be above radius_mm = {radius_mm}",
            "equal radii: conforming_contact",
        )
    checks.number("poissons_ratio", poissons_ratio, least=0.0, below=0.5)
    need(positive={"force_N": force_N, "length_mm": length_mm, "youngs_modulus_MPa": youngs_modulus_MPa}, checks=checks)
    found = line_contact(
        line_load=force_N / length_mm, radius_mm=radius_mm, other_radius_mm=-groove_radius_mm,
        youngs_modulus_MPa=youngs_modulus_MPa, poissons_ratio=poissons_ratio,
    )  # fmt: skip
    if found.half_width > HERTZ_WIDTH_SHARE * radius_mm:
        raise OutsideRange(
            Fault(
                "radius_mm", radius_mm,
                f"line contact would be {found.half_width:.4g} mm wide to either side, beyond {HERTZ_WIDTH_SHARE:g} of the radius: its formula does not hold there",
                "conforming_contact for a round in a groove, or solve it: `femdrum contact`, a crown in [pack], a half round in [[round_seat]]",
            )
        )  # fmt: skip
    return found


def tilted_pad(
    *,
    force_N: float,
    length_mm: float,
    width_mm: float,
    stiffness_MPa_mm: float,
    tilt_mrad: float,
    across_mrad: float = 0.0,
) -> tuple[float, float]:
    """Peak pressure (MPa) and share of the area in contact of a rigid pad on springs, tilted about one or both axes.

    stiffness_MPa_mm: pressure per mm. Exact for springs: force of a plane wedge of pressure over a rectangle. Raises InputFault.
    """
    need(
        positive={
            "force_N": force_N,
            "length_mm": length_mm,
            "width_mm": width_mm,
            "stiffness_MPa_mm": stiffness_MPa_mm,
        },
        finite={"tilt_mrad": tilt_mrad, "across_mrad": across_mrad},
    )
    mean = force_N / (length_mm * width_mm)
    # half of the pressure's rise over the pad, in units of the mean
    a, b = (0.5e-3 * abs(t) * s * stiffness_MPa_mm / mean for t, s in ((tilt_mrad, length_mm), (across_mrad, width_mm)))
    a, b = max(a, b), min(a, b)
    if a + b <= 1:
        return mean * (1 + a + b), 1.0
    if b < 1e-6 * a:
        return mean * edge_pressure_ratio(ratio=a), 1 / math.sqrt(a)
    corners = ((1, a + b), (-1, a - b), (-1, b - a), (1, -a - b))

    def total(middle: float, power: int) -> float:
        return sum(sign * max(0.0, middle + rise) ** power for sign, rise in corners)

    from scipy.optimize import brentq

    # the plane 'middle' + a x + b y, x and y from -1 to 1, cut off at 0, has the mean 1
    middle = float(brentq(lambda m: total(m, 3) / (24 * a * b) - 1, -a - b, 1.0, xtol=1e-14 * a))
    return mean * (middle + a + b), total(middle, 2) / (8 * a * b)


@dataclass(frozen=True)
class SeatPressure:
    """Pressure of a seat under a force at an angle, MPa, mm, mrad.

    mean_MPa; peak_MPa: the largest anywhere. contact_share, contact_length_mm: of the flat pad, or of the line along a crown (None there). tilt_mrad: angle left at
    the pad after aligning. lift_off_mrad: of the pad. locked_mrad: angle that friction keeps, at the high friction (None: no half round). aligns: whether
    full contact about its own axis is kept whatever the angle. contact: of the round in its groove. utilisation: mean over 0.7 of yield, of a crown its peak over first yield; None without yield.
    """

    kind: str
    mean_MPa: float
    peak_MPa: float
    contact_share: float | None
    contact_length_mm: float | None
    tilt_mrad: float
    lift_off_mrad: float | None
    locked_mrad: float | None
    aligns: bool | None
    contact: ConformingContact | None
    utilisation: float | None
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def peak_ratio(self) -> float:
        """Peak over mean."""
        return self.peak_MPa / self.mean_MPa


def seat_pressure(seat: Seat, *, force_N: float, angle_deg: float = 0.0, across_deg: float = 0.0) -> SeatPressure:
    """Pressure of a seat under a force, N, with an angular error about its tilting axis and about the one across, degrees.

    Only the tilting axis of a half round aligns; the other stays flat on flat. A crown rolls about its axis. Raises
    InputFault; OutsideRange where line contact is asked beyond its range.
    """
    checks = Checks()
    checks.positive("force_N", force_N)
    for name, value in (("angle_deg", angle_deg), ("across_deg", across_deg)):
        checks.number(name, value, least=-10.0, most=10.0, way_out="an error of alignment, in degrees")
    checks.done()
    tilt, across = (1e3 * math.radians(abs(angle)) for angle in (angle_deg, across_deg))
    made = _crowned(seat, force_N, tilt, across) if seat.kind == "crowned" else _pad(seat, force_N, tilt, across)
    return made


NO_YIELD = "no yield strength is given: whether the seat bears the pressure was not checked"


def _bears(seat: Seat, mean: float, peak: float) -> tuple[float | None, list[Figure], list[str]]:
    """Share of what a resting pad may bear, as figure, and in words."""
    if seat.yield_MPa is None:
        return None, [], [NO_YIELD]
    use, said = mean / (MEAN_SHARE * seat.yield_MPa), []
    if use > 1:
        said.append(f"the mean pressure of {mean:.4g} MPa is above 0.7 of the yield strength ({seat.yield_MPa:g} MPa)")
    if peak > seat.yield_MPa:
        said.append(
            f"the peak of {peak:.4g} MPa is above the yield strength: the seat yields there, beds in, and the clamp loses what it flattens"
        )
    return use, [Figure("mean pressure over 0.7 of yield", use, "-", "p / (0.7 Re)", BEDDED)], said


def _pad(seat: Seat, force: float, tilt: float, across: float) -> SeatPressure:
    assert seat.depth_mm is not None
    size = {"length_mm": seat.length_mm, "width_mm": seat.width_mm}
    mean = force / (seat.length_mm * seat.width_mm)
    lift = lift_off_mrad(force_N=force, depth_mm=seat.depth_mm, youngs_modulus_MPa=seat.youngs_modulus_MPa, **size)
    locked, aligns, contact, left = None, None, None, tilt
    figures, notes, warnings = [figure(lift_off_mrad, lift)], [PAD_NOTE], []
    if seat.kind == "cylindrical":
        assert seat.radius_mm is not None and seat.friction_high is not None and seat.groove_radius_mm is not None  # noqa: PT018
        lever = {"length_mm": seat.length_mm, "friction": seat.friction_high}
        ratio = locked_tilt_ratio(radius_mm=seat.radius_mm, **lever)
        limit = aligning_radius_mm(**lever)
        locked, aligns, left = ratio * lift, seat.radius_mm < limit, min(tilt, ratio * lift)
        figures += [figure(locked_tilt_ratio, ratio), figure(aligning_radius_mm, limit)]
        notes.append("The half round closes the angle about its own axis only; across it the pad stands flat on flat.")
        if not aligns:
            warnings.append(
                f"friction of {seat.friction_high:g} locks the half round of radius {seat.radius_mm:g} mm before its pad bears fully: below {limit:.4g} mm it aligns itself"
            )
    peak, share = tilted_pad(
        force_N=force, stiffness_MPa_mm=seat.youngs_modulus_MPa / seat.depth_mm, tilt_mrad=left, across_mrad=across, **size
    )  # fmt: skip
    figures.append(
        Figure(
            "angle left at the pad",
            left,
            "mrad",
            "min(theta, theta_f)" if locked is not None else "theta",
            LOCKED if locked is not None else WINKLER,
        )
    )
    figures.append(
        Figure(
            "peak pressure of the pad",
            peak,
            "MPa",
            "plane of pressure on springs, cut off at 0, balanced with F",
            WINKLER,
        )
    )
    if seat.kind == "cylindrical":
        assert seat.radius_mm is not None and seat.groove_radius_mm is not None  # noqa: PT018
        # the angle across loads one end of the round as it loads the pad
        end, _ = tilted_pad(
            force_N=force,
            stiffness_MPa_mm=seat.youngs_modulus_MPa / seat.depth_mm,
            tilt_mrad=0.0,
            across_mrad=across,
            **size,
        )
        contact = conforming_contact(
            line_load_N_mm=end / mean * force / seat.width_mm, radius_mm=seat.radius_mm, groove_radius_mm=seat.groove_radius_mm,
            youngs_modulus_MPa=seat.youngs_modulus_MPa, poissons_ratio=seat.poissons_ratio,
        )  # fmt: skip
        projected = projected_pressure_MPa(force_N=force, diameter_mm=2 * seat.radius_mm, length_mm=seat.width_mm)
        figures += [figure(projected_pressure_MPa, projected), *contact.figures]
        notes.append(
            "The groove is taken as a hole in a large body, without friction; a groove in a small block gives way more."
        )
        if contact.hertz_half_width_mm > HERTZ_WIDTH_SHARE * seat.radius_mm:
            notes.append(
                f"The formula of line contact does not hold for the round of {seat.radius_mm:g} mm in its groove of {seat.groove_radius_mm:g} mm: it would bear over "
                f"{contact.hertz_half_width_mm / seat.radius_mm:.2g} of its radius to either side, {HERTZ_WIDTH_SHARE:g} is the most. Conforming contact is taken; "
                "`femdrum contact` with [[round_seat]] solves it in a block of its own depth."
            )
        mean, peak = max(mean, projected), max(peak, contact.peak_MPa)
    use, more, said = _bears(seat, mean, peak)
    if share < 1:
        warnings.append(
            f"the pad lifts off: {100 * share:.3g} % of it bears, the edge takes {peak / (force / (seat.length_mm * seat.width_mm)):.3g} times the mean"
        )
    return SeatPressure(
        seat.kind, mean, peak, share, share * seat.length_mm if across == 0 else None, left, lift, locked, aligns, contact, use,
        (*figures, *more), tuple(notes), (*warnings, *said),
    )  # fmt: skip


PAD_NOTE = "The pad stands on springs of stiffness E / depth: an estimate. An elastic body has steeper edges; `femdrum contact` solves hammer, wedge and flank as contact and decides."


def _crowned(seat: Seat, force: float, tilt: float, across: float) -> SeatPressure:
    assert seat.radius_mm is not None
    if across:
        raise OutsideRange(
            Fault(
                "across_deg",
                math.degrees(1e-3 * across),
                "a crown under an angle along its axis is point contact at its end",
                "give 0: a contact in space, which is not solved here",
            )
        )
    line = hertz_line(
        force_N=force, length_mm=seat.width_mm, radius_mm=seat.radius_mm, youngs_modulus_MPa=seat.youngs_modulus_MPa, poissons_ratio=seat.poissons_ratio,
    )  # fmt: skip
    shift = 1e-3 * tilt * seat.radius_mm
    mean = force / (2 * line.half_width * seat.width_mm)
    warnings = [NO_YIELD] if seat.yield_MPa is None else []
    use = None if seat.yield_MPa is None else line.pressure / (YIELD_TRESCA * seat.yield_MPa)
    if use is not None and use > 1:
        warnings.append(
            f"the peak of {line.pressure:.4g} MPa is above {YIELD_TRESCA:.3g} of the yield strength: the crown yields below its surface"
        )
    if shift + line.half_width > 0.5 * seat.length_mm:
        warnings.append(
            f"at this angle the contact moves {shift:.3g} mm and runs over the pad's edge: the formula does not hold there"
        )
    figures = (
        Figure("half width of the line contact", line.half_width, "mm", "b = sqrt(4 F' R / (pi E*))", HERTZ),
        Figure("peak pressure of the line contact", line.pressure, "MPa", "p0 = 2 F' / (pi b)", HERTZ),
        Figure("largest shear below the surface", line.shear, "MPa", "0.300 p0 at 0.786 b", HERTZ),
        Figure(
            "peak pressure at first yield over yield", YIELD_TRESCA, "-", "1.67 (Tresca), 1.79 (von Mises)", FIRST_YIELD
        ),
        Figure("shift of the contact by the angle", shift, "mm", "R theta", GEOMETRY),
    )
    return SeatPressure(
        seat.kind, mean, line.pressure, None, 2 * line.half_width, tilt, None, None, None, None, use, figures,
        ("A crown rolls with the angle and keeps its peak as long as it stays on the pad.",), tuple(warnings),
    )  # fmt: skip
