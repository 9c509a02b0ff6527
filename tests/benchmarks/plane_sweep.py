"""A sweep of fifty plates with a slot under a pull, to 1 % and to 0.1 %: finite elements, the exact solution, the peer.

Five slots of ten corner radii each, from a twentieth of the short side to the full round, in a plate of 400 by 200 mm.
femdrum goes through `solve_all`, the exact boundary integral through `exact_kts`, which takes all in one stack. The peer is
the independent library: a quarter of the plate, curved triangles of order 4 graded towards the corner, one assembly, a
second solve in the order-3 subspace. Its rule of sizes is for each accuracy the cheapest of some 170 whose second solves say
that accuracy for all fifty.

Errors are those against the exact solution to 1e-8, which has no more to do with either way of finite elements than the
outline; the peer agrees with it.

    python tests/benchmarks/plane_sweep.py [--turns N]
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parent
sys.path += [str(HERE), str(HERE.parent / "peers")]

from many_loads import ORDER, lower  # noqa: E402
from run import Taken, fresh, line, median, own_peak_MiB, rounds, turns_asked  # noqa: E402

import femdrum as fd  # noqa: E402

__all__ = ["ASKED", "PLATES", "RULES", "Found", "Sizes", "exact", "known", "main", "measure", "own", "peer"]

YOUNG, POISSON = 206e3, 0.3
ASKED = (0.01, 0.001)
SLOTS = ((60.0, 120.0), (120.0, 60.0), (60.0, 60.0), (40.0, 100.0), (100.0, 40.0))
SHARES = np.geomspace(0.05, 0.5, 10)
PLATES = tuple(
    fd.Plate(
        length_mm=400, width_mm=200, thickness_mm=10,
        cutout=fd.Slot(size_x_mm=x, size_y_mm=y, corner_radius_mm=float(round(share * min(x, y), 3))),
    )
    for x, y in SLOTS
    for share in SHARES
)  # fmt: skip


@dataclass(frozen=True)
class Sizes:
    """Cell sizes: on the arc as a share of its radius, on the slot's flanks and elsewhere in mm; grading."""

    arc: float
    flank: float
    rest: float
    grading: float


RULES = {0.01: Sizes(0.2, 12.0, 80.0, 0.5), 0.001: Sizes(0.07, 12.0, 40.0, 0.5)}


@dataclass(frozen=True)
class Found:
    """Peak over the gross stress, what is said of its error (relative), unknowns."""

    kt: float
    said: float
    unknowns: int


def known() -> list[float]:
    """The exact peaks over the gross stress."""
    return [one.kt for one in exact(PLATES, 1e-8)]


def exact(plates: Sequence[fd.Plate], asked: float) -> list[Found]:
    """The boundary integral, all plates in one stack."""
    from femdrum.handbook.exact import ExactKt, PlaneCase, domain_of, exact_kts

    out = []
    for one in exact_kts([PlaneCase(cutout=p.cutout, domain=domain_of(p), stress_x=1.0) for p in plates], rel=asked):
        assert isinstance(one, ExactKt), one
        out.append(Found(one.kt, one.est_rel_err, one.unknowns))
    return out


def own(plates: Sequence[fd.Plate], asked: float) -> list[Found]:
    """femdrum's finite elements."""
    steel, out = fd.steel("S355"), []
    for plate in plates:
        (answer,) = fd.solve_all(plate, [fd.Tension(stress_MPa=1.0)], steel, error=asked).answers
        assert answer.peak.value is not None
        assert answer.peak.relative_band is not None
        out.append(Found(abs(answer.peak.value), answer.peak.relative_band, answer.unknowns))
    return out


def peer(plates: Sequence[fd.Plate], asked: float) -> list[Found]:
    """The independent library."""
    import ngsolve as ng

    with ng.TaskManager():
        return [_peer(plate, RULES[asked]) for plate in plates]


def _mesh(plate: fd.Plate, sizes: Sizes) -> Any:
    import netgen.occ as occ
    import ngsolve as ng

    slot = plate.cutout
    a, b, r, wide, high = slot.half_x_mm, slot.half_y_mm, slot.least_radius_mm, plate.half_x_mm, plate.half_y_mm
    path = occ.WorkPlane().MoveTo(a, 0).LineTo(wide, 0).LineTo(wide, high).LineTo(0, high).LineTo(0, b)
    if a - r > 1e-9:
        path.LineTo(a - r, b)
    path.Rotate(0).Direction(1, 0).Arc(r, -90)
    if b - r > 1e-9:
        path.LineTo(a, 0)
    face = path.Close().Face()
    sides = ((1, 0.0, "bottom"), (0, wide, "pulled"), (1, high, "side"), (0, 0.0, "left"))
    for edge in face.edges:
        at = (edge.center.x, edge.center.y)
        outer = [name for axis, where, name in sides if abs(at[axis] - where) < 1e-6]
        edge.name = outer[0] if outer else "slot"
        if not outer:
            edge.maxh = sizes.flank if abs(at[0] - a) < 1e-6 or abs(at[1] - b) < 1e-6 else sizes.arc * r
    shape = occ.OCCGeometry(face, dim=2)
    return ng.Mesh(shape.GenerateMesh(maxh=sizes.rest, grading=sizes.grading, curvaturesafety=0.1, segmentsperedge=0.2))


def _peer(plate: fd.Plate, sizes: Sizes, samples: int = 8) -> Found:
    import ngsolve as ng

    mesh = _mesh(plate, sizes)
    mesh.Curve(ORDER)
    space = ng.VectorH1(mesh, order=ORDER, dirichletx="left", dirichlety="bottom")
    u, v = space.TnT()
    one = np.eye(2)
    law = YOUNG * POISSON / (1 - POISSON**2) * np.einsum("ij,kl->ijkl", one, one)
    law += YOUNG / (2 * (1 + POISSON)) * (np.einsum("ik,jl->ijkl", one, one) + np.einsum("il,jk->ijkl", one, one))
    stiff = ng.CF(tuple(law.ravel()), dims=(4, 4))
    form = ng.BilinearForm(space, symmetric=True)
    form += ng.InnerProduct(stiff * ng.Grad(u).Reshape((4,)), ng.Grad(v).Reshape((4,))) * ng.dx
    form.Assemble()
    load = ng.LinearForm(v[0] * ng.ds("pulled")).Assemble()
    # a free edge is in uniaxial stress: Young's modulus times the strain along it, averaged where cells meet
    points = ng.IntegrationRule(points=[(i / samples,) for i in range(samples + 1)], weights=[1.0] * (samples + 1))
    mapped = mesh.MapToAllElements(points, mesh.Boundaries("slot"))
    along = np.asarray(ng.specialcf.tangential(2)(mapped))
    place = np.asarray(ng.CF((ng.x, ng.y))(mapped))
    _, index = np.unique(np.round(place, 5) + 0.0, axis=0, return_inverse=True)
    index = index.ravel()
    field = ng.GridFunction(space)
    peaks = []
    for free in (space.FreeDofs(), space.FreeDofs() & lower(space, mesh)):
        field.vec.data = form.mat.Inverse(free, inverse="sparsecholesky") * load.vec
        slope = np.asarray(ng.Grad(field).Trace()(mapped)).reshape(-1, 2, 2)
        stress = YOUNG * np.einsum("pi,pij,pj->p", along, slope, along)
        peaks.append(float(np.abs(np.bincount(index, stress) / np.bincount(index)).max()))
    return Found(peaks[0], abs(peaks[1] / peaks[0] - 1), space.ndof)


WAYS: dict[str, Callable[[Sequence[fd.Plate], float], list[Found]]] = {"femdrum": own, "exact": exact, "peer": peer}


def child(way: str, asked: float) -> dict[str, Any]:
    """One warm run over all plates, in this process."""
    from femdrum.handbook import boundary_integral

    if way == "peer":
        import ngsolve as ng

        ng.SetNumThreads(1)
    WAYS[way](PLATES[:2], asked)  # imports and first calls
    for stored in (boundary_integral.plane_solution, boundary_integral._cuts, boundary_integral._hole_cuts):
        stored.cache_clear()
    wall, cpu = time.perf_counter(), time.process_time()
    found = WAYS[way](PLATES, asked)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    answer = [(one.kt, one.said, one.unknowns) for one in found]
    return {"wall_s": wall, "cpu_s": cpu, "peak_MiB": own_peak_MiB(), "found": answer}


def _warm(way: str, asked: float) -> Taken:
    answer = fresh([sys.executable, __file__, way, repr(asked)]).answer
    found = [Found(*one) for one in answer["found"]]
    return Taken(answer["wall_s"], answer["cpu_s"], answer["peak_MiB"], found)


def measure(turns: int = 5) -> dict[float, dict[str, Taken]]:
    """By accuracy and way: medians of warm runs over all plates, each in a fresh process."""
    out = {}
    for asked in ASKED:
        runs = {way: lambda way=way, asked=asked: _warm(way, asked) for way in WAYS}  # type: ignore[misc]
        out[asked] = {way: median(taken) for way, taken in rounds(runs, turns).items()}
    return out


def main() -> None:
    """Print a line for each accuracy and way."""
    true = known()
    for asked, ways in measure(turns_asked()).items():
        for way, taken in ways.items():
            errors = [abs(one.kt / kt - 1) for one, kt in zip(taken.answer, true, strict=True)]
            said = [one.said for one in taken.answer]
            rest = (
                f"{1e3 * taken.cpu_s / len(true):.1f} ms each, {max(one.unknowns for one in taken.answer)} unknowns at most, "
                f"error at most {max(errors):.1e}, above what is said for {sum(e > s for e, s in zip(errors, said, strict=True))}, "
                f"said at most {max(said):.1e}"
            )
            print(line(f"{asked:.1%}", way, taken, rest, {"peer": ways["peer"]} if way != "peer" else None))


if __name__ == "__main__":
    if sys.argv[1:2] and sys.argv[1] in WAYS:
        print(json.dumps(child(sys.argv[1], float(sys.argv[2]))))
    else:
        main()
