"""The mesh ladder of a mesh from a file: first order on its cells, second order, then second order on divided cells.

The band comes from the change between the last two rungs at the same points. It covers what a finer mesh of
the same shape would change, not how well the file's mesh follows the drawing: division keeps the file's curves,
and with them the slight kinks between its curved sides, at which the stress creeps up without end. Where the
change does not fall from rung to rung (a kink, the end of a support, a point load) the band grows accordingly.
The factors were tried on the cases of tests/exact/test_mesh_file_band.py.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import OverBudget
from ..model.accuracy import Accuracy
from ..model.material import Material
from ..model.mesh_part import MeshPart
from .cell import Fineness
from .file_level import FileLevel, file_level, watch
from .file_mesh import FileMesh
from .file_part import read_part
from .ladder import SOLID_LEAST_FINER, Rung, UnitSolution
from .memory import require
from .probes import locate
from .unit_cases.faces import face_case

__all__ = ["mesh_solution", "probe_bands"]

Array = NDArray[np.float64]

# Band of the peak over the largest change where the stress is near it. Cells halve their size from rung to rung;
# where the stress is smooth its error falls to a quarter at least, so the change is three times the error that is
# left. Largest error over change in 88 known cases: 0.65 with triangles, 0.56 with quadrilaterals.
PEAK_FACTOR = 0.75
# Band at a probe over the largest change of a component: one place, where meshes may agree by chance.
PROBE_FACTOR = 1.0
# Where changes fall by the ratio r from rung to rung, what is left to come is change x r / (1 - r).
MOST_RATIO = 0.9
# watched points count for the ratio where the stress is above this share of its largest value
NEAR = 0.9
# order of the functions, and cells along an edge of one of the file's cells
RUNGS = ((1, 1), (2, 1), (2, 2), (2, 4), (2, 8), (2, 16))
# grows of solution time from rung to rung, by dimension
SLOWER = {2: 5.0, 3: 16.0}
# memory of a mesh's equations, about, whichever way they are solved; a factor is reckoned by itself
UNKNOWN_BYTES = 6_000.0


def mesh_solution(
    part: MeshPart,
    material: Material,
    names: Sequence[str],
    accuracy: Accuracy,
    states: Array,
    on_event: Callable[[str], None] | None = None,
) -> UnitSolution:
    """Solve the named unit cases on finer meshes until every state's peak, and its stress at the probes, settle."""
    start = time.perf_counter()
    mesh = read_part(part, [face_case(name) for name in names])
    probes, watched = locate(part.probes, mesh), watch(part, mesh)
    rungs: list[Rung] = []
    best: FileLevel | None = None
    coarser: FileLevel | None = None
    reason = "the ladder's last mesh is reached"
    for order, cells in RUNGS:
        unknowns = _foreseen(mesh, order, cells)
        if unknowns > (accuracy.most_unknowns if best else 4 * accuracy.most_unknowns):
            reason = f"the next mesh would exceed most_unknowns = {accuracy.most_unknowns}"
            break
        spent = time.perf_counter() - start
        if best and spent + SLOWER[mesh.dim] * rungs[-1].seconds > accuracy.most_seconds:
            reason = f"the next mesh would exceed most_seconds = {accuracy.most_seconds:g}"
            break
        began = time.perf_counter()
        try:
            require(unknowns, UNKNOWN_BYTES * unknowns, "the next mesh")
            while 2**mesh.divided < cells:
                mesh = mesh.divide()
            level = _with_step(file_level(part, mesh, material, names, order, watched, probes), coarser, states)
        except OverBudget as refused:
            if best is None:
                raise
            reason = str(refused)
            break
        surface = level.edge.combine(states)
        peaks = [surface.peaks(i).peak for i in range(len(states))]
        seconds = time.perf_counter() - began
        fineness = Fineness(order=order, cells_per_arc=cells)
        rungs.append(Rung(fineness, level.unknowns, seconds, tuple(float(p) for p in peaks)))
        if on_event:
            on_event(
                f"order {order}, every cell of the file cut {cells} times along its edges, {level.unknowns} unknowns"
            )
        if coarser is not None:
            best = level
            relative = [p.relative_band or 0.0 for p in peaks] + _relative_bands(level, states)
            if max(relative) <= accuracy.error:
                return UnitSolution(level.edge, level, tuple(rungs), True, time.perf_counter() - start, "")
        coarser = level
    if best is None:
        raise OverBudget(
            f"the mesh needs {_foreseen(mesh, 2, 1)} unknowns, most_unknowns is {accuracy.most_unknowns}: allow more, "
            "or give a coarser mesh"
        )
    return UnitSolution(best.edge, best, tuple(rungs), False, time.perf_counter() - start, reason)


def probe_bands(level: FileLevel, states: Array) -> tuple[Array, Array]:
    """Stress [state, probe, dim, dim] at the probes, and its band [state, probe]: that of the most uncertain component."""
    value = np.tensordot(states, level.probes, 1)
    last = np.abs(np.tensordot(states, level.probe_step, 1)).max((2, 3))
    before = np.abs(np.tensordot(states, level.probe_earlier, 1)).max((2, 3))
    return value, np.maximum(PROBE_FACTOR, _to_come(last, before)) * last


def _relative_bands(level: FileLevel, states: Array) -> list[float]:
    value, band = probe_bands(level, states)
    size = np.abs(value).max((2, 3))
    return list((band / np.maximum(size, 1e-300)).ravel())


def _to_come(last: Array, before: Array) -> Array:
    """All changes still to come over the last one, from the last two; before is zero where there is none."""
    ratio = np.where(before > 0, last / np.maximum(before, 1e-300), 0.0)
    ratio = np.minimum(ratio, MOST_RATIO)
    return np.asarray(ratio / (1 - ratio))


def _with_step(level: FileLevel, coarser: FileLevel | None, states: Array) -> FileLevel:
    if coarser is None:
        return level
    edge = level.edge.with_step_from(coarser.edge, 1.0)
    factor = PEAK_FACTOR
    for state in states:
        size = np.abs(np.tensordot(state, edge.stress, 1)).max(-1)
        near = size >= NEAR * size.max()
        last, before = (np.abs(np.tensordot(state, step, 1)[near]).max(-1) for step in (edge.step, coarser.edge.step))
        # the band is reckoned from the root mean square (edge.py); its largest change is what counts here
        spread = last.max() / max(_rms(last), 1e-300)
        factor = max(factor, spread * max(PEAK_FACTOR, float(_to_come(_rms(last), _rms(before)))))
    if level.mesh.divided == 1:  # from first to second order: tells how fast changes fall, not how large they are
        edge = replace(edge, earlier=np.zeros_like(edge.step))
    return replace(
        level,
        edge=replace(edge, band_factor=factor, least_band=SOLID_LEAST_FINER if level.mesh.dim == 3 else 0.0),
        probe_step=level.probes - coarser.probes,
        probe_earlier=coarser.probe_step,
    )


def _rms(values: Array) -> Any:
    return np.sqrt(np.mean(values**2))


def _foreseen(mesh: FileMesh, order: int, cells: int) -> int:
    """Unknowns of a rung before it is built."""
    if order == 1:
        return mesh.dim * np.unique(np.concatenate([b.cells[:, : b.kind.corners].ravel() for b in mesh.blocks])).size
    inside = sum(len(b.cells) for b in mesh.blocks if b.kind.tensor)  # condensed
    return int(mesh.dim * (len(mesh.nodes) - inside) * (cells / 2**mesh.divided) ** mesh.dim)
