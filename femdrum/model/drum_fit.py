"""What of a drum does not fit together. People count rows and slots from 1."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from .check import Checks
from .hammer import Hammer
from .hammer_pattern import HammerPattern, fold_deg

if TYPE_CHECKING:
    from .drum import Drum

__all__ = ["check_fit"]

# parts that touch do not collide
TOUCH_MM = 1e-6


def check_fit(drum: Drum, pattern: HammerPattern, checks: Checks) -> None:
    """Note everything that does not fit."""
    if _slots_fit(drum, pattern, checks):
        _slots_apart(drum, pattern, checks)
    _rows_between_discs(drum, pattern, checks)
    _ends_fit(drum, checks)
    if drum.hammer is not None:
        if _hammer_fits(drum, drum.hammer, checks):
            _hammers_apart(drum, drum.hammer, pattern, checks)
    elif drum.slot_parts:
        checks.add(
            "slot_parts", [p.name for p in drum.slot_parts], "hold a hammer, and there is none", "give the hammer"
        )
    _masses_fit(drum, checks)


def _slots_fit(drum: Drum, pattern: HammerPattern, checks: Checks) -> bool:
    a, inner = drum.cutout.half_x_mm, drum.inner_radius_mm
    if a >= inner:
        checks.add(
            "cutout.around_mm", 2 * a, f"flanks miss the bore: must be below the bore's diameter, {2 * inner:g} mm",
            "make the slot narrower or the wall thinner",
        )  # fmt: skip
        return False
    if math.asin(a / inner) >= math.pi / pattern.slots_around:
        room = 2 * inner * math.sin(math.pi / pattern.slots_around)
        checks.add(
            "cutout.around_mm", 2 * a, f"slots overlap around the drum: must be below {room:.4g} mm at the bore",
            "make the slot narrower or use fewer slots_around",
        )  # fmt: skip
        return False
    return True


def _pairs(pattern: HammerPattern, reach_mm: float) -> Iterator[tuple[int, int]]:
    """Rows whose middles are nearer than reach_mm, each pair once."""
    for row in range(pattern.rows_total):
        for other in range(row + 1, pattern.rows_total):
            if (other - row) * pattern.pitch_mm >= reach_mm - TOUCH_MM:
                break
            yield row, other


def _turn(pattern: HammerPattern, row: int, other: int) -> float:
    """Smallest angle between a slot of one row and one of the other."""
    period = pattern.spacing_deg
    turn = fold_deg(pattern.angle_deg(other) - pattern.angle_deg(row), period)
    return min(turn, period - turn)


def _slots_apart(drum: Drum, pattern: HammerPattern, checks: Checks) -> None:
    """Slots of neighbouring rows, as the rectangles around them, at the bore where they are nearest."""
    length = 2 * drum.cutout.half_y_mm
    wide = 2 * math.degrees(math.asin(drum.cutout.half_x_mm / drum.inner_radius_mm))
    meet = [pair for pair in _pairs(pattern, length) if _turn(pattern, *pair) < wide]
    if meet:
        checks.add(
            "pitch_mm", pattern.pitch_mm,
            f"slots of rows {meet[0][0] + 1} and {meet[0][1] + 1} overlap{_more(meet)}: the slot is {length:g} mm long",
            f"a pitch above {length:g} mm, shorter slots, or rows turned by more than {wide:.3g} degrees",
        )  # fmt: skip


def _more(found: list[tuple[int, int]]) -> str:
    return f" (and {len(found) - 1} more pairs of rows)" if len(found) > 1 else ""


def _rows_between_discs(drum: Drum, pattern: HammerPattern, checks: Checks) -> None:
    half = drum.cutout.half_y_mm
    near, far = drum.drive_end, drum.other_end
    low = near.recess_mm + near.disc_thickness_mm
    high = drum.shell_length_mm - far.recess_mm - far.disc_thickness_mm
    if low >= high:
        checks.add(
            "shell_length_mm", drum.shell_length_mm, f"the end discs need {low + drum.shell_length_mm - high:g} mm of it",
            "a longer shell, thinner discs or less recess",
        )  # fmt: skip
        return
    first, last = pattern.along_mm(0), pattern.along_mm(pattern.rows_total - 1)
    if first - half < low:
        checks.add(
            "first_row_mm", first, f"must be at least {low + half:g} mm: the first row's slots run into the drive-side disc",
            "measured from the shell's face to the middle of the row",
        )  # fmt: skip
    if last + half > high:
        room = (high - half - first) / (pattern.rows_total - 1) if pattern.rows_total > 1 else 0.0
        way = f"a pitch of at most {room:.5g} mm, fewer rows or a longer shell" if room > 0 else "a longer shell"
        checks.add(
            "rows_total", pattern.rows_total,
            f"the last row's slots end at {last + half:g} mm, the free-side disc begins at {high:g} mm", way,
        )  # fmt: skip


def _ends_fit(drum: Drum, checks: Checks) -> None:
    for name, end in (("drive_end", drum.drive_end), ("free_end", drum.other_end)):
        if name == "free_end" and drum.free_end is None:
            continue  # told with the drive end
        widest = end.stub_diameter_mm + 2 * end.fillet_radius_mm
        if widest > 2 * drum.inner_radius_mm:
            checks.add(
                f"{name}.stub_diameter_mm", end.stub_diameter_mm,
                f"with its fillet must be within the shell's bore, {2 * drum.inner_radius_mm:g} mm", "a thinner stub",
            )  # fmt: skip
    drive = drum.drive
    if drive is not None and drive.sheave_overhang_mm > drum.drive_end.beyond_mm:
        checks.add(
            "drive_end.beyond_mm", drum.drive_end.beyond_mm,
            f"must be at least the sheave's overhang, {drive.sheave_overhang_mm:g} mm", "the sheave sits on the stub",
        )  # fmt: skip


def _hammer_fits(drum: Drum, hammer: Hammer, checks: Checks) -> bool:
    slot = drum.cutout
    good = True
    for field, value, room in (
        ("hammer.width_mm", hammer.width_mm, 2 * slot.half_y_mm), ("hammer.depth_mm", hammer.depth_mm, 2 * slot.half_x_mm),
    ):  # fmt: skip
        if value > room + TOUCH_MM:
            checks.add(field, value, f"must be at most the slot's size, {room:g} mm", "the bar goes through the slot")
            good = False
    if hammer.through and drum.slots_around % 2:
        checks.add(
            "slots_around", drum.slots_around, f"must be even with path = {hammer.path!r}: a bar goes through two opposed slots",
            "an even number, or path = 'halves'",
        )  # fmt: skip
        good = False
    if hammer.outer_radius_mm <= drum.outer_radius_mm:
        field = "hammer.tip_radius_mm" if hammer.tip_mass_kg else "hammer.length_mm"
        checks.add(
            field, hammer.new_tip_radius_mm if hammer.tip_mass_kg else hammer.length_mm,
            f"the tips do not stand above the shell, outer radius {drum.outer_radius_mm:g} mm (worn by {hammer.wear_mm:g} mm)",
            "longer hammers",
        )  # fmt: skip
        good = False
    elif hammer.tip_mass_kg:
        assert hammer.tip_height_mm is not None
        assert hammer.tip_radius_mm is not None
        assert hammer.tip_width_mm is not None
        assert hammer.tip_depth_mm is not None
        inside = hammer.tip_radius_mm - hammer.tip_height_mm
        fits = hammer.tip_width_mm <= 2 * slot.half_y_mm and (
            abs(hammer.tip_ahead_mm) + 0.5 * hammer.tip_depth_mm <= slot.half_x_mm
        )
        if inside < drum.outer_radius_mm - TOUCH_MM and not fits:
            checks.add(
                "hammer.tip_height_mm", hammer.tip_height_mm,
                f"the tip reaches down to radius {inside:g} mm, into the shell, outer radius {drum.outer_radius_mm:g} mm",
                "a lower tip, or one that fits through the slot",
            )  # fmt: skip
    if not hammer.through and (hammer.inner_radius_mm or 0.0) >= drum.outer_radius_mm:
        checks.add(
            "hammer.inner_radius_mm", hammer.inner_radius_mm, f"must be below the shell's outer radius, {drum.outer_radius_mm:g} mm",
            "the hammer stands in its slot",
        )  # fmt: skip
        good = False
    return good


Corners = list[tuple[float, float]]


def _box(low: float, high: float, ahead: float, depth: float, angle_deg: float) -> Corners:
    """A block seen along the axis: from radius low to high, its middle `ahead` of the slot's middle."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    places = (
        (low, ahead - 0.5 * depth),
        (high, ahead - 0.5 * depth),
        (high, ahead + 0.5 * depth),
        (low, ahead + 0.5 * depth),
    )
    return [(r * c - t * s, r * s + t * c) for r, t in places]


def _collide(first: Corners, other: Corners) -> bool:
    """Two rectangles share more than their rim: no side of either parts them."""
    for box in (first, other):
        for i in range(2):
            (x0, y0), (x1, y1) = box[i], box[i + 1]
            length = math.hypot(x1 - x0, y1 - y0)
            nx, ny = (y1 - y0) / length, (x0 - x1) / length
            a = [nx * x + ny * y for x, y in first]
            b = [nx * x + ny * y for x, y in other]
            if max(a) <= min(b) + TOUCH_MM or max(b) <= min(a) + TOUCH_MM:
                return False
    return True


def _blocks(hammer: Hammer) -> dict[str, tuple[float, float, float, float, float]]:
    """Blocks of one bar, new, as low, high radius, ahead, depth, width along the drum."""
    low = -hammer.bar_end_mm if hammer.through else float(hammer.inner_radius_mm or 0.0)
    out = {"bar": (low, hammer.bar_end_mm, 0.0, hammer.depth_mm, hammer.width_mm)}
    if hammer.tip_mass_kg:
        assert hammer.tip_height_mm is not None
        assert hammer.tip_radius_mm is not None
        assert hammer.tip_depth_mm is not None
        assert hammer.tip_width_mm is not None
        out["tip"] = (
            hammer.tip_radius_mm - hammer.tip_height_mm, hammer.tip_radius_mm, hammer.tip_ahead_mm, hammer.tip_depth_mm,
            hammer.tip_width_mm,
        )  # fmt: skip
    return out


def _hammers_apart(drum: Drum, hammer: Hammer, pattern: HammerPattern, checks: Checks) -> None:
    """Bars and tips of one row against each other, and of rows that reach each other along the drum."""
    blocks = _blocks(hammer)
    spacing = pattern.spacing_deg
    for name, field in (("bar", "hammer.width_mm"), ("tip", "hammer.tip_width_mm")):
        if name not in blocks:
            continue
        found: list[tuple[int, int]] = []
        for against in blocks:
            # of a through-bar the first half of the slots carries one bar each; the other tips are its own
            bars = range(pattern.slots_around // 2 if hammer.through and against == "bar" else pattern.slots_around)
            mine = _box(*blocks[name][:4], 0.0)
            reach = 0.5 * (blocks[name][4] + blocks[against][4])
            # a bar's own tips are where they belong
            own = (0, pattern.slots_around // 2) if hammer.through and (name, against) == ("bar", "tip") else (0,)
            same = [_box(*blocks[against][:4], k * spacing) for k in bars if k not in own]
            if any(_collide(mine, box) for box in same):
                found.append((0, 0))
            for row, other in _pairs(pattern, reach):
                turn = pattern.angle_deg(other) - pattern.angle_deg(row)
                if any(_collide(mine, _box(*blocks[against][:4], turn + k * spacing)) for k in bars):
                    found.append((row, other))
        found = sorted(set(found))
        if found:
            what = {"bar": "bars", "tip": "tips"}[name]
            row, other = found[0]
            where = f"{what} of one row" if row == other else f"{what} of rows {row + 1} and {other + 1}"
            checks.add(
                field, blocks[name][4], f"{where} collide{_more(found)}",
                f"narrower {what}, a larger pitch_mm, or rows turned further" if row != other
                else "fewer slots_around, or hammers that end before the axis (path = 'halves')",
            )  # fmt: skip


def _masses_fit(drum: Drum, checks: Checks) -> None:
    low = -max(drum.drive_end.beyond_mm, 0.0)
    high = drum.bearing_span_mm + drum.other_end.beyond_mm
    for mass in drum.masses:
        if not low - TOUCH_MM <= mass.z_mm <= high + TOUCH_MM:
            checks.add(
                f"masses[{mass.name!r}].z_mm", mass.z_mm, f"must be on the rotor, from {low:g} to {high:g} mm",
                "from the drive bearing's middle towards the free end",
            )  # fmt: skip
    for i, plane in enumerate(drum.mass_positions):
        if not low - TOUCH_MM <= plane.z_mm <= high + TOUCH_MM:
            checks.add(
                f"mass_positions[{i}].z_mm", plane.z_mm, f"must be on the rotor, from {low:g} to {high:g} mm",
                "from the drive bearing's middle towards the free end",
            )  # fmt: skip
        if plane.radius_mm > drum.outer_radius_mm:
            checks.add(
                f"mass_positions[{i}].radius_mm", plane.radius_mm,
                f"must be within the shell, outer radius {drum.outer_radius_mm:g} mm", "they sit on the end disc",
            )  # fmt: skip
