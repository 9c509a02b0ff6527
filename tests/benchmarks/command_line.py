"""One ring from the command line: `femdrum study` as a whole process against a whole process of the peer's script.

Interpreter, imports, reading the study, solving and writing results all count. The peer is `peer_ring.py` with one rule of
sizes for all radii: once as it would be run by someone who trusts its first solve, once with the second solve that says
how far it may be off. Results go to a fresh folder each time.

    python tests/benchmarks/command_line.py [--turns N]
"""

from __future__ import annotations

import csv
import json
import sys
import tempfile
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path += [str(HERE), str(HERE.parent / "peers")]

from run import Taken, fresh, line, median, rounds, turns_asked  # noqa: E402

__all__ = ["ROWS", "STUDY", "answer_of", "first_solve", "main", "measure", "own", "peer", "reference"]

# the stored rows of tests/peers/ring_reference.csv by corner radius in mm
ROWS = {2.0: "D r2", 6.0: "D r6", 15.0: "B aligned", 30.0: "D r30"}
STUDY = """\
title = "One ring"

[part]
kind = "ring"
outer_diameter_mm = 900
wall_mm = 40
pitch_mm = 200
slots_around = 6
rows = "aligned"

[part.cutout]
shape = "slot"
around_mm = 60
axial_mm = 120
corner_radius_mm = {radius:g}

[material]
grade = "S355"

[[load]]
name = "running"
kind = "rotation"
speed_rpm = 1000

[accuracy]
error = 0.01
"""


def reference(radius: float) -> tuple[float, float]:
    """The stored peak under rotation and its own error, MPa."""
    import ring_reference

    row = next(r for r in ring_reference.read() if (r["name"], r["load"]) == (ROWS[radius], "rotation"))
    return float(row["tension_MPa"]), float(row["tension_err_MPa"])


def own(radius: float) -> Taken:
    """`femdrum study` on a study of this one ring, without its report; the answer is read from what it wrote."""
    with tempfile.TemporaryDirectory() as folder:
        study, out = Path(folder) / "ring.toml", Path(folder) / "out"
        study.write_text(STUDY.format(radius=radius), encoding="utf-8")
        command = [sys.executable, "-m", "femdrum", "study", str(study), "--no-report", "--out", str(out)]
        return fresh(command, lambda _: answer_of(out))


def answer_of(results: Path) -> dict[str, float]:
    """Peak, what is said of its error, unknowns."""
    with (results / "results.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert row["verdict"] == "settled", row["message"]
    return {key: float(row[name]) for key, name in (
        ("peak_MPa", "peak_MPa"), ("said_MPa", "peak_band_MPa"), ("unknowns", "unknowns"),
    )}  # fmt: skip


def peer(radius: float, solves: int) -> Taken:
    """The peer's script in a process of its own, with one solve or two."""
    return fresh([sys.executable, __file__, "script", str(solves), repr(radius)])


def first_solve(radius: float, sizes: Any) -> tuple[float, int]:
    """`peer_ring.solve` without its second solve: peak in MPa, unknowns."""
    import ngsolve as ng
    import peer_ring as p

    with ng.TaskManager():
        mesh = p._mesh(radius, sizes)
        mesh.Curve(3)
        bent = p._bend(mesh, 3, sizes.squeeze)
        space = ng.VectorH1(mesh, order=3, dirichletx="start", dirichlety="end", dirichletz="bottom|top")
        u, v = space.TnT()
        law = ng.CF(tuple(p._law().ravel()), dims=(9, 9))
        turn = ng.CF(tuple(p.BASIS.ravel()), dims=(3, 3))
        a = ng.BilinearForm(space, symmetric=True)
        a += ng.InnerProduct(law * ng.Grad(u).Reshape((9,)), ng.Grad(v).Reshape((9,))) * ng.dx
        f = ng.LinearForm(p.DENSITY * p.OMEGA**2 * ng.CF((ng.x, ng.y, 0)) * (turn * v) * ng.dx)
        a.Assemble()
        f.Assemble()
        inverse = a.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
        spun, pulled = ng.GridFunction(space), ng.GridFunction(space)
        spun.vec.data = inverse * f.vec
        pulled.components[2].Set(1.0, definedon=mesh.Boundaries("top"))
        force = pulled.vec.CreateVector()
        force.data = a.mat * pulled.vec
        pulled.vec.data -= inverse * force
        force.data = a.mat * pulled.vec
        spun.vec.data += ng.InnerProduct(f.vec, pulled.vec) / ng.InnerProduct(force, pulled.vec) * pulled.vec
        peak = p._peak(mesh, spun)
    del bent
    return peak, sum(space.FreeDofs())


def script(solves: int, radius: float) -> dict[str, float | None]:
    """What the peer's process does."""
    import ngsolve as ng
    import peer_ring

    ng.SetNumThreads(1)
    if solves == 1:
        peak, unknowns = first_solve(radius, peer_ring.RULE[radius])
        return {"peak_MPa": peak, "said_MPa": None, "unknowns": unknowns}
    both = peer_ring.solve(radius, peer_ring.RULE[radius])
    said = abs(both.second_MPa - both.peak_MPa)
    return {"peak_MPa": both.peak_MPa, "said_MPa": said, "unknowns": both.unknowns}


def measure(turns: int = 5) -> dict[float, dict[str, Taken]]:
    """Medians by radius and way; one turn before them fills the caches of the file system."""
    out = {}
    for radius in ROWS:
        runs = {
            "femdrum": lambda radius=radius: own(radius),
            "peer once": lambda radius=radius: peer(radius, 1),
            "peer twice": lambda radius=radius: peer(radius, 2),
        }
        rounds(runs, 1)
        out[radius] = {name: median(taken) for name, taken in rounds(runs, turns).items()}
    return out


def main() -> None:
    """Print a line for each radius and way."""
    for radius, ways in measure(turns_asked()).items():
        known, _ = reference(radius)
        for name, taken in ways.items():
            answer = taken.answer
            peak, said = answer["peak_MPa"], answer["said_MPa"]
            told = "nothing" if said is None else f"{said / peak:.2%}"
            rest = f"{answer['unknowns']:.0f} unknowns, error {peak / known - 1:+.2%}, said {told}"
            peers = {k: v for k, v in ways.items() if k != "femdrum"} if name == "femdrum" else None
            print(line(f"r {radius:g}", name, taken, rest, peers), flush=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["script"]:
        print(json.dumps(script(int(sys.argv[2]), float(sys.argv[3]))))
    else:
        main()
