"""Lines of the drawing table about welds and the stub's fillet."""

from __future__ import annotations

from collections.abc import Iterator

from ..provenance import common_practice, computed
from .handover_facts import Facts, utilisation
from .handover_line import OPEN, CallOut, study
from .life_words import hours

__all__ = ["stub_lines", "weld_lines"]

NO_WELD = common_practice(
    "no weld, tack or arc strike on a slot's edge; a repair weld needs a procedure and a new assessment as a weld"
)
STUB_MARKING = common_practice("magnetic particles on the whole fillet of a stub before it goes into service")


def weld_lines(facts: Facts) -> Iterator[CallOut]:
    """On the slot's edge none; of those in the study class and distance."""
    yield CallOut(
        "welds",
        "on the slot's edge",
        "",
        None,
        "",
        "none: no weld, tack or arc strike on edge, arcs or rims; no repair by welding",
        "the life is that of an unwelded edge",
        NO_WELD,
    )
    welds = [*(facts.life.welds if facts.life else ()), *(facts.end.welds if facts.end else ())]
    places = {} if facts.wanted is None else {w.name: w for w in facts.wanted.welds}
    for weld in welds:
        given = places.get(weld.name)
        said = f"largest range {weld.range_MPa:.3g} MPa at the {weld.where}, life {hours(weld.life_h)} at 97.7 % survival: {weld.verdict}"
        treated = "as welded" if given is None or given.as_welded else f"treated, record {given.procedure_record}"
        named = (f.provenance for f in weld.figures if f.what.startswith("class of"))
        source = next(named, computed("class of the study's weld detail, femdrum/strength/weld_classes.csv"))
        yield CallOut(
            f"weld: {weld.name}",
            "class",
            "at least",
            weld.fat_MPa,
            "MPa",
            f"class {weld.fat_MPa:g} ({weld.detail}, {weld.method}), {treated}; toe free of undercut",
            said,
            source,
        )
        if given is not None and given.distance_from_slot_mm is not None:
            far = given.distance_from_slot_mm
            yield CallOut(f"weld: {weld.name}", "distance from a slot's end", "at least", far, "mm", f"{far:g} mm at least", "stands clear of the slot there" if weld.clear else
                          "does not stand clear of the slot there: its stress is raised", study("life.weld.distance_from_slot_mm"), declared=True)  # fmt: skip


def stub_lines(facts: Facts) -> Iterator[CallOut]:
    """Least radius, roughness, inspection."""
    name = "stub fillet"
    if facts.end is None or facts.end_fillet_mm is None:
        why = (
            f"asked, and there is no life: {facts.end_reason}"
            if facts.end_reason
            else "these results do not look at the drum's end: [drum_end] in the study, or `femdrum rotor`"
        )
        drawn = "" if facts.drum_fillet_mm is None else f"; [drum.drive_end] draws {facts.drum_fillet_mm:g} mm"
        yield CallOut(
            name,
            "least radius",
            "",
            None,
            "mm",
            OPEN,
            why + drawn,
            common_practice("the fillet where the stub meets the disc is the most dangerous section of a rotor"),
            open=True,
        )
        return
    end, fillet = facts.end, facts.end_fillet_mm
    much = utilisation(end.safety)
    seen = f"{'nothing cycles' if much is None else f'utilisation {much:.2f}'}, life {hours(end.life_h)}, peak {end.peak_MPa:.4g} \u00b1 {end.band_MPa:.2g} MPa: {end.verdict}"
    yield CallOut(
        name,
        "least radius",
        "at least",
        fillet,
        "mm",
        f"R {fillet:g} mm at least, no undercut",
        f"solved with {fillet:g} mm exactly; {seen}",
        computed("the fillet that was solved; rule: no tolerance was sampled"),
    )
    if facts.end_finish is not None:
        finish = facts.end_finish
        declared = finish.roughness_Rz_um is not None
        yield CallOut(name, "roughness", "at most", finish.rz_um, "\u00b5m", f"Rz {finish.rz_um:g} \u00b5m at most, {finish.process}", f"the life of the end counts it ({finish.process})",
                      study("drum_end.finish") if declared else finish.rz_provenance, declared=declared)  # fmt: skip
    yield CallOut(
        name,
        "inspection before service",
        "",
        None,
        "",
        "magnetic particles on the whole fillet; no linear indication",
        seen,
        STUB_MARKING,
    )
