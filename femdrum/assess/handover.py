"""The drawing table: what is asked of corners, flanks, rims, slot ends, welds and stub fillet, each line with the number that makes it so.

A line without a number that these results support says so (`open`) and carries none.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..model.cutout import Slot
from ..provenance import Provenance, common_practice, computed
from .handover_edge import edge_lines, shell_lines
from .handover_facts import Facts, utilisation
from .handover_joints import stub_lines, weld_lines
from .handover_line import OPEN, CallOut, chance, joined, map_words, peak_words, study, used, used_of
from .life_result import PlaceLife
from .life_words import hours

__all__ = ["CORNER_WORD", "CallOut", "drawing_table", "least_radius_mm"]

MARKING = common_practice("magnetic particles on all corner arcs after cutting and finishing")
CUT_PLACE = common_practice("a cut neither starts nor stops in a corner arc: it leaves a notch and a hard spot there")
BROKEN = common_practice(
    "both rims of a slot are broken or rounded; a burr is a notch, and it comes off with the first hammer"
)
MEASURED = common_practice("the radii of all corners are measured and kept: the least one of a slot governs it")
SEATS = common_practice("the flanks on which wedge and hammer sit are asked parallel")
CORNER_WORD = {"slot": "corner arcs", "obround": "round ends", "circle": "hole", "ellipse": "ends of the ellipse"}


def drawing_table(facts: Facts) -> tuple[CallOut, ...]:
    """All lines, in the order in which a slot is made: arcs, flanks, slot ends, rims, edge, shell, welds, stub."""
    lines = (_arcs, _flanks, _rims, edge_lines, shell_lines, weld_lines, stub_lines)
    return tuple(line for make in lines for line in make(facts))


def least_radius_mm(facts: Facts) -> tuple[float, str, Provenance]:
    """The least radius that the results cover, mm, why, and how it follows.

    With a scatter of the radius: what was solved less the tolerance that was sampled; without one, what was solved.
    """
    solved = facts.ring.cutout.least_radius_mm
    scatter = None if facts.wanted is None else facts.wanted.scatter
    if scatter is None or facts.scatter is None or scatter.corner_radius_mm == 0.0:
        why = f"solved with {solved:g} mm exactly and no tolerance: no radius below it is covered"
        return solved, why, computed("the radius that was solved; rule: without [life.scatter] it is the least one")
    wide = scatter.corner_radius_mm * (3.0 if scatter.corner_radius_distribution == "normal" else 1.0)
    wide = min(wide, solved)
    why = (
        f"solved with {solved:g} mm; the scatter of life takes radii from {solved - wide:g} to {solved + wide:g} mm and finds that the "
        f"target is missed with probability {chance(facts.scatter.failure)}"
    )
    radius = next((i for i in facts.scatter.inputs if i.name == "corner radius" and i.at_p10 is not None), None)
    if radius is not None and radius.at_p10 is not None:
        why += f"; with the radius at its lower end half of the drums outlive {hours(10.0**radius.at_p10)}"
    how = "radius that was solved, less the tolerance of [life.scatter]"
    how += " (three standard deviations)" if scatter.corner_radius_distribution == "normal" else ""
    return solved - wide, why, computed(how)


def _arcs(facts: Facts) -> Iterator[CallOut]:
    cutout, total = facts.ring.cutout, facts.numbering.corners_total
    name = CORNER_WORD[cutout.shape]
    if cutout.sharp:
        yield CallOut(name, "least radius", "", None, "mm", "none given", "a sharp corner has no finite peak: no radius follows", computed("theory of the sharp corner"), open=True)  # fmt: skip
        return
    least, why, how = least_radius_mm(facts)
    where = joined(used(facts, "corner") or peak_words(facts), map_words(facts))
    words = f"R {least:g} mm at least, all four corners of every slot, through the whole wall; larger only as far as the hammer's edge clears it"
    if not isinstance(cutout, Slot) or cutout.radius_mm >= min(cutout.half_x_mm, cutout.half_y_mm):
        words = f"radius of curvature {least:g} mm at least, in every slot, through the whole wall"
    yield CallOut(name, "least radius", "at least", least, "mm", words, joined(why, where), how)
    yield CallOut(
        name, "record", "", None, "", "measure every corner; keep the radii by slot and corner number", "corners of one slot differ: the least "
        "governs the slot; `femdrum study FILE --as-built RADII.csv` reckons the drum with them", MEASURED,
    )  # fmt: skip
    place = _start(facts)
    reason = joined(used(facts, "corner") or peak_words(facts), "" if place is None else used_of(place))
    start = "" if place is None else f"; start on the {place.name.split(',')[0]}, the least used one"
    yield CallOut(name, "start and stop of the cut", "", None, "", f"none in an arc{start}", reason, CUT_PLACE)
    yield CallOut(
        name, "inspection before service", "", float(total), "arcs", f"magnetic particles on all {total} arcs, whole wall and both rims, after the last "
        "work on the edge; no linear indication", joined(f"{len(facts.numbering.slots)} slots of 4 arcs; each sees what the worst one sees", _found(facts)), MARKING,
    )  # fmt: skip


def _start(facts: Facts) -> PlaceLife | None:
    """The flank on which a cut is best begun: that whose most used place is the least used one."""
    if facts.life is None:
        return None
    flanks: dict[str, PlaceLife] = {}
    for place in facts.life.places:
        name = place.name.split(",")[0]
        if "flank" in name and (
            name not in flanks or (utilisation(place.safety) or 0.0) > (utilisation(flanks[name].safety) or 0.0)
        ):
            flanks[name] = place
    # a flank that the life names nowhere is not known to be the least used one
    return min(flanks.values(), key=lambda p: utilisation(p.safety) or 0.0) if len(flanks) == 4 else None


def _found(facts: Facts) -> str:
    crack = None if facts.wanted is None else facts.wanted.crack
    if crack is None:
        return ""
    return f"the crack of the study starts {crack.start_mm:g} mm deep, and {crack.detectable_depth_mm:g} mm is surely found: what lies between stays unseen"


def _flanks(facts: Facts) -> Iterator[CallOut]:
    ring = facts.ring
    cutout = ring.cutout
    wide, long = 2 * cutout.half_x_mm, 2 * cutout.half_y_mm
    yield CallOut("flanks", "distance, around the drum", "as solved", wide, "mm", f"{wide:g} mm between the flanks; its tolerance is that of hammer and wedge",
                  joined("solved with this size", used(facts, "leading flank", "trailing flank")), study("part.cutout, size around"), declared=True)  # fmt: skip
    yield CallOut("flanks", "parallelism of the seats", "", None, "", OPEN, "the retention of the hammer decides it: `femdrum retention`", SEATS, open=True)  # fmt: skip
    yield CallOut("slot ends", "length along the drum", "as solved", long, "mm", f"{long:g} mm; not longer",
                  joined("solved with this size", used(facts, "free-end flank", "drive-end flank")), study("part.cutout, size along"), declared=True)  # fmt: skip
    left = ring.pitch_mm - long
    yield CallOut("slot ends", "bridge to the next row", "at least", left, "mm", f"{left:g} mm of shell between the slots of neighbouring rows" if ring.rows == "aligned" else
                  f"{left:g} mm along the drum between neighbouring rows", f"pitch {ring.pitch_mm:g} mm less the slot's {long:g} mm: the ring was solved with it",
                  computed("pitch less length of the slot"))  # fmt: skip


def _rims(facts: Facts) -> Iterator[CallOut]:
    size = facts.ring.edge_break_mm
    for rim, place in (("rim outside", "outer rim"), ("rim at the bore", "bore rim")):
        seen = used(facts, place)
        if size > 0.0:
            yield CallOut(rim, "edge break", "as solved", size, "mm", f"{size:g} mm x 45\u00b0 all around the slot", joined("solved with this chamfer", seen), study("part.edge_break_mm"), declared=True)  # fmt: skip
        else:
            yield CallOut(rim, "edge break", "", None, "mm", f"break or round it all around, no burr; size: {OPEN}",
                          joined("solved with a square rim: part.edge_break_mm in the study lets the size be solved", seen), BROKEN, open=True)  # fmt: skip
