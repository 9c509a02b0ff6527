"""Plastic limit of a slotted shell as a section: axial force, bending, torsion, transverse force.

Thin wall, ideally plastic, von Mises. Two numbers each: `safe`, from stresses in equilibrium that nowhere exceed yield
(the static theorem), and `mechanism`, from a way to move (the kinematic theorem).

Torsion of a shell with rows of slots is not the shear of its net section alone. Shear flow passes around the drum
through the ligaments and, by its complement, along it through the bridges between the rows; ligament and bridge are
short beams that shear or bend. Where slots are long against the pitch the bridges give first, far below the net section.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..provenance import Provenance, computed
from .slotted_shell import CELLS, SlottedShell

__all__ = ["Capacity", "SectionLimit", "section_capacity", "section_limit"]

Array = NDArray[np.float64]

CONSTRAINT = 2 / math.sqrt(3)  # a wide strip that may not narrow bears this much more, von Mises
SAFE: Provenance = computed(
    "static theorem; ligaments and bridges as short beams with an elastic core, m + 0.75 v² = 1; the blocks between them "
    "are not checked"
)
MECHANISM: Provenance = computed("kinematic theorem, thin wall, least of the mechanisms tried")


@dataclass(frozen=True)
class Capacity:
    """What a section bears alone of each: axial_N, bending_Nmm (weakest direction), torque_Nmm, transverse_N.

    net_torque_Nmm: torsion by shear of the ligaments alone. gives: what gives way under torsion, in words.
    """

    axial_N: float
    bending_Nmm: float
    torque_Nmm: float
    transverse_N: float
    net_torque_Nmm: float
    gives: str


@dataclass(frozen=True)
class SectionLimit:
    """Factors on the section's forces: safe (lower) and mechanism (upper), and how it gives way in words."""

    lower: float
    upper: float
    words: str
    safe: Capacity
    mechanism: Capacity


def section_capacity(shell: SlottedShell, yield_MPa: float, *, safe: bool) -> Capacity:
    """Capacities of the slotted section; safe: by equilibrium, else by mechanisms."""
    open_ = shell.open_cells(all_rows=safe)
    share = float(open_.mean())
    outer, inner = shell.outer_radius_mm, shell.inner_radius_mm
    ring_area = 2 * math.pi / 3 * (outer**3 - inner**3)  # of r dA over the tube; 2 pi R^2 t of a thin one
    shear = yield_MPa / math.sqrt(3)
    plastic, across = _moments(open_)
    normal = yield_MPa if safe else CONSTRAINT * yield_MPa
    axial = normal * shell.gross_area_mm2 * share
    bending = normal * ring_area / (2 * math.pi) * plastic
    if not shell.slots_around:
        torque = shear * ring_area
        # elastic shear peaks at twice the mean; fully plastic, all of the wall shears
        transverse = shear * shell.gross_area_mm2 / (2.0 if safe else 0.5 * math.pi)
        return Capacity(axial, bending, torque, transverse, torque, "the wall shears")
    flow_area = 2 * math.pi * shell.mid_radius_mm**2
    flow, gives = (_safe_flow if safe else _mechanism_flow)(shell, yield_MPa)
    net = shear * ring_area * float(shell.open_cells(all_rows=False).mean())
    torque = flow_area * flow
    if not safe:
        if gives.startswith("bridges"):
            torque += shear * shell.wall_mm**2 * math.pi * shell.mid_radius_mm  # panels twist as open strips do
        torque, gives = min((torque, gives), (net, "ligaments shear"))
    else:
        torque = min(torque, net)
    transverse = math.pi * shell.mid_radius_mm * flow if safe else shear * shell.gross_area_mm2 / (2 * math.pi) * across
    return Capacity(axial, bending, torque, transverse, net, gives)


def _moments(open_: Array) -> tuple[float, float]:
    """Least plastic modulus over directions, and least of the integral of |sin|, of a thin ring with open cells.

    In units of radius^2 x wall, and of radius x wall: 4 and 4 for the closed ring.
    """
    angle = 2 * math.pi * (np.arange(CELLS) + 0.5) / CELLS
    width = 2 * math.pi / CELLS
    least, across = math.inf, math.inf
    half_cell = math.sin(0.5 * width) / (0.5 * width)  # mean of the sine over a cell
    for turn in np.linspace(0, math.pi, 180, endpoint=False):
        y = np.sin(angle - turn) * half_cell
        order = np.argsort(y)
        weight = open_[order]
        total = np.cumsum(weight)
        if total[-1] == 0:
            return 0.0, 0.0
        axis = y[order][np.searchsorted(total, 0.5 * total[-1])]
        least = min(least, float(np.sum(np.abs(y[order] - axis) * weight)) * width)
        across = min(across, float(np.sum(np.abs(y) * open_)) * width)
    return least, across


def _beams(shell: SlottedShell) -> tuple[tuple[str, float, float, float], ...]:
    """Ligament, and bridge between slots in line: name, depth, free length, and the length of cut they stand for, mm.

    Alternate rows stand in line every second row; helical ones count as if every row did.
    """
    room = 2 * math.pi * shell.mid_radius_mm / shell.slots_around
    step = shell.pitch_mm * (2 if shell.rows == "alternate" else 1)
    return (
        ("ligaments", room - shell.slot_around_mm, shell.slot_axial_mm, room),
        ("bridges", step - shell.slot_axial_mm, shell.slot_around_mm, step),
    )


def _safe_flow(shell: SlottedShell, yield_MPa: float) -> tuple[float, str]:
    """Shear flow (N/mm) that ligaments and bridges bear as short beams that shear and bend."""
    made = []
    for name, depth, length, cut in _beams(shell):
        # m = (2 / sqrt 3) (length / depth) v at the beam's ends, m + 0.75 v^2 = 1, and v at most 2/3
        b = 2 / math.sqrt(3) * length / depth
        v = min((-b + math.sqrt(b * b + 3)) / 1.5, 2 / 3)
        made.append((v * yield_MPa / math.sqrt(3) * shell.wall_mm * depth / cut, name))
    flow, name = min(made)
    return flow, f"{name} beside the slots shear and bend"


def _mechanism_flow(shell: SlottedShell, yield_MPa: float) -> tuple[float, str]:
    """Least shear flow (N/mm) of the mechanisms: ligaments bend; bridges shear or bend where slots stand in line."""
    ligament, bridge = _beams(shell)
    wall = shell.wall_mm
    _, depth, length, cut = ligament
    made = [(0.5 * yield_MPa * wall * depth**2 / (length * cut), "ligaments beside the slots bend")]
    if shell.rows != "helical" or len(shell.row_angles_rad()) == 1:  # slots in line along the drum
        _, depth, length, cut = bridge
        made.append((yield_MPa / math.sqrt(3) * wall * depth / cut, "bridges between the rows shear"))
        made.append((0.5 * yield_MPa * wall * depth**2 / (length * cut), "bridges between the rows bend"))
    return min(made)


def section_limit(
    shell: SlottedShell, *, yield_MPa: float, axial_N: float, bending_Nmm: float, torque_Nmm: float, transverse_N: float
) -> SectionLimit:
    """Factors on these forces together at which the section gives way; infinite without forces.

    Safe: normal stresses by simple addition, shear by the square root that von Mises leaves. Mechanism: least of each
    force alone, of axial force with bending, and of these with torsion in the same ligaments.
    """
    n, m, t, v = abs(axial_N), abs(bending_Nmm), abs(torque_Nmm), abs(transverse_N)
    safe, mechanism = (section_capacity(shell, yield_MPa, safe=s) for s in (True, False))
    normal = _over(n, safe.axial_N) + _over(m, safe.bending_Nmm)
    shear = _over(t, safe.torque_Nmm) + _over(v, safe.transverse_N)
    size = math.hypot(normal, shear)
    lower = math.inf if size == 0 else 1 / size
    ratio_n, ratio_m = _over(n, mechanism.axial_N), _over(m, mechanism.bending_Nmm)
    # with the same open share all around, m = cos(pi n / 2) is the exact interaction of a thin tube
    together = _tube(ratio_n, ratio_m) if shell.slots_around not in (1, 2) else 1 / max(ratio_n, ratio_m, 1e-300)
    net = _over(t, mechanism.net_torque_Nmm)
    normal_words = "bending" if n == 0 else "axial force" if m == 0 else "axial force and bending"
    ways = [
        (together, f"the net section is fully plastic under {normal_words}"),
        (1 / max(_over(t, mechanism.torque_Nmm), 1e-300), f"torsion: {mechanism.gives}"),
        (1 / max(_over(v, mechanism.transverse_N), 1e-300), "transverse force: the net section shears"),
    ]
    if t and (n or m):
        both = 1 / math.hypot(1 / together, net)
        ways.append((both, f"the net section is fully plastic under {normal_words} with torsion"))
    upper, words = min(ways)
    if upper > 1e290:
        return SectionLimit(math.inf, math.inf, "no force on the section", safe, mechanism)
    return SectionLimit(lower, upper, words, safe, mechanism)


def _over(force: float, capacity: float) -> float:
    return 0.0 if force == 0 else math.inf if capacity == 0 else force / capacity


def _tube(n: float, m: float) -> float:
    """Factor f with f m = cos(pi f n / 2)."""
    if n == 0 or m == 0:
        return 1 / max(n, m, 1e-300)
    low, high = 0.0, min(1 / n, 1 / m)
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if middle * m < math.cos(0.5 * math.pi * middle * n) else (low, middle)
    return high
