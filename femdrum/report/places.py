"""Flanks, corners and round ends of a slot by name, along the arc length of its edge."""

from __future__ import annotations

from ..study import StoredVariant
from ..study.answers import StoredAnswer
from .edge_picture import corner_spans, where_in_words
from .parts import Part, part_of

__all__ = ["DRUM", "ON_RIM_MM", "PLATE", "arcs_of", "peak_place", "place_name", "sides_of"]

# sides in the order of the arc length, from +x counter-clockwise seen from outside
DRUM = ("leading", "free-end", "trailing", "drive-end")
PLATE = ("+x", "+y", "\u2212x", "\u2212y")
ON_RIM_MM = 1e-3  # nearer to the rim than this is on it
Arcs = list[tuple[float, float, str]]


def sides_of(part: Part) -> tuple[str, ...]:
    """Names of the four sides: a drum's flanks, a plate's directions."""
    return DRUM if part.kind == "ring" else PLATE


def arcs_of(part: Part, total: float) -> Arcs:
    """Curved stretches, first place, last place and name: a corner's arc, or two that meet in a round end."""
    sides = sides_of(part)
    found: Arcs = []
    for n, (a, b) in enumerate(corner_spans(part, total)):
        corner = f"corner between {sides[n]} and {sides[(n + 1) % 4]} flanks"
        if found and a - found[-1][1] < 1e-6 * total:
            found[-1] = (found[-1][0], b, f"{sides[n]} round")
        else:
            found.append((a, b, corner))
    if len(found) > 1 and found[0][0] < 1e-6 * total:  # the last one goes on over +x
        (_, b, _), (a, _, _) = found.pop(0), found.pop()
        found.append((a, b + total, f"{sides[0]} round"))
    return found


def place_name(part: Part, x: float, total: float) -> str:
    """`corner between leading and free-end flanks`, or the flank; empty where there are no flanks."""
    arcs, slack = arcs_of(part, total), 1e-6 * total
    for n, (a, b, name) in enumerate(arcs):
        past = (x - a + slack) % total
        if past <= b - a + 2 * slack:
            return name
        end = arcs[(n + 1) % len(arcs)][0]
        if past < (end - a + slack) % total:  # on the flank up to the next arc
            middle = a + 0.5 * ((b - a) + (end - a) % total)
            return f"{sides_of(part)[round(middle / (0.25 * total)) % 4]} flank"
    return ""


def peak_place(variant: StoredVariant, answer: StoredAnswer) -> str:
    """Where a peak is: `slot 1, leading flank, 12 mm below the outer surface (wall 40 mm)`."""
    spot, edge, part = answer.at, variant.edge, part_of(variant.inputs)
    if spot is None:
        return ""
    if edge is None or part is None:
        return f"x {spot.x_mm:.1f}, y {spot.y_mm:.1f}, depth {spot.depth_mm:.1f} mm".replace("-", "\u2212")
    s = edge.s_mm
    words = [place_name(part, spot.s_mm, float(s[-1] + (s[-1] - s[-2])))]
    if edge.stress.shape[1] > 1:
        words.insert(0, f"slot {spot.slot}")
    words.append(where_in_words(spot, part).removeprefix(", "))
    if (away := float(edge.offset_mm[spot.d_index])) > ON_RIM_MM:
        words.append(f"{away:.3g} mm from the rim")
    return ", ".join(w for w in words if w) or f"x {spot.x_mm:.1f}, y {spot.y_mm:.1f} mm".replace("-", "\u2212")
