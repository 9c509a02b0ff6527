"""A drum's end from drawing to stress lines: sections of rising order, the five unit loads, the ladder."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from ..model.accuracy import Accuracy
from ..model.drum_end import DrumEnd
from ..model.material import Material
from .end_mesh import EndFineness, drum_end_section
from .harmonic_edge import Reading
from .harmonic_ladder import ARC, BAND_FACTOR, GAP_FACTOR, ORDERS, HarmonicSolution, Watch, climb_orders
from .harmonic_loads import BeamSection, HarmonicLoad, end_loads, rotation_load
from .harmonic_section import Section

__all__ = ["CASES", "end_unit_loads", "end_watches", "solve_end"]

Array = NDArray[np.float64]

CASES = ("rotation", "thrust", "torsion", "bending", "shear")


def end_unit_loads(end: DrumEnd, material: Material, section: Section) -> tuple[HarmonicLoad, ...]:
    """The unit loads in the order of CASES."""
    bar = BeamSection(0.5 * end.stub_bore_mm, end.stub_radius_mm)
    cut = BeamSection(end.shell_inner_radius_mm, end.shell_outer_radius_mm)
    length = end.modelled_shell_mm + end.disc_thickness_mm + end.stub_length_mm
    rotation = rotation_load(section, material)
    return (rotation, *end_loads(section, material, bar=bar, bar_end_mm=length, cut=cut))


def end_watches(end: DrumEnd) -> list[Watch]:
    """The stub's fillet; for each weld the plain surfaces from its toes, and the toes themselves where they are round."""
    watches = [Watch("fillet", cells=ARC)]
    back = end.toe_radius_mm * math.tan(math.pi / 8)
    for side, leg in (("inside", end.inside_leg_mm), ("outside", end.outside_leg_mm)):
        if leg:
            watches += [Watch(f"{plate} {side}", back) for plate in ("shell", "disc")]
            if end.toe_radius_mm:
                watches += [Watch(f"{plate} toe {side}", cells=ARC) for plate in ("shell", "disc")]
    return watches


def solve_end(
    end: DrumEnd,
    material: Material,
    states: Array,
    accuracy: Accuracy,
    fineness: EndFineness | None = None,
    orders: Sequence[int] = ORDERS,
    readings: Sequence[Reading] = (),
    on_event: Callable[[str], None] | None = None,
) -> HarmonicSolution:
    """Unit solutions of a drum's end; the ladder climbs until the states [state, case] have the asked band at the fillet
    and at rounded toes, and in what is read along the lines from the toes.
    """
    return climb_orders(
        lambda order: drum_end_section(end, order, fineness),
        partial(end_unit_loads, end, material),
        end_watches(end),
        states,
        material,
        accuracy,
        orders,
        readings,
        on_event,
        BAND_FACTOR if end.penetration == "full" else GAP_FACTOR,
    )
