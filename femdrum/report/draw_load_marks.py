"""Arrows of the loads on the views of a ring: in the cross-section, on the shell as a beam, along it, and at a slot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.machine import Bar
from .draw_acting import Acting
from .draw_base import Shell, around_deg
from .draw_sheet import CENTRE, Sheet, View, off
from .style import GREY, LOOKS

__all__ = ["along_marks", "bars", "beam_marks", "colour_of", "face_marks", "plane_marks", "wall_marks"]

Array = NDArray[np.float64]
PHANTOM = (0, (9, 2, 1.5, 2, 1.5, 2))
COLOURS = [look.colour for look in LOOKS[:4]] + [LOOKS[5].colour, LOOKS[6].colour]


def colour_of(item: Acting) -> str:
    """The colour of a load's arrows; letters tell them apart without colour."""
    return COLOURS[(ord(item.letter[0]) - ord("A")) % len(COLOURS)]


def _tangent(angle_deg: float) -> Array:
    """Paper direction of the rotation at an angle of the drum."""
    t = np.radians(angle_deg)
    return np.array([-np.cos(t), np.sin(t)])


def bars(sheet: Sheet, view: View, bar: Bar, shell: Shell, slot: int, tip_diameter_mm: float | None) -> None:
    """The bar through a slot and the one opposite, and the circle of the tips, as neighbouring parts are drawn."""
    out = around_deg(1.0, shell.slot_deg(slot))
    side = _tangent(shell.slot_deg(slot))
    half, deep = 0.5 * bar.length_mm, 0.5 * bar.depth_mm
    pieces = [(-half, half)] if bar.path != "halves" else [(0.02 * half, half), (-half, -0.02 * half)]
    for low, high in pieces:
        corners = [low * out - deep * side, high * out - deep * side, high * out + deep * side, low * out + deep * side]
        sheet.line(view(corners), dash=PHANTOM, width=0.5, colour=GREY, closed=True, z=4)
    if tip_diameter_mm is not None:
        t = np.linspace(0, 2 * np.pi, 181)
        sheet.line(view(0.5 * tip_diameter_mm * np.stack([np.cos(t), np.sin(t)], -1)), dash=CENTRE, colour=GREY, z=2)


def plane_marks(sheet: Sheet, view: View, shell: Shell, items: Sequence[Acting], reach: float, bar_half: float) -> None:
    """Rotation, pulls on slots, forces at tips, pressure in the bore. reach: largest radius drawn; bar_half: half of the bar's length, mm."""
    s, here = view.scale, np.array([view.x_mm, view.y_mm])
    turning = [i for i in items if i.speed_rpm]
    around = any(slot is None for i in items for slot, _ in i.outward)
    clear = 4.0 if shell.slots <= 2 else 12.0 if around else 7.5  # past slot numbers and pulls
    for n, item in enumerate(turning):
        radius = reach * s + clear + 4.5 * n
        sheet.arc_arrow(here, radius, 163.0, 122.0, colour=colour_of(item))
        sheet.letter(
            here + radius * np.array([np.cos(np.radians(169)), np.sin(np.radians(169))]), item.letter, colour_of(item)
        )
    lanes: dict[int, int] = {}
    for item in items:
        colour = colour_of(item)
        for slot, force in item.outward:
            for k in range(shell.slots) if slot is None else (slot,):
                _pull(sheet, view, shell, k, force, item.letter, colour, lanes)
        if item.strut is not None:
            for k in item.strut:
                end = view(around_deg(max(bar_half, shell.outer), shell.slot_deg(k)))
                way = around_deg(1.0, shell.slot_deg(k))
                sheet.arrow(end + 0.5 * way, end + 7.5 * way, colour=colour, width=1.2)
                sheet.letter(end + 9.8 * way, item.letter, colour)
    tips: dict[int, int] = {}
    for item in (i for i in items if i.tip is not None):
        assert item.tip is not None
        n = tips[item.tip.slot] = tips.get(item.tip.slot, 0) + 1
        angle = shell.slot_deg(item.tip.slot)
        way = -np.sign(item.tip.force_N) * _tangent(angle)
        tip = view(around_deg(shell.outer + item.tip.height_mm, angle)) - 3.0 * (n - 1) * around_deg(1.0, angle)
        sheet.arrow(tip - 11.0 * way, tip - 0.3 * way, colour=colour_of(item), width=1.6, head_mm=2.8)
        sheet.letter(tip - 13.2 * way, item.letter, colour_of(item))
    for item in (i for i in items if i.patches and i.tip is None):
        for k in sorted({patch.slot or 0 for patch, _ in item.patches}):
            foot, way = view(around_deg(shell.outer, shell.slot_deg(k))), around_deg(1.0, shell.slot_deg(k))
            sheet.line([foot + 5.5 * way, foot + 7.5 * way], colour=colour_of(item), width=0.8)
            sheet.letter(foot + 9.5 * way, item.letter, colour_of(item))
    for item in (i for i in items if i.pressure_MPa):
        for angle in np.arange(15.0, 375.0, 30.0):
            low, high = (
                here + (shell.inner * s - 6.0) * around_deg(1.0, angle),
                here + (shell.inner * s - 0.4) * around_deg(1.0, angle),
            )
            ends = (low, high) if item.pressure_MPa > 0 else (high, low)
            sheet.arrow(*ends, colour=colour_of(item), width=0.8, head_mm=1.6)
        sheet.letter(here + (shell.inner * s - 8.5) * around_deg(1.0, 105.0), item.letter, colour_of(item))


def _pull(
    sheet: Sheet, view: View, shell: Shell, slot: int, force: float, letter: str, colour: str, lanes: dict[int, int]
) -> None:
    n = lanes[slot] = lanes.get(slot, 0) + 1
    angle = shell.slot_deg(slot)
    aside = (-1.0 if n % 2 else 1.0) * (shell.half_x * view.scale + 3.0 + 4.4 * ((n - 1) // 2))
    foot = view(around_deg(shell.outer, angle)) + aside * _tangent(angle)
    way = around_deg(1.0, angle)
    ends = (foot + 0.5 * way, foot + 7.0 * way)
    sheet.arrow(*(ends if force > 0 else ends[::-1]), colour=colour, width=1.1)
    if shell.slots <= 6 or slot == 0:
        sheet.letter(foot + 9.2 * way, letter, colour)


def beam_marks(sheet: Sheet, view: View, shell: Shell, items: Iterable[Acting]) -> None:
    """Moments (dashed arrows to their tension side) and transverse forces (full arrows) on the shell as a beam, from its middle."""
    vectors: list[tuple[Acting, float, bool]] = []
    for item in items:
        if item.bending:
            vectors.append((item, item.bending[1], True))
        if item.transverse:
            vectors.append((item, item.transverse[1], False))
    t = np.linspace(0, 2 * np.pi, 181)
    for radius in (shell.outer, shell.inner):
        sheet.line(view(radius * np.stack([np.cos(t), np.sin(t)], -1)), width=0.7)
    r = shell.outer * view.scale
    here = np.array([view.x_mm, view.y_mm])
    for angle in (0.0, 90.0, 180.0, 270.0):
        sheet.centre(here, here + (r + 2.0) * around_deg(1.0, angle))
    sheet.text(here + (r + 3.0) * around_deg(1.0, 0.0) + (11.5, -0.6), "0°: slot 0", size=6.0, clear=False)
    groups: dict[int, list[tuple[Acting, float, bool]]] = {}
    for vector in vectors:
        groups.setdefault(round(vector[1] / 15.0) % 24, []).append(vector)
    drawn = 0  # every second one longer, so that letters of near directions stand apart
    for group in groups.values():
        for n, (item, angle, moment) in enumerate(group):
            aside = (n - 0.5 * (len(group) - 1)) * 4.8 * _tangent(angle)
            way = around_deg(1.0, angle)
            start, end = here + aside, here + aside + (r + 5.0 + 4.2 * (drawn % 2)) * way
            drawn += 1
            colour = colour_of(item)
            if moment:
                sheet.line([start, end - 1.5 * way], dash=(0, (3, 1.2)), width=1.2, colour=colour, z=5)
                sheet.arrow(end - 1.7 * way, end, width=1.2, colour=colour, head_mm=2.6)
            else:
                sheet.arrow(start, end, width=1.2, colour=colour, head_mm=2.6)
            sheet.letter(end + 2.3 * way, item.letter, colour)


def along_marks(sheet: Sheet, view: View, half_x_mm: float, half_y_mm: float, items: Iterable[Acting]) -> None:
    """Torques (arrows across both ends, as the surface in sight moves) and axial forces. half_*_mm: of the shell on the paper."""
    here = np.array([view.x_mm, view.y_mm])
    torques = [i for i in items if i.torsion_Nmm]
    for n, item in enumerate(torques):
        up = half_y_mm + 3.2 + 4.6 * n
        way = np.sign(item.torsion_Nmm) * np.array([0.62 * half_x_mm, 0.0])
        for side in (1.0, -1.0):
            middle = here + off(0.0, side * up)
            sheet.arrow(middle - side * way, middle + side * way, colour=colour_of(item), width=1.3, head_mm=2.6)
        sheet.letter(here + off(half_x_mm + 1.0, up), item.letter, colour_of(item))
    pulls = [i for i in items if i.axial_MPa]
    up = half_y_mm + 1.5 + 4.6 * len(torques)
    for n, item in enumerate(pulls):
        x = (n - 0.5 * (len(pulls) - 1)) * 6.0
        for side in (1.0, -1.0):
            ends = (here + off(x, side * up), here + off(x, side * (up + 7.0)))
            sheet.arrow(*(ends if item.axial_MPa > 0 else ends[::-1]), colour=colour_of(item), width=1.3, head_mm=2.6)
        sheet.letter(here + off(x + 3.2, up + 4.0), item.letter, colour_of(item))


def wall_marks(
    sheet: Sheet, view: View, shell: Shell, items: Sequence[Acting], slot: int, letters: bool = True
) -> None:
    """Pressure on leading and trailing flank through the wall, at a slot drawn upright; each load's lengths have a scale of their own."""
    low, high = shell.flank(1.0)[[0, -1], 1] if not shell.chamfer else shell.flank(1.0)[[1, -2], 1]
    share = np.linspace(-1, 1, 6)
    heights = 0.5 * (low + high) + 0.5 * (high - low) * share
    stacks: dict[str, list[tuple[Acting, Array]]] = {"leading": [], "trailing": []}
    for item in items:
        for flank, stack in stacks.items():
            total = np.zeros(share.size)
            for patch, value in item.patches:
                if patch.slot in (None, slot) and patch.flank == flank and patch.traction == "pressure":
                    total += value * (1.0 if patch.profile == "uniform" else share)
            if item.clamp_N:
                total += item.clamp_N
            if np.any(total):
                stack.append((item, total))
    for item in items:
        for patch, value in item.patches:
            if patch.slot in (None, slot) and patch.flank in stacks and patch.traction == "shear_wall":
                _rub(sheet, view, shell, 1.0 if patch.flank == "leading" else -1.0, heights, value, item)
    for flank, stack in stacks.items():
        side = 1.0 if flank == "leading" else -1.0
        room = 0.46 * 2 * shell.half_x * view.scale
        lane = min(8.5, room / max(len(stack), 1))
        for n, (item, total) in enumerate(stack):
            _distribution(
                sheet,
                view,
                side,
                side * (shell.half_x - n * lane / view.scale),
                heights,
                total,
                0.82 * lane,
                item,
                letters,
            )


def _rub(sheet: Sheet, view: View, shell: Shell, side: float, heights: Array, value: float, item: Acting) -> None:
    """A shear through the wall, an arrow along the flank."""
    x = side * (shell.half_x - 2.0 / view.scale)
    ends = view([(x, heights[0]), (x, heights[-1])])
    sheet.arrow(*(ends if value > 0 else ends[::-1]), colour=colour_of(item), width=1.1)
    sheet.letter(ends[1] + (0.0, 3.0), item.letter, colour_of(item))


def _distribution(
    sheet: Sheet,
    view: View,
    side: float,
    base: float,
    heights: Array,
    values: Array,
    lane: float,
    item: Acting,
    letters: bool,
) -> None:
    colour = colour_of(item)
    lengths = lane * values / np.abs(values).max()
    tips = view(np.stack([np.full(heights.size, base), heights], -1))
    tails = tips.copy()
    tails[:, 0] -= side * lengths
    sheet.line(tails, width=0.7, colour=colour)
    sheet.line(tips, width=0.5, colour=colour)
    for tail, tip, length in zip(tails, tips, lengths, strict=True):
        if abs(length) > 0.6:
            sheet.arrow(tail, tip, width=0.7, colour=colour, head_mm=min(1.7, 0.6 * abs(length)))
    if letters:
        sheet.letter((0.5 * (tails[-1, 0] + tips[-1, 0]), tips[-1, 1] + 3.0), item.letter, colour)


def face_marks(
    sheet: Sheet, view: View, shell: Shell, items: Sequence[Acting], slot: int, flat: dict[str, float]
) -> None:
    """Where loads stand along the flanks, seen from outside: bars as long as the load at full height, thin where it falls off."""
    lanes: dict[str, int] = {}
    for item in items:
        places: dict[str, tuple[float, float]] = {}
        for patch, _ in item.patches:
            if patch.slot in (None, slot):
                places[patch.flank] = (patch.extent_mm, patch.taper_mm)
        if item.clamp_N:
            places |= {f: (flat[f], 0.0) for f in ("leading", "trailing")}
        for flank, (extent, taper) in places.items():
            n = lanes[flank] = lanes.get(flank, 0) + 1
            inward = (1.6 + 2.3 * (n - 1)) / view.scale
            upright = flank in ("leading", "trailing")
            side = 1.0 if flank in ("leading", "free_end") else -1.0
            off = side * ((shell.half_x if upright else shell.half_y) - inward)
            for half, width in ((0.5 * extent, 0.8), (0.5 * extent - taper, 2.4)):
                ends: Any = [(off, -half), (off, half)] if upright else [(-half, off), (half, off)]
                sheet.line(view(ends), width=width, colour=colour_of(item), z=5)
            rubs = next((v for p, v in item.patches if p.flank == flank and p.traction == "shear_edge"), 0.0)
            if rubs:
                way = np.sign(rubs) * (np.array([0.0, 6.0]) if upright else np.array([6.0, 0.0]))
                foot = view((off, 0.0) if upright else (0.0, off)) - (
                    np.array([side * 2.6, 0.0]) if upright else np.array([0.0, side * 2.6])
                )
                sheet.arrow(foot - way, foot + way, colour=colour_of(item), width=1.1)
            if n <= 3:
                sheet.letter(view(ends[1]) + ((0.0, 3.2) if upright else (3.2, 0.0)), item.letter, colour_of(item))
