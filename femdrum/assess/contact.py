"""A hammer and its wedge in a slot, solved as contact: the pressure on both flanks, how far it may be trusted, and as loads.

Forces and couples are of the whole length that bears; pressure positive; heights from the middle of the wall, outward positive.
A couple, and the linear part that stands for it, is positive where the outer rim takes more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ..errors import Fault, InputFault
from ..fem.contact_pack import LEVELS, PackSolution, solve_pack
from ..figure import Figure
from ..model.accuracy import Accuracy
from ..model.check import Checks
from ..model.contact_input import WedgePack
from ..model.flank import default_patch, flank_height_mm
from ..model.material import Material
from ..model.ring import Ring
from ..model.ring_loads import FlankPressure, FlankShear, check_slot
from ..quantity import Verdict
from .answer import Comparison
from .contact_face import PackFace, pack_faces
from .contact_words import pack_comparisons, pack_figures, pack_notes, pack_warnings

__all__ = ["PackFace", "PackResult", "clamp_patches", "solve_wedge_pack"]

# unknowns from one mesh to the next, at most
GROWS = 2.5
# another slot than the ring's: sizes differ by more than this share
SAME_SIZE = 0.01
# friction force over clamp force that is no load
NO_SHEAR = 1e-6


@dataclass(frozen=True, eq=False)
class PackResult:
    """A clamped pack. faces: hammer's flank, wedge on hammer, wedge's flank. drive_N: force along the flank that drives the wedge, None where
    it is driven along the drum; closing_mm: by which such a wedge closes the pack. hold_N: what holds the hammer along the slot, outward positive.
    """

    pack: WedgePack
    material: Material
    faces: tuple[PackFace, ...]
    drive_N: float | None
    closing_mm: float | None
    hold_N: float
    verdict: Verdict
    message: str
    solutions: tuple[PackSolution, ...]
    figures: tuple[Figure, ...]
    comparisons: tuple[Comparison, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    def face(self, flank: str) -> PackFace:
        """That on the "leading" or the "trailing" flank."""
        for face in self.faces:
            if face.flank == flank:
                return face
        raise InputFault(Fault("flank", flank, "must be 'leading' or 'trailing'"))

    @property
    def unknowns(self) -> int:
        """Of the finest mesh."""
        return self.solutions[-1].unknowns


def solve_wedge_pack(
    pack: WedgePack,
    material: Material,
    accuracy: Accuracy | None = None,
    on_event: Callable[[str], None] | None = None,
    most_meshes: int = len(LEVELS),
) -> PackResult:
    """Solve the contact of a pack on two meshes, and on a third where the band is wider than asked (10 % unless given).

    most_meshes: 2 where force and couple are wanted and no peak. Raises SolveFailure where no state of contact was found.
    """
    asked = accuracy or Accuracy(error=0.1)
    solutions: list[PackSolution] = []
    faces: tuple[PackFace, ...] = ()
    open_points = ""
    for number, level in enumerate(LEVELS[:most_meshes]):
        if solutions and solutions[-1].unknowns * GROWS > asked.most_unknowns:
            break
        solutions.append(solve_pack(pack, material, level))
        if on_event:
            on_event(
                f"mesh {number + 1}: {solutions[-1].unknowns} unknowns, {solutions[-1].state.changes} changes of what bears"
            )
        if len(solutions) > 1:
            faces = pack_faces(pack, solutions[-2], solutions[-1], asked.error)
            open_points = _open_points(faces)
            if not open_points:
                break
    if not faces:
        fault = Fault(
            "most_unknowns", asked.most_unknowns, f"must allow two meshes, the coarse one has {solutions[0].unknowns}"
        )
        raise InputFault(fault)
    last, length = solutions[-1], pack.length_mm
    verdicts = [face.peak.verdict for face in faces]
    verdict = (
        Verdict.UNBOUNDED if Verdict.UNBOUNDED in verdicts else Verdict.NOT_SETTLED if open_points else Verdict.SETTLED
    )
    drive = None if last.drive_N is None else last.drive_N * length
    hold = last.hold_N * length
    result = PackResult(
        pack, material, faces, drive, last.closing_mm, hold, verdict, open_points or _sharp(verdict), tuple(solutions),
        (), (), pack_notes(pack), (),
    )  # fmt: skip
    return replace(
        result, figures=pack_figures(result), comparisons=pack_comparisons(result), warnings=pack_warnings(result)
    )


def _sharp(verdict: Verdict) -> str:
    if verdict is not Verdict.UNBOUNDED:
        return ""
    return (
        "contact reaches a sharp end, where the pressure has no finite peak: give edge_radius_mm, or use resultant, couple and "
        "the pressure a twentieth of the height in from the end"
    )


def _open_points(faces: tuple[PackFace, ...]) -> str:
    """What is not settled yet, in words."""
    wide = [f"{q.definition}, {f.name}" for f in faces for q in (f.peak, f.couple) if q.verdict is Verdict.NOT_SETTLED]
    return "band wider than asked: " + "; ".join(wide) if wide else ""


def clamp_patches(
    result: PackResult,
    ring: Ring,
    slot: int | str = "all",
    extent_mm: float | None = None,
    taper_mm: float | None = None,
) -> tuple[FlankPressure | FlankShear, ...]:
    """The pressure on both flanks as loads of the ring: a uniform part that carries the clamp force and a linear part through the
    wall that carries its couple; with friction also the shear through the wall.

    slot: its number, or "all". extent_mm along the flank: the length that bears, unless given; taper_mm: a sixth of it. Raises
    InputFault where the ring has another slot or wall than the pack.
    """
    checks = Checks()
    check_slot(checks, slot, every=True)
    for name, ours, theirs in (
        ("slot_mm", result.pack.slot_mm, 2 * ring.cutout.half_x_mm),
        ("wall_mm", result.pack.wall_mm, flank_height_mm(ring, "leading")),
    ):
        if abs(ours / theirs - 1) > SAME_SIZE:
            checks.add(name, ours, f"is not that of the ring, {theirs:.4g} mm", "solve the pack of this ring's slot")
    checks.done()
    number = slot if isinstance(slot, int) else None
    extent = result.pack.length_mm if extent_mm is None else extent_mm
    out: list[FlankPressure | FlankShear] = []
    for face in result.faces:
        if face.flank is None:
            continue
        even, linear, rubs = (
            default_patch(ring, number, face.flank, traction, profile, extent, taper_mm)
            for traction, profile in (("pressure", "uniform"), ("pressure", "linear"), ("shear_wall", "uniform"))
        )
        out.append(
            FlankPressure(
                slot=slot,
                flank=face.flank,
                pressure_MPa=face.force_N / even.force_N(ring),
                linear_MPa=float(face.couple) / linear.moment_Nmm(ring),
                extent_mm=even.extent_mm,
                taper_mm=even.taper_mm,
                name=f"clamp on {face.flank} flank",
            )
        )
        if abs(face.shear_N) > NO_SHEAR * face.force_N:
            out.append(
                FlankShear(
                    slot=slot,
                    flank=face.flank,
                    direction="wall",
                    shear_MPa=face.shear_N / rubs.force_N(ring),
                    extent_mm=rubs.extent_mm,
                    taper_mm=rubs.taper_mm,
                    name=f"clamp's friction on {face.flank} flank",
                )
            )
    return tuple(out)
