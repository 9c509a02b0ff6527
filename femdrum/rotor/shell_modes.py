"""Ring modes of the shell (ovalling and higher) with its slots, against the hits of a revolution.

The shell away from its discs moves as a ring: n waves around, no stretch. Slots are smeared along the drum, not around it:
at every angle the ring has the share of wall that all rows leave there, so two modes of a number of waves may part. The
discs hold the shell's ends and lift the frequencies; how much at most follows from the energy of stretch, bending and twist
along the drum that the waves then need. So each mode has two frequencies, without and with discs; the truth lies between.
A bar clamped in both of its slots is a strut across the ring, which hinders waves that move its two slots apart: not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.check import Checks
from ..model.drum import Drum, slots
from ..model.material import STEEL_DENSITY_KG_M3, STEEL_POISSON, STEEL_YOUNGS_MPA, Material
from ..provenance import common_practice, computed
from ..units import density_t_mm3
from .critical_speed import SEPARATION, SEPARATION_SHARES
from .pattern import order_strength, pattern_answer
from .ring_bending import ring_frequencies_rad_s, thin_ring_rad_s

__all__ = ["MOST_WAVE_WALL", "ShellMode", "ShellModes", "disc_share_rad_s", "shell_modes", "thin_ring_error"]

Array = NDArray[np.float64]
RING = computed("thin ring in bending without stretch, slots smeared along the drum; elements of fifth order")
WITH_DISCS = computed(
    "energy of the stretch along the drum between two discs that hold the shell round; an upper estimate"
)
DAMPED = common_practice("damping of 1 to 3 % of critical in bolted and welded drums; 2 % taken")
# number of waves times wall over radius; beyond it shear and rotary inertia count more than the thin ring allows
MOST_WAVE_WALL = 0.6
# hits up to this multiple of their rate are looked at; above it a hit has rung off before the next one comes
MOST_MULTIPLE = 3
# share of critical damping of a bolted and welded drum; common practice, no source, 1 to 3 %
DAMPING = 0.02
# excitation weaker than this share of one in which all tips hit at once is left out
WEAK = 0.02
SAME = 1e-3
SHEAR_OVER_BENDING = 2 * (1 + 0.3) / (5 / 6)  # E over the effective shear modulus


def thin_ring_error(waves: int, *, radius_mm: float, wall_mm: float) -> float:
    """By what share the thin ring's frequency is too high for shear and rotary inertia: (n t / R)^2 (1 + E/(k G)) / 24."""
    return (waves * wall_mm / radius_mm) ** 2 * (1 + SHEAR_OVER_BENDING) / 24


def disc_share_rad_s(
    waves: int,
    *,
    radius_mm: float,
    wall_mm: float,
    length_mm: float,
    youngs_modulus_MPa: float,
    poissons_ratio: float,
    density_kg_m3: float,
) -> float:
    """What the shell adds to its ring between two discs that hold it round: w^2 <= ring^2 + this^2, rad/s.

    By the energy of a motion with half a wave along the drum that neither shears nor stretches around: stretch along the
    drum, bending along it, twist, and the bending around that a long shell has above a narrow ring. s = pi R / L.
    """
    n, nu, s = waves, poissons_ratio, math.pi * radius_mm / length_mm
    stretch = (s / n) ** 4
    bent = s**4 + 2 * nu * s**2 * (n**2 - 1) + 2 * (1 - nu) * (s * (n**2 - 1) / n) ** 2 + (nu * (n**2 - 1)) ** 2
    wall = wall_mm**2 / (12 * (1 - nu**2) * radius_mm**2)
    speed2 = youngs_modulus_MPa / (density_t_mm3(density_kg_m3) * radius_mm**2)
    return math.sqrt(speed2 * (stretch + wall * bent) / (1 + 1 / n**2))


@dataclass(frozen=True)
class ShellMode:
    """A mode of `waves` waves around.

    ring_Hz: without discs (lower); disc_Hz: with discs by energy (upper). plain_Hz: thin ring without slots, closed
    form. thin_error: share by which ring_Hz is too high for a thick wall. meets: excitation nearest to the band between the
    two, as order of the speed in the drum's own frame, its frequency (Hz) at the running speed and its strength; share: how
    far it is from the band (0 inside). verdict: "apart", "close", "too close". build_up: how many times a single hit's ringing
    a train of hits can reach at its worst speed, by DAMPING and the periods between hits, one at least.
    """

    waves: int
    ring_Hz: float
    disc_Hz: float
    plain_Hz: float
    thin_error: float
    meets_order: int
    meets_Hz: float
    meets_strength: float
    share: float
    verdict: str
    build_up: float


@dataclass(frozen=True)
class ShellModes:
    """The modes, rising, with notes and warnings."""

    speed_rpm: float
    modes: tuple[ShellMode, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """For the table of derived numbers."""
        out = []
        for m in self.modes:
            out.append(
                Figure(f"shell, {m.waves} waves around, no discs", m.ring_Hz, "Hz", "thin ring with slots", RING)
            )
            out.append(
                Figure(f"shell, {m.waves} waves around, with discs", m.disc_Hz, "Hz", "w² = ring² + discs²", WITH_DISCS)
            )
            how = f"1 / (1 - exp(-2 pi D periods)), D = {DAMPING:g}, periods between hits, 1 at least"
            out.append(Figure(f"most build-up of {m.waves} waves by hits", m.build_up, "-", how, DAMPED))
            what = f"nearest excitation of {m.waves} waves"
            out.append(Figure(what, m.meets_Hz, "Hz", f"order {m.meets_order} of the speed in the drum", RING))
        return tuple(out)


def shell_modes(
    drum: Drum, *, speed_rpm: float, material: Material | None = None, most_waves: int = 4, with_hung: bool = True
) -> ShellModes:
    """Ring modes of 2, 3, ... waves against hits at one place in space.

    In the drum a hit that stands in space runs backwards around: mode n is excited at the orders q for which the pattern is
    strong at q - n or q + n. with_hung: what hangs in the slots by the bar's path "halves", and the slot parts, move along.
    Waves for which n t / R is above MOST_WAVE_WALL are left out, with a note. Raises InputFault.
    """
    checks = Checks()
    checks.positive("speed_rpm", speed_rpm, "revolutions a minute")
    checks.whole("most_waves", most_waves, 2, 12)
    checks.done()
    youngs = STEEL_YOUNGS_MPA if material is None else material.youngs_modulus_MPa
    poisson = STEEL_POISSON if material is None else material.poissons_ratio
    density = STEEL_DENSITY_KG_M3 if material is None else material.density_kg_m3
    radius, wall = drum.mid_radius_mm, drum.wall_mm
    bending, mass = youngs * wall**3 / 12, density_t_mm3(density) * wall  # for each mm along the drum
    frequency, shares = _with_slots(drum, bending, mass, with_hung, most_waves)
    (_, near), (_, far) = drum.disc_faces_mm
    out, notes, warnings = [], [], []
    for n in range(2, most_waves + 1):
        if n * wall / radius > MOST_WAVE_WALL:
            notes.append(
                f"{n} waves and more are left out: wall over radius is {wall / radius:.2g}, beyond what a thin ring knows."
            )
            break
        dominant = np.flatnonzero(np.argmax(shares[:, : most_waves + 3], axis=1) == n)
        if not len(dominant):
            notes.append(f"No mode is mainly of {n} waves: the slots mix them.")
            continue
        plain = thin_ring_rad_s(n, radius_mm=radius, bending_Nmm2=bending, mass_t_per_mm=mass)
        discs = disc_share_rad_s(
            n,
            radius_mm=radius,
            wall_mm=wall,
            length_mm=far - near,
            youngs_modulus_MPa=youngs,
            poissons_ratio=poisson,
            density_kg_m3=density,
        )
        pair = [float(value) for value in frequency[dominant[:2]]]
        # two alike are one: the pattern does not part them
        for ring in pair if pair[-1] > pair[0] * (1 + SAME) else pair[:1]:
            mode = _against(drum, n, ring, math.hypot(ring, discs), plain, speed_rpm)
            out.append(mode)
            if mode.verdict != "apart":
                warnings.append(
                    f"{n} waves around, {mode.ring_Hz:.0f} to {mode.disc_Hz:.0f} Hz: order {mode.meets_order} of the speed, "
                    f"{mode.meets_Hz:.0f} Hz, is {mode.verdict}; wanted are {SEPARATION.source} (common practice, no source)."
                )
    notes.append(
        f"Hits come from one place in space, equal and short. Orders up to {MOST_MULTIPLE} times the hits' rate are looked at."
    )
    if drum.hammer is not None and drum.hammer.path == "both":
        notes.append("Bars clamped in both slots hinder the ovalling and raise these frequencies; that is not in them.")
    return ShellModes(speed_rpm, tuple(out), tuple(notes), tuple(warnings))


def _with_slots(drum: Drum, bending: float, mass: float, hung: bool, most_waves: int) -> tuple[Array, Array]:
    """Frequencies (rad/s) of the ring with all rows' slots smeared along the drum, and the waves in each mode."""
    length = drum.rows_total * drum.pitch_mm
    places = slots(drum)
    angles = np.radians([s.angle_deg for s in places])
    a, radius = drum.cutout.half_x_mm, drum.mid_radius_mm
    half = math.asin(a / radius)
    t = np.linspace(0.0, 1.0, 201)
    outline = np.concatenate([piece.point(t) for piece in drum.cutout.quarter()])
    order = np.argsort(outline[:, 0], kind="stable")
    across, along = outline[order, 0], outline[order, 1]

    def left(angle: Array) -> Array:
        """Share of the wall that is there at an angle."""
        turned = (angle[:, None] - angles + math.pi) % (2 * math.pi) - math.pi
        x = radius * np.abs(np.sin(turned))
        # at the flank itself the highest point of the outline counts from inside
        inside = (np.abs(turned) < half).astype(float)
        chord = inside * np.interp(x, across, along, right=0.0)
        return np.asarray(np.maximum(1 - 2 * chord.sum(axis=1) / length, 0.02))

    masses = _hung(drum, angles, length) if hung else ()
    breaks = np.concatenate([angles - half, angles + half])
    return ring_frequencies_rad_s(
        radius_mm=radius, bending_Nmm2=lambda angle: bending * left(angle), mass_t_per_mm=lambda angle: mass * left(angle),
        breaks_rad=np.mod(breaks, 2 * math.pi), point_masses=masses, modes=2 * most_waves + 4,
    )  # fmt: skip


def _hung(drum: Drum, angles: Array, length: float) -> tuple[tuple[float, float], ...]:
    """What moves with the slots' edges, t for each mm along the drum."""
    each = sum(part.mass_kg for part in drum.slot_parts)
    hammer = drum.hammer
    if hammer is not None and hammer.path == "halves":
        each += hammer.mass_kg + hammer.tip_mass_kg
    if not each:
        return ()
    spots, counts = np.unique(np.round(np.mod(angles, 2 * math.pi), 9), return_counts=True)
    return tuple((float(s), 1e-3 * each * int(c) / length) for s, c in zip(spots, counts, strict=True))


def _against(drum: Drum, n: int, low: float, high: float, plain: float, speed_rpm: float) -> ShellMode:
    """The excitation nearest to the band between low and high (rad/s)."""
    hz, turn = 1 / (2 * math.pi), speed_rpm / 60
    band = low * hz, high * hz
    base = pattern_answer(drum, speed_rpm=speed_rpm).first_order
    orders = np.arange(1, MOST_MULTIPLE * base + n + 1)
    strength = np.maximum(order_strength(drum, orders - n), order_strength(drum, orders + n))
    lines = orders * turn
    gap = np.maximum(np.maximum(band[0] - lines, lines - band[1]), 0.0) / lines
    gap = np.where(strength > WEAK, gap, np.inf)
    i = int(np.argmin(gap))
    share = float(gap[i])
    verdict = "apart" if share >= SEPARATION_SHARES[1] else "close" if share >= SEPARATION_SHARES[0] else "too close"
    error = thin_ring_error(n, radius_mm=drum.mid_radius_mm, wall_mm=drum.wall_mm)
    # the slower it rings against the hits, the less of one is left when the next one comes
    build_up = 1 / (1 - math.exp(-2 * math.pi * DAMPING * max(band[0] / (base * turn), 1.0)))
    return ShellMode(
        n,
        band[0],
        band[1],
        plain * hz,
        error,
        int(orders[i]),
        float(lines[i]),
        float(strength[i]),
        share,
        verdict,
        build_up,
    )
