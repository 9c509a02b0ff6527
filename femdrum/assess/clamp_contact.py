"""A wedge clamp whose pressure on the flanks is solved as contact: from hammer and wedge to factors on the ring's unit cases.

The pressure of each flank enters as an even part that carries the clamp force, a linear part through the wall that carries its
couple, and a quadratic part; with friction also the shear through the wall. What is left carries neither force nor couple nor
second moment and fades within a fraction of the wall: on five packs (flat, tilted, short wedge, taper with friction, crown) two
orders more moved the peak of a slot's corner by less than 0.2 %, while the linear part moved it by up to 10 % (computed).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.polynomial.legendre import legval
from numpy.typing import NDArray

from ..figure import Figure
from ..loads.factors import factors
from ..loads.result import Factors, Term
from ..loads.ring_factors import patch
from ..model.load import Load, WedgeClamp
from ..model.material import Material
from ..model.ring import Ring
from ..provenance import computed

if TYPE_CHECKING:
    from ..fem.contact_state import FaceState
    from ..model.clamp_contact import ClampContact
    from ..model.contact_input import WedgePack
    from ..model.machine import Machine
    from .contact import PackResult
    from .contact_face import PackFace

__all__ = ["FlankPressures", "flank_pressures", "load_factors"]

Array = NDArray[np.float64]
Event = Callable[[str], None]

PROFILES = ("uniform", "linear", "quadratic")
# over the mean: a part below that moves no peak by more than 2e-4, and is left out with its band
LEAST = {"linear": 1e-3, "quadratic": 1e-2}
# friction force over clamp force that is no load
NO_SHEAR = 1e-6
ROUNDING_MM = 1e-6
CONTACT = computed("contact by finite elements in the plane section across the drum, two meshes")


@dataclass(frozen=True)
class FlankPressures:
    """What one flank gets. parts: of the pressure's profiles over its mean, by name; bands: of the same, from mesh to mesh.

    shear: friction force outward along the flank over the clamp force; shear_band likewise.
    """

    flank: str
    parts: dict[str, float]
    bands: dict[str, float]
    shear: float
    shear_band: float


def load_factors(
    part: Any,
    load: Load,
    machine: Machine | None = None,
    material: Material | None = None,
    on_event: Event | None = None,
) -> Factors:
    """Factors of any load on unit cases; of a wedge clamp with hammer and wedge from their contact, which is solved here.

    Raises InputFault as loads.factors.factors does; SolveFailure where no state of contact is found.
    """
    made = factors(part, load, machine, material)
    if not isinstance(load, WedgeClamp) or load.contact is None or not isinstance(part, Ring) or material is None:
        return made
    pack = load.contact.pack(part, 1e3 * load.force_kN)
    solved = _solved(pack, material)
    if on_event is not None:
        on_event(f"load {load.name!r}: contact of hammer, wedge and flanks, {solved.unknowns} unknowns")
    return _put_on(part, load, load.contact, made, solved)


@dataclass(frozen=True)
class _Solved:
    """What is kept of a contact solution."""

    flanks: tuple[FlankPressures, ...]
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    unknowns: int


@lru_cache(maxsize=32)
def _solved(pack: WedgePack, material: Material) -> _Solved:
    """Variants that differ in what lies outside the slot share one solution."""
    from .contact import solve_wedge_pack  # late: few loads are solved as contact

    result = solve_wedge_pack(pack, material, most_meshes=2)
    return _Solved(flank_pressures(result), _figures(result), result.notes, result.warnings, result.unknowns)


def flank_pressures(result: PackResult) -> tuple[FlankPressures, ...]:
    """The parts of the pressure on both flanks, from the two finest meshes."""
    from .contact_face import COUPLE_FACTOR, COUPLE_FLOOR

    out = []
    for face in result.faces:
        if face.flank is None:
            continue
        rough, fine = (_parts(s.state.faces[face.name], result.pack.wall_mm) for s in result.solutions[-2:])
        bands = COUPLE_FACTOR * np.abs(fine - rough) + COUPLE_FLOOR
        shear, before = (_shear(result, s.state.faces[face.name], face.flank) for s in result.solutions[-2:][::-1])
        out.append(
            FlankPressures(
                face.flank,
                dict(zip(PROFILES, map(float, fine), strict=True)),
                {"uniform": 0.0} | {p: float(b) for p, b in zip(PROFILES[1:], bands[1:], strict=True)},
                shear,
                COUPLE_FACTOR * abs(shear - before),
            )
        )
    return _balanced(out) if not result.pack.friction and result.pack.driven == "along" else tuple(out)


def _balanced(flanks: list[FlankPressures]) -> tuple[FlankPressures, ...]:
    """Without friction and taper nothing but the flanks holds the pack, so their couples are equal; the meshes differ by a little."""
    mean = sum(f.parts["linear"] for f in flanks) / len(flanks)
    return tuple(replace(f, parts=f.parts | {"linear": mean}) for f in flanks)


def _parts(face: FaceState, wall_mm: float) -> Array:
    """Of the polynomials of Legendre over the wall, over the mean: (2 n + 1) integral of p P_n over that of p."""
    share = np.clip(2 * face.place_mm[:, 1] / wall_mm, -1.0, 1.0)
    force = face.pairing.weight_mm * face.pressure_MPa
    moments = [float(force @ legval(share, np.eye(len(PROFILES))[n])) for n in range(len(PROFILES))]
    return np.array([(2 * n + 1) * m / moments[0] for n, m in enumerate(moments)])


def _shear(result: PackResult, face: FaceState, flank: str) -> float:
    """Outward on the flank over the clamp force."""
    # the flank is the first side of the hammer's face, and of the wedge's where the wedge is higher than the wall
    first = flank == result.pack.hammer_on or result.pack.wedge_height_mm > result.pack.wall_mm
    tangents = np.einsum("mkd->md", face.pairing.drag)
    shear = -float(face.shear_MPa @ tangents[:, 1])
    return (shear if first else -shear) / result.pack.line_load_N_mm


def _put_on(ring: Ring, load: WedgeClamp, contact: ClampContact, even: Factors, solved: _Solved) -> Factors:
    force = 1e3 * load.force_kN
    terms, doubts = list(even.terms), []
    for flank in solved.flanks:
        level = force / patch(ring, None, flank.flank, "pressure", "uniform", extent_mm=contact.length_mm).force_N(ring)
        for profile in PROFILES[1:]:
            name = patch(ring, None, flank.flank, "pressure", profile, extent_mm=contact.length_mm).name
            part, band = flank.parts[profile], flank.bands[profile]
            if abs(part) + band > LEAST[profile]:
                terms.append(Term(name, level * part))
                doubts.append(Term(name, level * band))
        if abs(flank.shear) > NO_SHEAR:
            rubs = patch(ring, None, flank.flank, "shear_wall", "uniform", extent_mm=contact.length_mm)
            terms.append(Term(rubs.name, force * flank.shear / rubs.force_N(ring)))
            doubts.append(Term(rubs.name, force * flank.shear_band / rubs.force_N(ring)))
    return Factors(
        tuple(terms),
        figures=solved.figures,
        warnings=solved.warnings,
        notes=(*_notes(ring, load, contact), *solved.notes),
        doubts=tuple(doubts),
    )


def _notes(ring: Ring, load: WedgeClamp, contact: ClampContact) -> tuple[str, ...]:
    stands = patch(ring, None, "leading", "pressure", "uniform", extent_mm=contact.length_mm)
    grows = (
        "All faces are flat and square: what bears stays the same under more force, and every pressure grows as the clamp."
        if contact.proportional
        else f"Angle or crown: what bears grows with the clamp. The pressure is that at {load.force_kN:g} kN; another force is another load."
    )
    return (
        "The clamp's pressure through the wall is solved as contact of hammer, wedge and both flanks. It is put on every slot with its force, "
        f"its couple and its second moment, over {stands.extent_mm:g} mm of the flank, falling to zero over {stands.taper_mm:.3g} mm at each end.",
        "What is finer than that fades within a fraction of the wall and is left out: in the pressed flank itself and its rims the "
        "contact pressure counts, which `femdrum contact` shows.",
        grows,
        *(
            (
                "How far the force moves off the wall's middle hangs on how stiffly the wall is held beyond its modelled piece; a softer wall "
                "takes less couple: turn_stiffness_Nmm_rad shows by how much.",
            )
            if not contact.proportional and contact.turn_stiffness_Nmm_rad is None
            else ()
        ),
        *(
            (
                "What draws the wedge in and what holds the hammer along the slot are no loads of the ring; the friction on its flanks is.",
            )
            if contact.friction
            else ()
        ),
    )


def _lever(face: PackFace) -> float:
    """Of the clamp force about the wall's middle; rounding of a pack that is even about it is 0."""
    lever = float(face.couple) / face.force_N
    return 0.0 if abs(lever) < ROUNDING_MM else lever


def _figures(result: PackResult) -> tuple[Figure, ...]:
    out = []
    for face in result.faces:
        if face.flank is None:
            continue
        out += [
            Figure(f"mean pressure, {face.name}", face.mean_MPa, "MPa", "N / (l h)", CONTACT),
            Figure(f"lever of the clamp force, {face.name}", _lever(face), "mm", "∫ p y dA / N", CONTACT),
            Figure(f"band of that lever, {face.name}", float(face.couple.band or 0.0) / face.force_N, "mm", "3 x change from mesh to mesh, + floor", CONTACT),
            Figure(f"length that bears through the wall, {face.name}", float(face.bears), "mm", "p > 0", CONTACT),
        ]  # fmt: skip
        if abs(face.shear_N) > NO_SHEAR * face.force_N:
            what = f"friction force on the flank, outward, {face.name}"
            out.append(Figure(what, 1e-3 * face.shear_N, "kN", "∫ shear dA", CONTACT))
    return tuple(out)
