"""Lines of the drawing table about the slot's edge as it was cut, and about the shell's plate."""

from __future__ import annotations

from collections.abc import Iterator

from ..model.finish import Finish
from ..provenance import common_practice, computed
from ..strength.surface import HARD_SKIN, HARD_SKIN_HV
from .handover_facts import Facts
from .handover_line import OPEN, CallOut, joined, lever_words, signed, study, used

__all__ = ["edge_lines", "shell_lines"]

ALONG = common_practice("grinding marks run along the edge, with the stress; marks across it are notches")


def edge_lines(facts: Facts) -> Iterator[CallOut]:
    """Roughness, skin, direction of grinding, hardness, residual stress."""
    finish = None if facts.wanted is None else facts.wanted.finish
    if finish is None:
        yield CallOut("edge of the slot", "roughness", "", None, "\u00b5m", OPEN, "no life was asked: [life.finish] says how the edge is made", common_practice(
            "roughness of a cut edge belongs on the drawing"), open=True)  # fmt: skip
        return
    yield _roughness(facts, finish)
    if finish.dressed:
        depth = "" if finish.skin_depth_mm is None else f", {finish.skin_depth_mm:g} mm at least"
        yield CallOut("edge of the slot", "cut skin", "" if finish.skin_depth_mm is None else "at least", finish.skin_depth_mm, "mm", f"ground or milled off everywhere on the edge{depth}",
                      f"the life counts the {finish.process} edge as dressed", study("life.finish.dressed"), declared=True)  # fmt: skip
    yield CallOut("edge of the slot", "direction of grinding", "", None, "", "along the edge, never across; the same in arcs and on flanks",
                  joined(lever_words(facts), used(facts, "corner")), ALONG)  # fmt: skip
    if finish.hot_cut:
        yield _hardness(finish)
    if finish.residual_stress_MPa > 0.0:
        stress = finish.residual_stress_MPa
        yield CallOut("edge of the slot", "residual tension after cutting", "at most", stress, "MPa", f"{stress:g} MPa along the edge, by the cutting procedure's record",
                      joined(f"the life counts {stress:g} MPa as mean stress", lever_words(facts, "residual stress relieved")), study("life.finish.residual_stress_MPa"), declared=True)  # fmt: skip


def _roughness(facts: Facts, finish: Finish) -> CallOut:
    factor = next((f.value for f in (facts.life.figures if facts.life else ()) if f.what == "roughness factor"), None)
    reason = (
        f"the life counts a {finish.process} edge{', dressed' if finish.dressed else ''} of Rz {finish.rz_um:g} \u00b5m"
    )
    reason += "" if factor is None else f", which takes the strength times {factor:.3f}"
    words = f"Rz {finish.rz_um:g} \u00b5m at most, arcs and flanks; Rz, not Ra: one does not follow from the other"
    declared = finish.roughness_Rz_um is not None
    where = study("life.finish.roughness_Rz_um") if declared else finish.rz_provenance
    return CallOut(
        "edge of the slot", "roughness", "at most", finish.rz_um, "\u00b5m", words, reason, where, declared=declared
    )


def _hardness(finish: Finish) -> CallOut:
    if finish.hardness_HV is not None:
        skin = "" if finish.skin_depth_mm is None else f", {finish.skin_depth_mm:g} mm deep"
        reason = f"the life counts a skin of {finish.hardness_HV:g} HV{skin}"
        reason += (
            ""
            if finish.hardness_HV <= HARD_SKIN_HV
            else f"; above the usual limit of {HARD_SKIN_HV:g} HV ({HARD_SKIN})"
        )
        return CallOut("edge of the slot", "hardness after cutting", "at most", finish.hardness_HV, "HV", f"{finish.hardness_HV:g} HV at most in the cut skin",
                       reason, study("life.finish.hardness_HV"), declared=True)  # fmt: skip
    return CallOut("edge of the slot", "hardness after cutting", "at most", HARD_SKIN_HV, "HV", f"{HARD_SKIN_HV:g} HV at most in the cut skin, to be confirmed",
                   f"a {finish.process} edge has a hard skin, and the study does not say how hard", HARD_SKIN)  # fmt: skip


def shell_lines(facts: Facts) -> Iterator[CallOut]:
    """Wall, steel, toughness."""
    wall = facts.ring.wall_mm
    scatter = None if facts.wanted is None or facts.scatter is None else facts.wanted.scatter
    if scatter is not None and scatter.wall_mm > 0.0:
        least = wall - scatter.wall_mm * (3.0 if scatter.wall_distribution == "normal" else 1.0)
        yield CallOut("shell", "wall", "at least", least, "mm", f"{least:g} mm at least at every slot", f"solved with {wall:g} mm; the scatter of life samples down to {least:g} mm",
                      computed("wall that was solved, less the tolerance of [life.scatter]"))  # fmt: skip
    else:
        yield CallOut("shell", "wall", "at least", wall, "mm", f"{wall:g} mm at least at every slot", f"solved with {wall:g} mm exactly and no tolerance", computed(
            "the wall that was solved; rule: without [life.scatter] it is the least one"))  # fmt: skip
    grade = facts.material.get("grade")
    strength = facts.material.get("ultimate_MPa")
    if grade or strength:
        tensile = "" if strength is None else f", tensile strength {strength:g} MPa at least"
        yield CallOut("shell", "steel", "at least" if strength else "", strength, "MPa", f"{grade or 'as given'}{tensile}, with a certificate", "strength and life were reckoned with it", study("material"), declared=True)  # fmt: skip
    crack = None if facts.wanted is None else facts.wanted.crack
    if crack is not None and crack.toughness_MPa_sqrt_m is not None:
        tough = crack.toughness_MPa_sqrt_m
        yield CallOut("shell", "toughness", "at least", tough, "MPa\u221am", f"{tough:g} MPa\u221am at {signed(crack.lowest_temperature_C or 0.0)} \u00b0C, proven by Charpy or fracture tests of this plate",
                      "cracks were grown with it; colder starts are not covered", study("life.crack.toughness_MPa_sqrt_m"), declared=True)  # fmt: skip
