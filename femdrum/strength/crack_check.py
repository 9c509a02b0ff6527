"""Cracks under a duty: does a flaw grow each turn, when must be looked, how long from the flaw to the end.

Two questions are kept apart. Loads that come once per revolution must stay below the threshold: once they grow a crack,
they carry it to its end within hours or days, and no inspection can save it. Loads at the scale of jams come some tens of
times in a thousand hours: for them the time from a crack that is found to a critical one says how often to look.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..figure import Figure
from ..model.check import Checks
from ..model.crack_input import CrackInput
from ..provenance import common_practice, computed
from .crack_growth import STEPS, TOUGHNESS, Growth, first_crossing_mm, grow
from .crack_rows import CrackLoads, CrackRow
from .growth_law import GrowthLaw, growth_law, to_MPa_sqrt_m, to_N_mm15
from .stress_intensity import EDGE_FACTOR, provenance_of
from .weight_function import StressPath

__all__ = ["INSPECTIONS", "CrackResult", "CrackRow", "Inspection", "ThresholdLine", "crack_check"]

Array = NDArray[np.float64]

INSPECTIONS = 3.0  # looks between a crack that is found and a critical one
FIRST_MM = 0.01  # least depth at which the threshold is looked for
TAKES_OVER = 0.5  # share of the life below which loads of each turn are said to shorten the interval

THIRD = common_practice("an interval is a third of the time from the depth that is found to the critical one")
CLOSED = common_practice("what presses a crack shut does not grow it: K below zero counts as zero")
OPEN = common_practice(
    "tension of welding holds the crack open: the full range counts, with the constants of high stress ratio"
)
APART = computed("K of each load from the field along the path, against the threshold, at depths from 0.01 mm")
GIVEN = common_practice("declared by the user, for the lowest start-up temperature")


@dataclass(frozen=True)
class ThresholdLine:
    """A load that comes once per revolution against the threshold; ranges of K in N/mm^1.5.

    reached_mm: least depth at which the range reaches the threshold, None within the path. grows_at_start: at the flaw's
    depth. hours_to_end: from the later of the flaw and that depth to the critical depth, this load alone; None if never.
    """

    name: str
    count_per_1000_h: float
    delta_k_start_N_mm15: float
    delta_k_detectable_N_mm15: float | None
    reached_mm: float | None
    grows_at_start: bool
    hours_to_end: float | None
    verdict: str


@dataclass(frozen=True)
class Inspection:
    """How often to look. time_h: from the depth that is found to the critical one, by loads at the scale of jams alone (inf
    if they do not grow it, None without such loads or where the crack is critical before it is found); combined_h: by all
    loads; interval_h: a third of the shorter, None where no interval helps. takeover_mm: depth from that on at
    which loads of each turn begin to grow the crack, None if they do not before it is critical.
    """

    time_h: float | None
    combined_h: float | None
    interval_h: float | None
    takeover_mm: float | None
    verdict: str


@dataclass(frozen=True, eq=False)
class CrackResult:
    """What the check of one crack found.

    start_mm, detectable_mm, critical_mm; governing_end: what makes the critical depth, "toughness", "final depth",
    "net section" or "end of the path". depth_mm [n] and k_range, k_upper [row, n] in N/mm^1.5: for drawing. life: all
    loads from the flaw at the start; from_detectable: loads at the scale of jams from the depth that is found, None
    without. warnings: what the reader must know; notes: what was assumed.
    """

    start_mm: float
    detectable_mm: float
    critical_mm: float
    governing_end: str
    rows: tuple[CrackRow, ...]
    law: GrowthLaw
    depth_mm: Array
    k_range: Array
    k_upper: Array
    threshold: tuple[ThresholdLine, ...]
    inspection: Inspection
    life: Growth
    from_detectable: Growth | None
    figures: tuple[Figure, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def crack_check(
    path: StressPath,
    rows: Sequence[CrackRow],
    crack: CrackInput,
    *,
    law: GrowthLaw | None = None,
    net_section_depth_mm: float | None = None,
    steps: int = STEPS,
) -> CrackResult:
    """Check a crack along a path under the rows of a duty.

    path: stress per unit case (its shape and aspect must be those of `crack`). law: by `crack.growth` unless given.
    net_section_depth_mm: depth at which the rest of the section yields. steps: panels of the integration.
    Raises InputFault.
    """
    rows = tuple(rows)
    _refuse(path, rows, crack, net_section_depth_mm)
    law = law or growth_law(crack.growth, crack.threshold_MPa_sqrt_m)
    one = replace(path, stress_MPa=np.full((1, len(path.x_mm)), crack.residual_MPa))
    loads = CrackLoads(path, rows, crack.as_welded, one if crack.residual_MPa else None)
    start, found, length = crack.start_mm, crack.detectable_depth_mm, path.length_mm
    ends = {"end of the path": length}
    if crack.final_depth_mm is not None and crack.final_depth_mm <= length:
        ends = {"final depth": crack.final_depth_mm}
    if net_section_depth_mm is not None:
        ends["net section"] = net_section_depth_mm
    governing = min(ends, key=lambda n: ends[n])
    toughness = float(to_N_mm15(crack.toughness_MPa_sqrt_m or 0.0))
    critical = ends[governing]
    broken = first_crossing_mm(loads.upper, min(FIRST_MM, start, critical), critical, toughness)
    if broken is not None:
        governing, critical = TOUGHNESS, broken

    def course(chosen: Sequence[int], from_mm: float) -> Growth:
        some = loads.of(chosen)
        counts = [rows[i].count_per_1000_h for i in chosen]
        grown = grow(
            some.delta_k,
            law,
            from_mm,
            critical,
            counts,
            ratio=some.ratio,
            steps=steps,
            breaks_mm=(path.through_from_mm,),
        )
        return replace(grown, governing_end=governing) if grown.grows else grown

    turns = [i for i, r in enumerate(rows) if r.per_revolution]
    jams = [i for i, r in enumerate(rows) if not r.per_revolution]
    every = list(range(len(rows)))
    lines = tuple(_threshold(loads, i, law, start, found, critical, course) for i in turns)
    life = course(every, start)
    after = course(jams, found) if jams and found < critical else None
    combined = course(every, found) if found < critical else None
    takeover = None
    if turns and found < critical:
        takeover = first_crossing_mm(loads.of(turns).delta_k, found, critical, law.threshold_N_mm15)
    look = _inspection(lines, after, combined, takeover, law, found, critical)
    depth = np.geomspace(min(FIRST_MM, start), length, 161)
    return CrackResult(
        start, found, critical, governing, rows, law, depth, loads.delta_k(depth), loads.upper(depth), lines, look, life,
        after, _figures(path, crack, law, critical, governing, lines, look, life, start),
        _warnings(path, crack, governing, start, critical, found), _notes(crack),
    )  # fmt: skip


def _refuse(path: StressPath, rows: tuple[CrackRow, ...], crack: CrackInput, net_mm: float | None) -> None:
    checks = Checks()
    if not rows:
        checks.add("rows", (), "must hold at least one row of the duty", "a crack does not grow without a spectrum")
    cases = len(path.stress_MPa)
    for row in rows:
        if row.states.shape[2] != cases:
            checks.add(f"rows.{row.name}", row.states.shape, f"must give a factor on each of the path's {cases} cases")
    if (path.shape, path.aspect) != (crack.shape, crack.aspect):
        checks.add("path.shape", (path.shape, path.aspect), f"must be the crack's, {crack.shape!r}, {crack.aspect:g}")
    if crack.start_mm >= path.length_mm:
        checks.add(
            "initial_depth_mm", crack.start_mm, f"must be below the length of the path, {path.length_mm:g} mm",
            "give the stress along a longer path",
        )  # fmt: skip
    if net_mm is not None:
        checks.positive("net_section_depth_mm", net_mm)
    checks.done()


def _threshold(
    loads: CrackLoads,
    i: int,
    law: GrowthLaw,
    start: float,
    found: float,
    critical: float,
    course: Callable[[Sequence[int], float], Growth],
) -> ThresholdLine:
    row, one = loads.rows[i], loads.of([i])
    reached = first_crossing_mm(one.delta_k, min(FIRST_MM, start), loads.path.length_mm, law.threshold_N_mm15)
    at_start = float(one.delta_k(np.array([start]))[0, 0])
    at_found = float(one.delta_k(np.array([found]))[0, 0]) if found <= loads.path.length_mm else None
    grows = at_start >= law.threshold_N_mm15
    from_mm = start if grows else first_crossing_mm(one.delta_k, start, loads.path.length_mm, law.threshold_N_mm15)
    hours = None
    if from_mm is not None and from_mm < critical:
        grown = course([i], from_mm)
        hours = grown.life_h if grown.grows else None
    if grows and hours is not None:
        verdict = f"grows a flaw of {start:g} mm at each turn, to the critical depth in {_hours(hours)}: no inspection can save it"
    elif grows:
        verdict = f"grows a flaw of {start:g} mm at each turn, but stops before the critical depth"
    elif from_mm is None:
        verdict = "stays below the threshold along the whole path"
    elif from_mm >= critical:
        verdict = "stays below the threshold up to the critical depth"
    else:
        verdict = f"stays below the threshold up to {from_mm:.3g} mm; deeper cracks grow at each turn"
        verdict += f", to the critical depth in {_hours(hours)}" if hours is not None else ", and stop again"
    return ThresholdLine(row.name, row.count_per_1000_h, at_start, at_found, reached, grows, hours, verdict)


def _inspection(
    lines: tuple[ThresholdLine, ...],
    after: Growth | None,
    combined: Growth | None,
    takeover: float | None,
    law: GrowthLaw,
    found: float,
    critical: float,
) -> Inspection:
    if combined is None:
        text = (
            f"a crack is critical at {critical:.3g} mm, before it is found at {found:g} mm: no inspection can save it"
        )
        return Inspection(None, None, None, None, text)
    time, both = after.life_h if after is not None else None, combined.life_h
    if takeover is not None and takeover <= found:
        growing = [n.name for n in lines if (n.delta_k_detectable_N_mm15 or 0.0) >= law.threshold_N_mm15]
        text = f"loads of each turn ({', '.join(growing)}) grow a crack of {found:g} mm: no interval of inspection can save it"
        return Inspection(time, both, None, takeover, text)
    shorter = min(both, math.inf if time is None else time)
    if math.isinf(shorter):
        text = f"a crack of {found:g} mm does not grow to its critical depth under these loads"
        return Inspection(time, both, None, takeover, text)
    text = f"look every {_hours(shorter / INSPECTIONS)}, a third of the {_hours(shorter)} from {found:g} mm to {critical:.3g} mm"
    if takeover is not None and time is not None and both < TAKES_OVER * time:
        text += f"; from {takeover:.3g} mm on loads of each turn take over"
    return Inspection(time, both, shorter / INSPECTIONS, takeover, text)


def _hours(value: float) -> str:
    """Two digits, in full."""
    return f"{float(f'{value:.2g}'):,g} h" if value < 1e6 else f"{value / 1e6:.2g} million h"


def _figures(
    path: StressPath, crack: CrackInput, law: GrowthLaw, critical: float, governing: str,
    lines: tuple[ThresholdLine, ...], look: Inspection, life: Growth, start: float,
) -> tuple[Figure, ...]:  # fmt: skip
    rows = [
        Figure("depth of the flaw at the start", start, "mm", f"edge: {crack.process}", crack.start_provenance),
        Figure(
            "fracture toughness",
            crack.toughness_MPa_sqrt_m or 0.0,
            "MPa·√m",
            f"at {crack.lowest_temperature_C:g} °C",
            GIVEN,
        ),
        Figure(
            f"critical depth ({governing})",
            critical,
            "mm",
            "K_max = K_mat, or the least of the limits",
            path.provenance,
        ),
        *path.figures_at(min(start, critical)),
        *law.figures,
    ]
    if path.shape == "edge through" and path.notch_radius_mm is None:
        factor = Figure("factor of a straight edge", EDGE_FACTOR, "-", "K = Y s √(π a)", provenance_of(path.shape))
        rows.append(factor)
    for line in lines:
        value = float(to_MPa_sqrt_m(line.delta_k_start_N_mm15))
        rows.append(Figure(f"range of K of {line.name} at {start:g} mm", value, "MPa·√m", "K_upper - K_lower", APART))
        if line.reached_mm is not None:
            rows.append(
                Figure(f"depth at which {line.name} reaches the threshold", line.reached_mm, "mm", "dK = dK_th", APART)
            )
    if look.interval_h is not None:
        rows.append(Figure("interval of inspection", look.interval_h, "h", "t / 3", THIRD))
    return (*rows, *life.figures[1:])


def _warnings(
    path: StressPath, crack: CrackInput, governing: str, start: float, critical: float, found: float
) -> tuple[str, ...]:
    out = []
    if critical <= start:
        out.append(f"the flaw at the start, {start:g} mm, is critical at once ({critical:.3g} mm, {governing})")
    if crack.final_depth_mm is not None and crack.final_depth_mm > path.length_mm:
        out.append(
            f"final_depth_mm = {crack.final_depth_mm:g} lies beyond the path, whose K holds up to {path.length_mm:.4g} mm"
        )
    if governing == "end of the path":
        out.append(f"the crack is not critical within the path: growth is counted up to {path.length_mm:.4g} mm only")
    if crack.as_welded and not crack.residual_MPa:
        out.append("as welded, but residual_MPa = 0: the tension of welding is missing from the check against fracture")
    coarse = path.coarseness(min(max(start, 2 * path.x_mm[1]), path.length_mm))
    if coarse > 0.02:
        out.append(f"the path is sampled coarsely: every other sample left out changes K by {100 * coarse:.2g} %")
    if start < path.x_mm[1]:
        out.append(f"the flaw at the start lies before the path's second sample at {path.x_mm[1]:.3g} mm")
    if found < start:
        out.append(f"the depth that is found, {found:g} mm, is below the flaw at the start, {start:g} mm")
    if path.width_mm is None and critical > 0.2 * path.x_mm[-1]:
        out.append("K is that of a wide part; where the crack takes more than a fifth of the ligament give width_mm")
    return tuple(out)


def _notes(crack: CrackInput) -> tuple[str, ...]:
    rule = OPEN if crack.as_welded else CLOSED
    return (
        f"{rule.source} ({rule.kind.value})",
        "linear elastic fracture mechanics in air, the crack straight along the path, opening only; corrosion and order of "
        "loads are not in it: a large jam can slow or hasten what follows",
        "K from the stress of the uncracked part; what the crack does to the loads is left out, on the safe side for "
        "displacements that are held",
        f"toughness holds for {crack.lowest_temperature_C:g} °C and above; a colder start is not covered",
    )
