"""About how long a variant will take, to begin with the longest and to tell what time remains.

Ratios matter, not seconds: the clock of the run sets the scale. Rings go by the unknowns of the second mesh, on which half
of them settle, to the power 1.1, times the systems that their loads ask for. Measured with one thread on x86-64,
2026-11, over four sectors and ten rows under eight loads: true over foreseen time 0.9 to 1.3 for the sectors, about 2 for the rows, which
need a third mesh. Plates took 0.02 to 0.17 s, falling with the least radius; the files in meshes/ 0.1 s
(plane) and 5 s (solid).
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from ..model.mesh_part import MeshPart
from ..model.ring import Ring
from .study import Variant

__all__ = ["cost", "longest_first"]

# kinds of load that meet every slot alike, and those that the section as a whole carries; any other acts on some slots
ALIKE = frozenset({"rotation", "overspeed", "axial", "internal_pressure", "wedge_clamp"})
SECTION = frozenset(
    {"bending", "transverse", "torsion", "self_weight", "belt_pull", "drive_torque", "jam", "reversal", "unbalance"}
)
_RING_S = 1.1e-5  # for each unknown ** 1.1 and system
_AT_LEAST_S = 0.03  # reading, writing, the first mesh


def cost(variant: Variant) -> float:
    """Foreseen seconds on one core, for ordering and weighing. Never fails: what cannot be foreseen is taken for a middling one."""
    part = variant.part
    try:
        if isinstance(part, Ring):
            return _AT_LEAST_S + _ring(part, variant)
        if isinstance(part, MeshPart):
            return _AT_LEAST_S + _file(part.file, solid=part.thickness_mm is None)
        radius = float(part.cutout.least_radius_mm)
        return _AT_LEAST_S + (0.15 / max(radius, 0.5) if radius > 0.0 else 0.0)
    except Exception:  # the solver will say what is wrong; here it only loses its place in the queue
        return 1.0


def _ring(ring: Ring, variant: Variant) -> float:
    if ring.cutout.sharp:
        return 0.0
    unknowns = _quarter_unknowns(ring)
    kinds = {load.kind for load in variant.loads}
    placed = {k.kind for k in variant.loads if k.kind not in SECTION and getattr(k, "slot", "all") != "all"}
    placed |= kinds - ALIKE - SECTION
    # a clamp solved as contact presses its two flanks unlike
    placed |= {k.kind for k in variant.loads if getattr(k, "contact", None) is not None}
    if not placed and kinds <= ALIKE and ring.rows != "helical" and ring.held == "nothing":
        systems = 1
    else:
        from ..fem.symmetry import plan_of  # late: few studies ask for it

        plan = plan_of(ring)
        unknowns *= len(plan.sectors) * len(plan.halves)
        half = max(len(plan.parities) // 2, 1)
        systems = min(bool(kinds & ALIKE) + len(kinds & SECTION) + half * bool(placed), len(plan.parities))
    return float(_RING_S * unknowns**1.1 * systems)


@lru_cache(4096)
def _quarter_unknowns(ring: Ring) -> int:
    from ..fem.ring_level import RING_FLIGHTS, ring_unknowns

    return ring_unknowns(ring, RING_FLIGHTS[0][1])


@lru_cache(64)
def _file(file: str, solid: bool) -> float:
    size = Path(file).stat().st_size
    return 5.0 * (size / 110_000) ** 1.5 if solid else 0.1 * size / 42_000


def longest_first(variants: list[Variant]) -> tuple[list[Variant], dict[str, float]]:
    """The variants by falling cost, and the cost of each by its key."""
    costs = {v.key: cost(v) for v in variants}
    return sorted(variants, key=lambda v: -costs[v.key]), costs
