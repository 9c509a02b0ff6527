"""The report's section in which values are tried: what its page needs of the stored unit cases, chosen and packed, and what it says."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..edge import BAND_FLOOR, EARLIER, NEAR, RIM_SHARE, WHOLE, EdgeStress, even_gaps
from ..strength.mean_stress import SHEAR_RATIO
from ..study import Results, StoredVariant
from .parts import Part, part_of
from .places import arcs_of, place_name
from .try_life import life_data
from .try_line import Line, axis_data, label, line_of, smooth_ones
from .try_loads import LEAST_SPEED, MOST_SPEED, TOGETHER, Mix, mixes, speed_rpm
from .try_pack import half, single, small
from .try_places import MOST_TIMES, REGION_SHARE, Kept, kept_places, rim_depths
from .try_words import life_words, limits
from .words import axis_value, bare

__all__ = ["MOST_BYTES", "TrySection", "section"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MOST_BYTES = 960_000  # of arrays, before they become text, a third more
MOST_PLACES = 12_000
OUTLINE = 160
SCRIPTS = ("try_unpack.js", "try_peaks.js", "try_between.js", "try_life.js", "try_page.js")  # in this order, as one


@dataclass(frozen=True)
class TrySection:
    """What `try.html` shows. data: for the script, as JSON that is safe inside a page; script: the page's own."""

    data: str
    script: str
    about: str
    axes: str
    limits: tuple[str, ...]
    life: bool


def section(results: Results, chosen: StoredVariant | None = None) -> TrySection | None:
    """The section's content; None where no variant has stored unit cases, or no edge that goes around a slot (a mesh).

    chosen: the variant that the report recommends, where the sliders begin; for None the one of the lowest worst peak.
    """
    line = line_of(results, chosen)
    if line is None or any(v.edge is None or v.edge.s_mm.size < 3 for v in line.variants):
        return None
    own = [mixes(results, v) for v in line.variants]
    shared = _shared(own)
    if not shared:
        return None
    mixed = [[m for m in each if m.name in shared] for each in own]
    smooth = smooth_ones(line)
    packed, told = [], []
    names: dict[str, int] = {"": 0}
    for n, (variant, some) in enumerate(zip(line.variants, mixed, strict=True)):
        data, kept, total = _variant(variant, some, len(line.variants), names)
        data |= {"label": label(line, n), "number": line.numbers[n], "smooth": smooth[n]}
        life = life_data(results, variant, variant.edge, some) if variant.edge is not None else None
        data["life"] = None if any(m.name == TOGETHER for m in some) else life
        packed.append(data)
        told.append((kept, total))
    first = mixed[line.chosen]
    speed = speed_rpm(results, line.variants[line.chosen])
    moves = any(p.power for m in first for p in m.loads)
    material = line.variants[line.chosen].inputs["material"]
    whole = {
        "rules": {"near": NEAR, "earlier": EARLIER, "whole": WHOLE, "floor": BAND_FLOOR, "rimShare": RIM_SHARE, "region": REGION_SHARE, "shearRatio": SHEAR_RATIO},
        "axis": axis_data(line, smooth),
        "chosen": line.chosen,
        "first": _leading(line.variants[line.chosen], first),
        "together": first[0].name == TOGETHER or not any(a.case_kind == "condition" for a in line.variants[0].answers),
        "most": MOST_TIMES,
        "least": [-MOST_TIMES if m.name == TOGETHER else 0.0 for m in first],
        "speed": {"rpm": speed, "least": LEAST_SPEED, "most": MOST_SPEED} if speed and moves else None,
        "yield": material.get("yield_MPa"),
        "own": _own(line, first),
        "names": list(names),
        "slots": max(d["slots"] for d in packed),
        "plane": all(d["plane"] for d in packed),
        "life": all(d["life"] is not None for d in packed),
        "mixes": [
            {
                "name": m.name,
                "standing": list(m.standing),
                "loads": [{"name": p.name, "share": p.share, "power": p.power, "start": p.start} for p in m.loads],
            }
            for m in first
        ],
        "variants": packed,
    }  # fmt: skip
    text = json.dumps(whole, ensure_ascii=False, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")
    home = files(__package__)
    pieces = "\n".join(home.joinpath(name).read_text(encoding="utf-8") for name in SCRIPTS)
    part = part_of(line.variants[line.chosen].inputs)
    return TrySection(
        data=text,
        script=f'"use strict";\n(() => {{\n{pieces}}})();\n',
        about="Move a slider: the stored stress of every unit load is added up anew, place by place and component by component, and "
        "the peak is read from the sum as the study reads it. Nothing is fetched, and nothing is solved again.",
        axes="The slot seen from outside, unrolled: " + ("x around the drum, y along its axis" if part is not None and part.kind == "ring" else "x along the length, y along the width") + ". The ring marks the peak.",
        limits=(*limits(line, first, smooth, told, bool(whole["speed"])), *life_words(packed)),
        life=bool(whole["life"]),
    )  # fmt: skip


def _shared(own: Sequence[Sequence[Mix]]) -> list[str]:
    """Names of the states that all variants can move alike."""

    def shape(m: Mix) -> tuple[Any, ...]:
        return m.name, m.standing, tuple((p.name, p.share, p.power) for p in m.loads)

    common = set.intersection(*({shape(m) for m in each} for each in own)) if own else set()
    return [m.name for m in own[0] if shape(m) in common and m.loads]


def _leading(variant: StoredVariant, some: Sequence[Mix]) -> int:
    """The state that is shown first: all loads together, or the condition of the highest peak."""
    if some[0].name == TOGETHER:
        return 0
    peaks = {a.case: abs(a.peak.value or 0.0) for a in variant.answers}
    return max(range(len(some)), key=lambda k: peaks.get(some[k].name, 0.0))


def _own(line: Line, some: Sequence[Mix]) -> list[str]:
    """For each state the study's own peak at the chosen variant, in words; empty where it has none."""
    chosen = line.variants[line.chosen]
    peaks = {a.case: a.peak for a in chosen.answers if a.peak.value is not None}
    name = axis_value(line.column, chosen.axes[line.column]) if line.column else ""
    at = f"The study's own at {name}" if name else "The study's own"
    return [f"{at}: {bare(peaks[m.name])} MPa." if m.name in peaks else "" for m in some]


def _variant(
    variant: StoredVariant, some: Sequence[Mix], variants: int, names: dict[str, int]
) -> tuple[dict[str, Any], Kept, int]:
    edge = variant.edge
    assert edge is not None
    used = np.flatnonzero(
        np.any([np.any(p, axis=0) for m in some for p in (m.rest, *(x.vectors for x in m.loads))], axis=0)
    )
    _, slots, along, deep = edge.stress.shape[:4]
    pressed = np.flatnonzero([np.any(edge.pressure[c]) for c in used])
    each = used.size * 24 + pressed.size * 8 + 68
    room = min(MOST_PLACES, int(MOST_BYTES / variants / each))
    kept = kept_places(edge, some, room, variants)
    slot, s, d = (np.asarray(i) for i in np.unravel_index(kept.at, (slots, along, deep)))
    where = np.full(slots * along * deep, -1)
    where[kept.at] = np.arange(kept.at.size)
    left, right = (where[np.ravel_multi_index((slot, (s + step) % along, d), (slots, along, deep))] for step in (-1, 1))
    over, under, gap_over, gap_under = _through_wall(edge, d)
    above, below = (
        np.where(next_d >= 0, where[np.ravel_multi_index((slot, s, np.maximum(next_d, 0)), (slots, along, deep))], -1)
        for next_d in (over, under)
    )
    total = float(edge.s_mm[-1] + (edge.s_mm[-1] - edge.s_mm[-2]))
    assert edge.earlier is not None
    rim = rim_depths(edge, s, d, slot)
    at_rim = np.where(rim >= 0, edge.pressure[used[pressed]][:, slot, s, np.maximum(rim, 0)], 0.0)
    part = part_of(variant.inputs)
    data = {
        "slots": slots,
        "plane": deep == 1,
        "bandFactor": float(edge.band_factor),
        "rimSlope": float(edge.rim_slope),
        "leastBand": float(edge.least_band),
        "caseSize": [float(edge.case_sizes[c]) for c in used],
        "caseDoubt": [edge.cases[c].doubt for c in used],
        "missed": kept.missed,
        "raised": kept.raised,
        "slot": small(slot),
        "s": small(s),
        "region": small(kept.region),
        "weight": single(kept.weight),
        "left": small(left),
        "right": small(right),
        "above": small(above),
        "below": small(below),
        "name": small(_names(edge, part, total, names)[s]),
        "x": single(edge.place_mm[s, d, 0]),
        "y": single(edge.place_mm[s, d, 1]),
        "depth": single(edge.place_mm[s, d, 2]),
        "gapLeft": single((edge.s_mm[s] - edge.s_mm[s - 1]) % total),
        "gapRight": single((edge.s_mm[(s + 1) % along] - edge.s_mm[s]) % total),
        "gapAbove": single(gap_over),
        "gapBelow": single(gap_under),
        "stress": single(edge.stress[used][:, slot, s, d]),
        "step": half(edge.step[used][:, slot, s, d]),
        "earlier": half(edge.earlier[used][:, slot, s, d]),
        "pressed": pressed.tolist(),
        "pressure": single(edge.pressure[used[pressed]][:, slot, s, d]),
        "rim": single(at_rim),
        "outline": _outline(edge, total),
        "mixes": [
            {"rest": _rows(m.rest[:, used]), "loads": [_rows(p.vectors[:, used]) for p in m.loads]} for m in some
        ],
    }
    return data, kept, slots * along * deep


def _through_wall(edge: EdgeStress, d: Index) -> tuple[Index, Index, Array, Array]:
    """For each place the depths beside it within the wall, -1 where it is not between two, and how far they are, mm."""
    last = edge.depth_mm.size - 1
    over, under = np.maximum(d - 1, 0), np.minimum(d + 1, last)
    gaps = edge.depth_mm[d] - edge.depth_mm[over], edge.depth_mm[under] - edge.depth_mm[d]
    on_wall = np.all([edge.offset_mm[i] == 0.0 for i in (over, d, under)], axis=0)
    inside = on_wall & even_gaps(*gaps)
    return np.where(inside, over, -1), np.where(inside, under, -1), gaps[0], gaps[1]


def _rows(vectors: Array) -> list[list[float]]:
    return [[0 if x == 0.0 else float(f"{x:.12g}") for x in row] for row in vectors]


def _names(edge: EdgeStress, part: Part | None, total: float, names: dict[str, int]) -> Index:
    """For each place along the edge the number of its name."""
    known = part is not None and bool(arcs_of(part, total))
    words = [place_name(part, float(s), total) if known and part is not None else "" for s in edge.s_mm]
    return np.array([names.setdefault(word, len(names)) for word in words], dtype=np.intp)


def _outline(edge: EdgeStress, total: float) -> list[list[float]]:
    """The edge at the outer rim as points at equal shares of its length."""
    wall = int(np.flatnonzero(edge.offset_mm == 0.0)[0])
    s = np.append(edge.s_mm, total)
    at = np.linspace(0.0, total, OUTLINE, endpoint=False)
    xy = [np.interp(at, s, np.append(line, line[0])) for line in edge.place_mm[:, wall, :2].T]
    return np.round(np.stack(xy, 1), 3).tolist()  # type: ignore[no-any-return]
