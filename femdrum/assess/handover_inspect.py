"""The inspection map: which slots and which of their places to look at first, when, and by what method."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..provenance import Provenance, common_practice, computed
from .handover_facts import Facts, Peak, utilisation
from .handover_slots import corner_number
from .life_result import MapSlot, PlaceLife
from .life_words import hours

__all__ = ["Inspection", "Look", "LookPlace", "LookSlot", "floor2", "inspection"]

SAME = 1e-4  # utilisations that differ by less share a rank
FIRST_H = 50.0
MOST_PLACES = 12

FIRST = common_practice("slot corners, weld toes and stub fillet are looked at first after 50 h")
EVENT = common_practice("a jam, a hit by tramp metal, a step in vibration: look before the machine runs on")
THIRD = "a third of the time in which a crack grows from the depth that is surely found to the critical one"
MAGNETIC = "magnetic particles, on bare and clean metal"

# what has to come off before the place is seen
REACH = {
    "outer surface": "from outside, hammer in place",
    "outer rim": "from outside; wedge and hammer out to see the rim's whole width",
    "wall": "wedge and hammer out; along the wall inside the slot",
    "bore rim": "wedge and hammer out; with a mirror or from inside the drum",
    "bore surface": "from inside the drum, or with a mirror through the slot",
}


@dataclass(frozen=True)
class LookSlot:
    """A slot in the order in which it is looked at. rank: from 1, equal for equally used slots; utilisation None: not reckoned."""

    rank: int
    slot: int
    row: int
    utilisation: float | None
    life_h: float | None
    place: str
    corner: int | None


@dataclass(frozen=True)
class LookPlace:
    """A place of a slot. surface: outer surface, outer rim, wall, bore rim or bore surface; places as of a life, s_mm along the edge.

    why: "fatigue", "crack" (a crack grows fastest from there) or "peak" (no life was reckoned).
    """

    rank: int
    place: str
    corner: int | None
    surface: str
    s_mm: float | None
    x_mm: float | None
    y_mm: float | None
    depth_mm: float | None
    utilisation: float | None
    life_h: float | None
    why: str
    governs: str
    reach: str


@dataclass(frozen=True)
class Look:
    """An occasion to look. every_h: hours between, or to the first; None where it is no time. open: no number supports it."""

    what: str
    when: str
    every_h: float | None
    method: str
    reason: str
    provenance: Provenance
    open: bool = False


@dataclass(frozen=True)
class Inspection:
    """slots: the most used first; places: of any slot, likewise; looks: occasions. notes: how the order was found."""

    slots: tuple[LookSlot, ...]
    places: tuple[LookPlace, ...]
    looks: tuple[Look, ...]
    notes: tuple[str, ...]


def inspection(facts: Facts) -> Inspection:
    """The map of one variant."""
    ranked, notes = _slots(facts)
    places = tuple(_places(facts))
    return Inspection(ranked, places, tuple(_looks(facts)), (*notes, *_place_notes(facts)))


def _slots(facts: Facts) -> tuple[tuple[LookSlot, ...], tuple[str, ...]]:
    life = facts.life
    known = {s.slot for s in facts.numbering.slots}
    if life is not None and life.map is not None and {m.number for m in life.map.slots} == known:
        return _of_map(life.map.slots), (
            "slots in the order of their utilisation on the map: each row under its own bending moment, shear and torque",
            *_close(life.map.slots),
        )
    worst = max(life.places, key=lambda p: utilisation(p.safety) or 0.0) if life is not None and life.places else None
    place = worst.name if worst is not None else facts.peaks[0].place if facts.peaks else ""
    much = None if worst is None else utilisation(worst.safety)
    hours_ = None if worst is None else worst.life_h
    alike = tuple(LookSlot(1, s.slot, s.row, much, hours_, place, corner_number(place)) for s in facts.numbering.slots)
    why = "no map was reckoned" if life is not None else "no life was reckoned"
    return alike, (f"{why}: all slots rank alike, and the order is yours. [drum] with [life] in the study ranks them",)


def _of_map(slots: Sequence[MapSlot]) -> tuple[LookSlot, ...]:
    out: list[LookSlot] = []
    before = None
    for n, m in enumerate(sorted(slots, key=lambda m: (-float(f"{m.utilisation:.6g}"), m.number)), 1):
        same = before is not None and before - m.utilisation < SAME
        rank = out[-1].rank if same else n
        before = before if same else m.utilisation
        out.append(LookSlot(rank, m.number, m.row, m.utilisation, m.life_h, m.place, corner_number(m.place)))
    return tuple(out)


def _close(slots: Sequence[MapSlot]) -> Iterator[str]:
    most, least = max(s.utilisation for s in slots), min(s.utilisation for s in slots)
    if most > 0.0 and (most - least) / most < 0.1:
        yield (
            f"the slots differ by no more than {100 * (most - least) / most:.0f} % of utilisation: where time is short the order says "
            "little, and no slot may be left out"
        )


def _places(facts: Facts) -> Iterator[LookPlace]:
    if facts.life is None or not facts.life.places:
        named = [p for p in facts.peaks if p.place]
        seen: dict[str, Peak] = {}
        for peak in named:
            seen.setdefault(peak.place, peak)
        for n, peak in enumerate(list(seen.values())[:MOST_PLACES], 1):
            surface = next((z for z in REACH if peak.place.endswith(z)), "")
            yield LookPlace(
                n,
                peak.place,
                corner_number(peak.place),
                surface,
                None,
                None,
                None,
                None,
                None,
                None,
                "peak",
                peak.case,
                REACH.get(surface, ""),
            )
        return
    order = sorted(facts.life.places, key=lambda p: -(utilisation(p.safety) or 0.0))
    cracks = {c.place for c in facts.life.cracks if c.life_h is not None}
    first = [p for p in order[:MOST_PLACES]]
    first += [p for p in order[MOST_PLACES:] if p.name in cracks]
    for n, place in enumerate(first, 1):
        yield _place(n, place, "fatigue and crack" if place.name in cracks else "fatigue")


def _place(rank: int, place: PlaceLife, why: str) -> LookPlace:
    surface = place.name.rpartition(", ")[2]
    return LookPlace(
        rank, place.name, corner_number(place.name), surface, place.s_mm, place.x_mm, place.y_mm, place.depth_mm,
        utilisation(place.safety), place.life_h, why, place.governs, REACH.get(surface, ""),
    )  # fmt: skip


def _place_notes(facts: Facts) -> Iterator[str]:
    if facts.life is None:
        yield "places by the height of their peak: a high peak that stands still does less harm than a lower one that cycles"
        return
    yield "places by utilisation, from the ring that stands for every row; every slot is taken to see what the worst one sees"
    for crack in facts.life.cracks:
        if crack.life_h is not None:
            yield (
                f"a crack that starts {crack.initial_mm:g} mm deep at the {crack.place} is critical at {crack.critical_mm:.3g} mm, by "
                f"{crack.ends_by}, after {hours(crack.life_h)}"
            )


def _looks(facts: Facts) -> Iterator[Look]:
    total, crack = facts.numbering.corners_total, None if facts.wanted is None else facts.wanted.crack
    found = "" if crack is None else f"; the interval counts on finding {crack.detectable_depth_mm:g} mm"
    yield Look("all slots", "before the first start", None, f"{MAGNETIC}{found}", f"{total} corner arcs: each sees what the worst one sees",
               common_practice("all corner arcs before service"))  # fmt: skip
    yield Look("all slots, in the order of the ranks; weld toes and stub fillets too", f"after {FIRST_H:g} h of running", FIRST_H,
               f"{MAGNETIC}; all hammers out once", "what was made wrong shows early", FIRST)  # fmt: skip
    yield _interval(facts)
    often = {kind: n for kind, n in facts.often.items() if n > 0.0}
    said = ", ".join(f"{kind} {n:g} times" for kind, n in often.items())
    yield Look(
        "the struck slot, its row and the rows beside it, all four corners; then the stub fillets", "after every jam, tramp hit or step in vibration",
        None, f"by eye and {MAGNETIC}, before the machine runs on",
        f"the duty counts in 1,000 h: {said}" if said else "an event voids every statement about remaining life until the drum was inspected", EVENT,
    )  # fmt: skip
    yield Look("the whole drum", "when any crack is found", None, "stop; lock out; no grinding out or welding without a procedure",
               "the life that was reckoned ends there", common_practice("a crack indication ends the remaining life"))  # fmt: skip


def _interval(facts: Facts) -> Look:
    cracks = () if facts.life is None else facts.life.cracks
    usual = "all slots, in the order of the ranks"
    if not cracks:
        return Look(usual, "at an interval that is not known", None, MAGNETIC,
                    "no crack was grown in these results: [life.crack] in the study gives the interval", common_practice(THIRD), open=True)  # fmt: skip
    grows = sorted({line.name for c in cracks for line in c.once_a_turn if line.grows})
    known = [c for c in cracks if c.interval_h is not None]
    if grows or not known:
        why = "; ".join(dict.fromkeys(c.inspection for c in cracks))
        when = "no interval helps: what comes at every turn grows a crack" if grows else "no interval follows"
        return Look(usual, when, None, MAGNETIC, why, computed(THIRD), open=True)
    least = min(known, key=lambda c: c.interval_h or 0.0)
    every = floor2(least.interval_h or 0.0)
    return Look(usual, f"every {every:,.0f} h", every, f"{MAGNETIC}, wedge and hammer out",
                f"{least.place}: {least.inspection}; rounded down", computed(THIRD))  # fmt: skip


def floor2(value: float) -> float:
    """Two digits, downwards: an interval is never rounded up."""
    if value <= 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return math.floor(value / step + 1e-9) * step
