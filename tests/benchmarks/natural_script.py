"""The ring of radius 6 mm as a competent user would write it with general-purpose libraries in an afternoon.

gmsh draws the sector between its mirror planes and meshes it with second-order tetrahedra, small at the slot's corner; the
assembly library's ready-made elasticity is assembled on it; the inclined mirror plane is turned into its own axes; scipy
factors; two solutions are added so that the net axial force is zero; stresses are averaged at the nodes of the slot's wall.
The cells at the corner are made smaller until the peak changes by no more than 1 %; all attempts count. Both sides are whole
processes, `femdrum study` on the other.

    python tests/benchmarks/natural_script.py [--turns N]
"""

from __future__ import annotations

import json
import math
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
sys.path += [str(HERE)]

from command_line import own, reference  # noqa: E402
from run import Taken, fresh, line, median, rounds, turns_asked  # noqa: E402

__all__ = ["Step", "main", "measure", "mesh", "said", "script", "solve"]

RADIUS = 6.0
OUTER, BORE, HALF_PITCH, HALF_X, HALF_Y = 450.0, 410.0, 100.0, 30.0, 60.0
ANGLE = math.pi / 6
YOUNG, POISSON, DENSITY, OMEGA = 206e3, 0.3, 7.85e-9, 2 * math.pi * 1000 / 60
ASKED = 0.01
# cell sizes in mm: on the corner's arc, one after the other, and far from it; the distance over which they grow
AT_CORNER, FAR, REACH = (2.0, 1.4, 1.0, 0.7, 0.5), 40.0, 80.0


@dataclass(frozen=True)
class Step:
    """One mesh: peak in MPa and unknowns."""

    peak_MPa: float
    unknowns: int


def mesh(at_corner: float, radius: float = RADIUS) -> Any:
    """Second-order tetrahedra of the sector; z along the axis, the slot's middle at angle 0."""
    import gmsh
    import skfem

    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        occ = gmsh.model.occ
        shell = _sector(occ, OUTER)
        occ.cut([(3, shell)], [(3, _sector(occ, BORE))])
        a, b = HALF_X, HALF_Y
        slot = occ.addBox(0, -a, -b, 2 * OUTER, 2 * a, 2 * b)
        occ.synchronize()
        edges = [tag for _, tag in gmsh.model.getEntities(1) if _along_radius(gmsh.model, tag)]
        occ.fillet([slot], edges, [radius])
        occ.cut([(3, shell)], [(3, slot)])
        occ.synchronize()
        arcs = [tag for _, tag in gmsh.model.getEntities(2) if _is_arc(gmsh.model, tag, radius)]
        field = gmsh.model.mesh.field
        near = field.add("Distance")
        field.setNumbers(near, "SurfacesList", arcs)
        field.setNumber(near, "Sampling", 40)
        grown = field.add("Threshold")
        field.setNumber(grown, "InField", near)
        for name, value in (("SizeMin", at_corner), ("SizeMax", FAR), ("DistMin", at_corner), ("DistMax", REACH)):
            field.setNumber(grown, name, value)
        field.setAsBackgroundMesh(grown)
        for name in ("MeshSizeExtendFromBoundary", "MeshSizeFromPoints", "MeshSizeFromCurvature"):
            gmsh.option.setNumber(f"Mesh.{name}", 0)
        gmsh.option.setNumber("Mesh.ElementOrder", 2)
        gmsh.model.mesh.generate(3)
        gmsh.model.mesh.optimize("HighOrder")
        solid = [tag for _, tag in gmsh.model.getEntities(3)]
        gmsh.model.addPhysicalGroup(3, solid)
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "ring.msh"
            gmsh.option.setNumber("Mesh.Binary", 1)
            gmsh.write(str(file))
            return skfem.MeshTet2.load(file)
    finally:
        gmsh.finalize()


def _sector(occ: Any, radius: float) -> int:
    return int(occ.addCylinder(0, 0, 0, 0, 0, HALF_PITCH, radius, angle=ANGLE))


def _along_radius(model: Any, edge: int) -> bool:
    low_x, _, _, high_x, _, _ = model.getBoundingBox(1, edge)
    return bool(high_x - low_x > OUTER)


def _is_arc(model: Any, face: int, radius: float) -> bool:
    _, low_y, low_z, _, high_y, high_z = model.getBoundingBox(2, face)
    off = 1e-3
    return bool(
        low_y > HALF_X - radius - off
        and high_y < HALF_X + off
        and low_z > HALF_Y - radius - off
        and high_z < HALF_Y + off
    )


def _on_wall(x: Any, radius: float) -> Any:
    """Places on the slot's wall."""
    across, along = np.abs(x[1]) - (HALF_X - radius), np.abs(x[2]) - (HALF_Y - radius)
    return np.abs(np.hypot(np.maximum(across, 0), np.maximum(along, 0)) - radius) < 1e-2


def solve(grid: Any, radius: float = RADIUS) -> Step:
    """Rotation at 1000 rpm, the end plane staying plane without net force."""
    import scipy.sparse as sparse
    import skfem
    from scipy.sparse.linalg import splu
    from skfem.helpers import dot
    from skfem.models.elasticity import lame_parameters, linear_elasticity

    basis = skfem.Basis(grid, skfem.ElementVector(skfem.ElementTetP2()))
    stiffness = linear_elasticity(*lame_parameters(YOUNG, POISSON)).assemble(basis)

    @skfem.LinearForm
    def spin(v: Any, w: Any) -> Any:
        return DENSITY * OMEGA**2 * dot(np.stack([w.x[0], w.x[1], 0 * w.x[2]]), v)

    load = spin.assemble(basis)
    # on the inclined mirror plane the two unknowns across the axis are turned: the first then stands along it
    inclined = grid.facets_satisfying(lambda x: np.abs(np.arctan2(x[1], x[0]) - ANGLE) < 1e-6, boundaries_only=True)
    first, second = (basis.get_dofs(inclined).all(name) for name in ("u^1", "u^2"))
    turn = sparse.lil_matrix(sparse.identity(basis.N))
    turn[first, first], turn[first, second] = math.cos(ANGLE), -math.sin(ANGLE)
    turn[second, first], turn[second, second] = math.sin(ANGLE), math.cos(ANGLE)
    turn = turn.tocsc()
    stiffness, load = (turn.T @ stiffness @ turn).tocsc(), turn.T @ load

    def on(where: Any, name: str) -> Any:
        return basis.get_dofs(grid.facets_satisfying(where, boundaries_only=True)).all(name)

    top = on(lambda x: np.abs(x[2] - HALF_PITCH) < 1e-6, "u^3")
    held = [on(lambda x: np.abs(x[1]) < 1e-6, "u^2"), on(lambda x: np.abs(x[2]) < 1e-6, "u^3"), second, top]
    free = basis.complement_dofs(np.unique(np.concatenate(held)))
    stretched = np.zeros(basis.N)
    stretched[top] = 1.0
    # for a symmetric matrix; the plain call takes several times as long
    factor = splu(
        stiffness[free][:, free], permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    stretched[free] = factor.solve(-(stiffness @ stretched)[free])
    spun = np.zeros(basis.N)
    spun[free] = factor.solve(load[free])
    force = stiffness @ stretched
    spun += (stretched @ load) / (stretched @ force) * stretched
    return Step(_peak(grid, turn @ spun, radius), len(free))


def _peak(grid: Any, u: Any, radius: float) -> float:
    """Largest principal stress at the nodes of the slot's wall, averaged over the cells that meet there."""
    import skfem
    from skfem.helpers import eye, sym_grad, trace

    corners = skfem.ElementTetP2().doflocs.T
    basis = skfem.Basis(
        grid, skfem.ElementVector(skfem.ElementTetP2()), quadrature=(corners, np.ones(corners.shape[1]))
    )
    strain = sym_grad(basis.interpolate(u))
    lame, shear = YOUNG * POISSON / ((1 + POISSON) * (1 - 2 * POISSON)), YOUNG / (2 * (1 + POISSON))
    stress = 2 * shear * strain + lame * eye(trace(strain), 3)
    place = np.asarray(basis.global_coordinates()).reshape(3, -1)
    chosen = _on_wall(place, radius)
    place, values = place[:, chosen], np.asarray(stress).reshape(9, -1)[:, chosen]
    _, index = np.unique(np.round(place.T, 3), axis=0, return_inverse=True)
    index = index.ravel()
    mean = np.stack([np.bincount(index, c) / np.bincount(index) for c in values], 1).reshape(-1, 3, 3)
    return float(np.linalg.eigvalsh(mean)[:, 2].max())


def script(sizes: Sequence[float] = AT_CORNER, asked: float = ASKED) -> list[Step]:
    """Finer and finer until the peak changes by no more than was asked."""
    steps: list[Step] = []
    for size in sizes:
        steps.append(solve(mesh(size)))
        if len(steps) > 1 and said(steps) <= asked:
            break
    return steps


def said(steps: Sequence[Step]) -> float:
    """The last change of the peak, relative."""
    return abs(steps[-2].peak_MPa / steps[-1].peak_MPa - 1)


def _script() -> Taken:
    taken = fresh([sys.executable, __file__, "script"])
    return replace(taken, answer=[Step(*step) for step in taken.answer])


def measure(turns: int = 5) -> dict[str, Taken]:
    """Medians by way."""
    runs = {"femdrum": lambda: own(RADIUS), "script": _script}
    return {name: median(taken) for name, taken in rounds(runs, turns).items()}


def main() -> None:
    """Print a line for each way."""
    ways = measure(turns_asked())
    true, _ = reference(RADIUS)
    ours, steps = ways["femdrum"].answer, ways["script"].answer
    rest = f"{ours['unknowns']:.0f} unknowns, error {ours['peak_MPa'] / true - 1:+.2%}, said {ours['said_MPa'] / ours['peak_MPa']:.2%}"
    print(line("r 6", "femdrum", ways["femdrum"], rest, {"script": ways["script"]}))
    way = " to ".join(f"{step.peak_MPa:.1f}" for step in steps)
    rest = f"{steps[-1].unknowns} unknowns, error {steps[-1].peak_MPa / true - 1:+.2%}, said {said(steps):.2%}, {len(steps)} meshes: {way} MPa"
    print(line("r 6", "script", ways["script"], rest))


if __name__ == "__main__":
    if sys.argv[1:2] == ["script"]:
        print(json.dumps([(step.peak_MPa, step.unknowns) for step in script()]))
    else:
        main()
