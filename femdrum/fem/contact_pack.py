"""Hammer and wedge between the two pieces of wall beside a slot: the contact model of a wedge pack, and its drive.

x runs from the wedge's flank to the hammer's, y outward from the middle of the wall; per mm along the drum's axis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..model.contact_input import WedgePack
from ..model.material import Material
from .contact import Contact, ContactState, Drive
from .contact_blocks import Spot, arc_ends, between, divide, rounded_side, strip
from .contact_body import Body, Motion, hold, traction_load
from .contact_pair import Interface
from .harmonic_section import Section, spread

__all__ = ["LEVELS", "ON_HAMMER", "PackFineness", "PackSolution", "faces_of", "solve_pack"]

Array = NDArray[np.float64]

ON_HAMMER = "wedge on hammer"
# bodies by number
HAMMER_WALL, HAMMER, WEDGE, WEDGE_WALL = range(4)
# a corner gives way more than a half-plane: by so much less does its round bear (computed with ever finer meshes)
CORNER = 0.4
# how far over that length cells stay small; from where on nothing bears even at an end that takes most; how they grow there
REACH, FAR, BEYOND = 1.3, 12.0, 1.5


@dataclass(frozen=True)
class PackFineness:
    """How fine a pack is: order of the elements; first cell at a sharp end over the height, at a rounded one over the length by
    which it bears; growth of cells along the faces and across them; largest cell along a face over the wall's height.
    """

    order: int = 2
    sharp: float = 0.015
    rounded: float = 0.5
    slope: float = 0.6
    across: float = 1.2
    most: float = 0.06


# coarse to fine; two neighbours give a value and its band
LEVELS = (
    PackFineness(),
    PackFineness(sharp=0.0075, rounded=0.25, slope=0.45, most=0.04),
    PackFineness(sharp=0.00375, rounded=0.125, slope=0.35, across=0.9, most=0.03),
)


@dataclass(frozen=True, eq=False)
class PackSolution:
    """A pack clamped. state: faces by name: "hammer on leading flank", "wedge on hammer", "wedge on trailing flank", or with the flanks
    changed over. drive_N: force that moves the wedge along its flank, per mm of length (None: driven across the section); closing_mm: by which such a
    wedge closes the pack; hold_N: what holds the hammer along the slot, outward positive, per mm of length. unknowns: of all bodies.
    """

    pack: WedgePack
    contact: Contact
    state: ContactState
    drive_N: float | None
    closing_mm: float | None
    hold_N: float
    unknowns: int


def faces_of(pack: WedgePack) -> tuple[str, str]:
    """Names of the faces on the flanks: the hammer's, the wedge's."""
    return f"hammer on {pack.hammer_on} flank", f"wedge on {pack.wedge_on} flank"


def solve_pack(pack: WedgePack, material: Material, fineness: PackFineness | None = None) -> PackSolution:
    """The pack with its clamp force. Raises SolveFailure where no state of contact brings it."""
    contact = _Pack(pack, material, fineness or PackFineness()).contact()
    name = faces_of(pack)[1]
    state = contact.solve(driven={name: pack.line_load_N_mm})
    along = pack.driven == "along"
    # the hammer is the second side of both its faces
    hold_N = -sum(float(face.other_force_N[1]) for face in state.faces.values() if "hammer" in face.name)
    return PackSolution(
        pack, contact, state, None if along else state.drives[name], state.drives[name] if along else None, hold_N,
        sum(b.unknowns for b in contact.bodies),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Pack:
    pack: WedgePack
    material: Material
    f: PackFineness

    # -- cells -----------------------------------------------------------------------------------------------------

    def _edge(self, place: float, upper: bool = True) -> Spot:
        """Cells at an upper or lower end that bears: shares of the length by which a rounded flat bears on its round (flat punch with rounded
        edges, half-planes; only the size of cells hangs on it), or of the height where the end is sharp.
        """
        p = self.pack
        height = min(p.wall_mm, p.wedge_height_mm)
        half, r = 0.5 * height - p.edge_radius_mm, p.edge_radius_mm
        # beyond the end nothing bears
        beyond = {"above" if upper else "below": BEYOND}
        if not r:
            return Spot(place, self.f.sharp * height, **beyond)
        angle = (3 * p.line_load_N_mm * r / (self._modulus * half**2)) ** (1 / 3)
        length = min(CORNER * 0.5 * half * angle**2, r)
        return Spot(place, self.f.rounded * length, REACH * length, FAR * length, **beyond)

    @property
    def _modulus(self) -> float:
        """Contact modulus of equal bodies."""
        return self.material.youngs_modulus_MPa / (2 * (1 - self.material.poissons_ratio**2))

    def _heights(self, low: float, high: float, radius: float) -> Array:
        """Nodes along a body's flank from low to high, its own ends rounded; small cells where any body's edge bears on it."""
        p = self.pack
        half, r = 0.5 * p.wall_mm, p.edge_radius_mm
        stops, coarse = [low, high], self.f.most * p.wall_mm
        if radius:
            stops = [*arc_ends(low, high, radius), low + radius, high - radius]
        spots = []
        for lower, upper in ((-half, half), p.wedge_ends_mm):
            spots.append(Spot(0.5 * (lower + upper), coarse, 0.5 * (upper - lower)))
            spots += [self._edge(y, up) for y, up in ((lower + r, False), (upper - r, True)) if low <= y <= high]
        if p.crown_radius_mm is not None:
            width = self._crown_half_width()
            # an angle rolls the crown along
            top = p.crown_middle_mm - 1e-3 * p.angle_error_mrad * p.crown_radius_mm
            spots.append(Spot(float(np.clip(top, -half, half)), 0.3 * self.f.rounded * width, 1.2 * width))
        ends = divide(stops, spots, self.f.slope)
        return spread(ends, self.f.order)

    def _crown_half_width(self) -> float:
        """Of the crown on the flank by line contact: only the size of cells hangs on it."""
        p = self.pack
        assert p.crown_radius_mm is not None
        return math.sqrt(4 * p.line_load_N_mm * p.crown_radius_mm / (math.pi * self._modulus))

    def _shares(self, width: float, first: float | None, last: float | None) -> Array:
        """Of rays across a body: small cells at a face that bears, none asked for at a far end."""
        small = 2 * self._edge(0.0).size
        return between(width, first or small, last or small, self.f.across)

    # -- bodies ----------------------------------------------------------------------------------------------------

    def wall(self, sign: float) -> Section:
        """A piece of wall beyond its flank at x = sign * slot / 2. Curves: flank, far, inner end, outer end."""
        p = self.pack
        half, r, x0 = 0.5 * p.wall_mm, p.edge_radius_mm, 0.5 * p.slot_mm
        y = self._heights(-half, half, r)
        back, far_y = rounded_side(y, -half, half, r)
        flank = np.stack([sign * (x0 + back), y], -1)
        far = np.stack([np.full_like(y, sign * (x0 + p.piece_length_mm)), far_y], -1)
        shares = self._shares(p.piece_length_mm, None, 0.15 * p.piece_length_mm)
        return strip(flank, far, shares, self.f.order, ("flank", "far", "inner end", "outer end"))

    def _seat(self, y: Array) -> Array:
        """x of the face between hammer and wedge."""
        p = self.pack
        return np.asarray(0.5 * p.slot_mm - p.hammer_mm + p.taper_slope * y)

    def hammer(self) -> Section:
        """Curves: plain (on the flank), seat (for the wedge), inner end, outer end."""
        p = self.pack
        low, high = p.hammer_ends_mm
        y = self._heights(low, high, 0.0)
        plain = np.stack([np.full_like(y, 0.5 * p.slot_mm), y], -1)
        seat = np.stack([self._seat(y), y], -1)
        shares = self._shares(p.hammer_mm, None, None)
        return strip(plain, seat, shares, self.f.order, ("plain", "seat", "inner end", "outer end"))

    def wedge(self) -> Section:
        """Curves: plain (on the flank), taper (on the hammer), inner end, outer end."""
        p = self.pack
        low, high = p.wedge_ends_mm
        y = self._heights(low, high, p.edge_radius_mm)
        back, _ = rounded_side(y, low, high, p.edge_radius_mm)
        plain = np.stack([-0.5 * p.slot_mm + back, y], -1)
        # the rounded ends of the tapered face stand back square to it
        lean = math.hypot(1.0, p.taper_slope)
        taper = np.stack([self._seat(y) - back * lean, y], -1)
        shares = self._shares(p.wedge_mm, None, None)
        return strip(plain, taper, shares, self.f.order, ("plain", "taper", "inner end", "outer end"))

    # -- model -----------------------------------------------------------------------------------------------------

    def contact(self) -> Contact:
        """Bodies and faces made ready."""
        p = self.pack
        walls = {sign: self.wall(sign) for sign in (1.0, -1.0)}
        hammer, wedge = self.hammer(), self.wedge()
        names = {1.0: p.hammer_on, -1.0: p.wedge_on}
        bodies = (
            self._wall_body(names[1.0], walls[1.0], 1.0),
            Body("hammer", hammer, self.material, held=_even(hammer, "inner end")),
            Body("wedge", wedge, self.material, held=_even(wedge, "outer end") if p.driven == "along" else None),
            self._wall_body(names[-1.0], walls[-1.0], -1.0),
        )
        on_flank, wedge_on_flank = faces_of(p)
        short = p.wedge_height_mm <= p.wall_mm
        sides = ((WEDGE, "plain"), (WEDGE_WALL, "flank"))
        interfaces = (
            Interface(
                on_flank,
                (HAMMER_WALL, "flank"),
                (HAMMER, "plain"),
                p.friction,
                self._gap if self._shaped else None,
                "second",
            ),
            Interface(ON_HAMMER, (WEDGE, "taper"), (HAMMER, "seat"), p.friction, normal="second"),
            Interface(wedge_on_flank, *(sides if short else sides[::-1]), p.friction, normal="second"),
        )
        push = (WEDGE, _even(wedge, "outer end") * (-1.0 if p.driven == "inward" else 1.0))
        return Contact(bodies, interfaces, [Drive(wedge_on_flank, None if p.driven == "along" else push)])

    @property
    def _shaped(self) -> bool:
        return bool(self.pack.angle_error_mrad) or self.pack.crown_radius_mm is not None

    def _gap(self, places: Array) -> Array:
        """Gap of the hammer's face against its flank by angular error and crown, touching at its highest place on the wall."""
        p = self.pack
        half = 0.5 * p.wall_mm

        def shape(y: Array) -> Array:
            gap = 1e-3 * p.angle_error_mrad * y
            return gap if p.crown_radius_mm is None else gap + (y - p.crown_middle_mm) ** 2 / (2 * p.crown_radius_mm)

        return np.asarray(shape(places[:, 1]) - shape(np.linspace(-half, half, 2001)).min())

    def _wall_body(self, flank: str, section: Section, sign: float) -> Body:
        p = self.pack
        about = (sign * (0.5 * p.slot_mm + p.piece_length_mm), 0.0)
        motions = []
        if p.push_stiffness_N_mm is not None:
            motions.append(Motion("x", p.push_stiffness_N_mm / p.length_mm))
        if p.turn_stiffness_Nmm_rad is not None:
            motions.append(Motion("turn", p.turn_stiffness_Nmm_rad / p.length_mm, about))
        return Body(
            f"wall at the {flank} flank",
            section,
            self.material,
            fixed=hold(section, ["far"], ["far"]),
            motions=tuple(motions),
        )


def _even(section: Section, end: str) -> Array:
    """1 N per mm outward along the slot, even over an end."""
    ends = section.nodes[section.curves[end]][[0, -1]]
    return traction_load(section, end, (0.0, 1.0 / float(np.linalg.norm(ends[1] - ends[0]))))
