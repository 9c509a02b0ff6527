"""A wedge pack in words and derived numbers: what was modelled, springs and line contact beside the contact solution, warnings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ..errors import OutsideRange
from ..figure import Figure, figure
from ..model.clamp import Seat
from ..model.contact_input import WedgePack
from ..provenance import computed
from ..quantity import Verdict
from ..rotor.seat import (
    MEAN_SHARE,
    contact_length_mm,
    hertz_line,
    lift_off_mrad,
    seat_pressure,
)
from .answer import Comparison
from .contact_face import bears_fully, flat_mm

if TYPE_CHECKING:
    from .contact import PackFace, PackResult

__all__ = ["SpringPad", "pack_comparisons", "pack_figures", "pack_notes", "pack_warnings", "spring_pad"]

CONTACT = computed("contact by finite elements in the plane section")
SPRINGS = computed("pad on springs of stiffness E / depth, an estimate: see rotor/seat.py")
STATICS = computed("statics, rigid wedge")
LINE = computed("line contact of half-planes, see rotor/seat.py")


class SpringPad:
    """The hammer's face as a rigid pad on springs as deep as all that the clamp squeezes, between the far ends of the wall.

    depth_mm; lift_off_mrad; peak_MPa; couple_Nmm (sign as in PackFace); contact_mm.
    """

    def __init__(self, pack: WedgePack, youngs_modulus_MPa: float) -> None:
        self.depth_mm = pack.slot_mm + 2 * pack.piece_length_mm
        size = {
            "length_mm": pack.wall_mm,
            "width_mm": pack.length_mm,
            "depth_mm": self.depth_mm,
            "youngs_modulus_MPa": youngs_modulus_MPa,
        }
        self.lift_off_mrad = lift_off_mrad(force_N=pack.clamp_N, **size)
        seat = Seat(kind="flat", **size)
        angle = math.degrees(1e-3 * abs(pack.angle_error_mrad))
        self.peak_MPa = seat_pressure(seat, force_N=pack.clamp_N, angle_deg=angle).peak_MPa
        ratio = abs(pack.angle_error_mrad) / self.lift_off_mrad
        self.contact_mm = contact_length_mm(length_mm=pack.wall_mm, ratio=ratio)
        # full contact: a straight line of pressure; beyond, a triangle at one edge
        arm = ratio * pack.wall_mm / 6 if ratio <= 1 else 0.5 * pack.wall_mm - self.contact_mm / 3
        self.couple_Nmm = -math.copysign(arm * pack.clamp_N, pack.angle_error_mrad)


def spring_pad(pack: WedgePack, youngs_modulus_MPa: float) -> SpringPad:
    """The spring estimate of a pack."""
    return SpringPad(pack, youngs_modulus_MPa)


def pack_notes(pack: WedgePack) -> tuple[str, ...]:
    """What was modelled and what was not."""
    notes = [
        "Plane section across the drum through the middle of what bears, plane strain, the clamp even along the drum's axis: the "
        "ends of wedge and hammer along the axis are not in the model.",
        "Linear elastic bodies, small displacements; flanks flat and parallel, faces without roughness.",
        f"{pack.piece_length_mm:.4g} mm of wall beside each flank are modelled; {_held(pack)}.",
        "Hammer and wedge find their place by themselves. The hammer is held along the slot by an even pressure on the inner end of "
        "what is modelled of it.",
    ]
    if pack.driven == "along":
        notes.append(
            "The wedge is driven along the drum: it closes the pack by the same distance over its whole height until the clamp "
            "force is reached."
        )
        if pack.friction:
            notes.append(
                "While the wedge slides along the drum its friction points along it and leaves none across; friction in the section "
                "is then an upper bound."
            )
    else:
        notes.append(
            f"The wedge is driven {pack.driven} by an even pressure on its outer end, in one step, and its bolt still pulls: this is the "
            "state of tightening, not that after slackening."
        )
    if not pack.friction:
        notes.append("No friction.")
    if pack.edge_radius_mm:
        notes.append(
            f"Ends that bear are rounded with {pack.edge_radius_mm:g} mm, the first 45 degrees of it. The peak hangs on this radius."
        )
    else:
        notes.append(
            "Ends that bear are sharp: resultant, couple and the pressure away from them hold, a peak does not exist."
        )
    return tuple(notes)


def _held(pack: WedgePack) -> str:
    springs = [
        text
        for text, value in (
            (f"{pack.push_stiffness_N_mm or 0:g} N/mm around the drum", pack.push_stiffness_N_mm),
            (f"{pack.turn_stiffness_Nmm_rad or 0:g} N mm/rad against turning", pack.turn_stiffness_Nmm_rad),
        )
        if value is not None
    ]
    if not springs:
        return "their far ends stand still, as of a stiff shell"
    return "their far ends stay plane and stand on springs of " + " and ".join(springs)


def pack_figures(result: PackResult) -> tuple[Figure, ...]:
    """Derived numbers."""
    pack = result.pack
    out = [Figure("clamp force per length", pack.line_load_N_mm, "N/mm", "N / l", computed("definition"))]
    for face in result.faces:
        out.append(Figure(f"mean pressure, {face.name}", face.mean_MPa, "MPa", "N / (l h)", computed("definition")))
        if face.flank:
            text = f"lever of the clamp force, {face.name}"
            out.append(Figure(text, float(face.couple) / face.force_N, "mm", "∫ p y dA / N", CONTACT))
            out.append(Figure(f"linear part, {face.name}", float(face.linear), "MPa", "6 ∫ p y dA / (l h²)", CONTACT))
    if result.drive_N is not None:
        out.append(
            Figure("force that drives the wedge", 1e-3 * result.drive_N, "kN", "that at which N is reached", CONTACT)
        )
    if result.closing_mm is not None:
        out.append(Figure("closing of the pack", 1e3 * result.closing_mm, "um", "that at which N is reached", CONTACT))
    pad = SpringPad(pack, result.material.youngs_modulus_MPa)
    out.append(
        figure(
            lift_off_mrad, pad.lift_off_mrad, "angle at which the hammer would lift off on springs as deep as the pack"
        )
    )
    face = result.face(pack.hammer_on)
    if pack.angle_error_mrad and pack.crown_radius_mm is None and bears_fully(pack, face):
        depth = (
            result.material.youngs_modulus_MPa
            * 1e-3
            * abs(pack.angle_error_mrad)
            * pack.wall_mm
            / (2 * abs(float(face.linear)))
        )
        text = "depth of springs that give the same linear part"
        out.append(Figure(text, depth, "mm", "h = E θ L / (2 p_linear)", CONTACT))
    return tuple(out)


def pack_comparisons(result: PackResult) -> tuple[Comparison, ...]:
    """Springs, line contact and the statics of the wedge beside the contact solution."""
    pack, out = result.pack, []
    face = result.face(pack.hammer_on)
    if pack.crown_radius_mm is None:
        out += _against_springs(result, face)
    else:
        out += _against_line(result, face)
    if result.drive_N is not None:
        # wedge_normal_N turned round; it refuses friction of 0
        rub = math.atan(pack.friction)
        drive = pack.clamp_N * (math.tan(math.radians(pack.taper_deg) + rub) + pack.friction)
        note = "F = N (tan(α + φ) + tan φ): holds where the whole wedge slides"
        out.append(Comparison("force that drives the wedge, N", result.drive_N, None, drive, str(STATICS), note))
    return tuple(out)


def _against_springs(result: PackResult, face: PackFace) -> list[Comparison]:
    pack = result.pack
    pad = SpringPad(pack, result.material.youngs_modulus_MPa)
    deep = f"springs as deep as slot and both pieces of wall, {pad.depth_mm:g} mm"
    rows: list[tuple[str, float | None, float | None, float, str]] = [
        ("force on the hammer's flank, N", face.force_N, 0.0, pack.clamp_N, deep)
    ]
    if pack.angle_error_mrad:
        rows.append(("couple on the hammer's flank, N mm", face.couple.value, face.couple.band, pad.couple_Nmm, deep))
    note = deep if face.peak.value is not None else f"{deep}; an elastic body has no finite peak at a sharp end"
    rows.append(("peak pressure on the hammer's flank, MPa", face.peak.value, face.peak.band, pad.peak_MPa, note))
    rows.append(
        ("length in contact on the hammer's flank, mm", face.bears.value, face.bears.band, pad.contact_mm, deep)
    )
    return [Comparison(what, ours, band, value, str(SPRINGS), note) for what, ours, band, value, note in rows]


def _against_line(result: PackResult, face: PackFace) -> list[Comparison]:
    pack, material = result.pack, result.material
    assert pack.crown_radius_mm is not None
    what = ("peak pressure under the crown, MPa", "half width under the crown, mm")
    half = 0.5 * float(face.bears.band or 0.0)
    ours = ((face.peak.value, face.peak.band), (face.half_width_mm, half))
    values: tuple[float | None, float | None] = (None, None)
    note = "half-planes: holds where the half width is small against wall and hammer"
    try:
        line = hertz_line(
            force_N=pack.clamp_N, length_mm=pack.length_mm, radius_mm=pack.crown_radius_mm,
            youngs_modulus_MPa=material.youngs_modulus_MPa, poissons_ratio=material.poissons_ratio,
        )  # fmt: skip
    except OutsideRange as refused:
        note = f"refused: {refused}"
    else:
        shift = abs(pack.crown_middle_mm - 1e-3 * pack.angle_error_mrad * pack.crown_radius_mm)
        if shift + line.half_width > 0.5 * pack.wall_mm:
            note = "refused: the contact would run over the end of the flank"
        else:
            values = (line.pressure, line.half_width)
    return [Comparison(w, *o, v, str(LINE), note) for w, o, v in zip(what, ours, values, strict=True)]


def pack_warnings(result: PackResult) -> tuple[str, ...]:
    """What the user should know before using the numbers."""
    out = []
    for face in result.faces:
        if not bears_fully(result.pack, face):
            flat = flat_mm(result.pack, face.name)
            out.append(
                f"{face.name}: {float(face.bears):.3g} mm of {flat:.4g} mm bear, the rest stands open by up to {float(face.opening):.3g} um"
            )
        if face.flank and abs(float(face.linear)) > face.mean_MPa:
            out.append(
                f"{face.name}: the linear part is larger than the mean. As a load on the ring it pulls at one rim; force and couple are "
                "right, the pressure near that rim is not"
            )
    yields = result.material.yield_MPa
    if yields is None:
        out.append("no yield strength is given: whether the faces bear the pressure was not checked")
        return tuple(out)
    sharp: list[str] = []
    for face in result.faces:
        if face.mean_MPa > MEAN_SHARE * yields:
            out.append(
                f"{face.name}: the mean pressure of {face.mean_MPa:.4g} MPa is above 0.7 of yield ({yields:g} MPa)"
            )
        if face.peak.verdict is Verdict.UNBOUNDED:
            sharp.append(face.name)
        elif float(face.peak) > yields:
            out.append(
                f"{face.name}: the peak of {float(face.peak):.4g} MPa is above yield ({yields:g} MPa): the face yields there and beds in, and "
                "the clamp loses what it flattens"
            )
    if sharp:
        out.append(f"{', '.join(sharp)}: a sharp end yields under any clamp and rounds itself")
    return tuple(out)
