"""The meshes in this folder and what made them.

Regenerate all (from the repository's root):  python meshes/make_meshes.py
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import gmsh

HERE = Path(__file__).parent
geo = gmsh.model.occ


def elliptic_membrane() -> None:
    """Quarter between two ellipses, 9-node quadrilaterals, mm: NAFEMS LE1 (TNSB Rev. 3, 1990)."""
    surface = _elliptic_quarter(0.0)
    geo.synchronize()
    _structured(surface, around=20, across=9, fan=1.08, growth=1.3)
    _name(1, {"y0": lambda p: p[1] == 0, "x0": lambda p: p[0] == 0, "inner": _on(2000, 1000), "outer": _on(3250, 2750)})
    gmsh.model.addPhysicalGroup(2, [surface], name="membrane")
    gmsh.model.mesh.generate(2)


def thick_plate() -> None:
    """The same plan, 600 thick, 20-node hexahedra, mm: NAFEMS LE10. The outer face's mid-line z = 0 has a name."""
    gmsh.option.setNumber("Mesh.SecondOrderIncomplete", 1)
    low = _elliptic_quarter(-300)
    below = geo.extrude([(2, low)], 0, 0, 300, numElements=[1, 1], heights=[0.5, 1.0], recombine=True)
    above = geo.extrude([below[0]], 0, 0, 300, numElements=[1, 1, 1], heights=[0.3, 0.65, 1.0], recombine=True)
    geo.synchronize()
    _structured(low, around=10, across=5, fan=1.2, growth=1.25)
    _name(
        2,
        {
            "y0": lambda p: p[1] == 0,
            "x0": lambda p: p[0] == 0,
            "top": lambda p: p[2] == 300,
            "bottom": lambda p: p[2] == -300,
            "inner": _on(2000, 1000),
            "outer": _on(3250, 2750),
        },
    )
    _name(1, {"outer mid-line": lambda p: p[2] == 0 and _on(3250, 2750)(p)})
    gmsh.model.addPhysicalGroup(3, [below[1][1], above[1][1]], name="plate")
    gmsh.model.mesh.generate(3)


def plate_with_hole() -> None:
    """Quarter of a plate 200 x 100 x 10 mm with a hole of 20 mm, cut at three mirror planes: 10-node tetrahedra, mm."""
    block = geo.addBox(0, 0, 0, 100, 50, 5)
    hole = geo.addCylinder(0, 0, -1, 0, 0, 7, 10)
    geo.cut([(3, block)], [(3, hole)])
    geo.synchronize()
    gmsh.model.mesh.field.add("Distance", 1)
    wall = [tag for _, tag in gmsh.model.getEntities(2) if abs(math.hypot(*_centre(2, tag)[:2]) - 10) < 0.5]
    gmsh.model.mesh.field.setNumbers(1, "SurfacesList", wall)
    gmsh.model.mesh.field.add("Threshold", 2)
    for option, value in {"InField": 1, "SizeMin": 2.5, "SizeMax": 14, "DistMin": 1, "DistMax": 40}.items():
        gmsh.model.mesh.field.setNumber(2, option, value)
    gmsh.model.mesh.field.setAsBackgroundMesh(2)
    for option in ("ExtendFromBoundary", "FromPoints", "FromCurvature"):
        gmsh.option.setNumber(f"Mesh.MeshSize{option}", 0)
    faces = {
        "x0": lambda p: p[0] == 0,
        "y0": lambda p: p[1] == 0,
        "z0": lambda p: p[2] == 0,
        "end": lambda p: p[0] == 100,
        "hole": lambda p: math.isclose(math.hypot(p[0], p[1]), 10, rel_tol=1e-6),
    }
    _name(2, faces)
    gmsh.model.addPhysicalGroup(3, [tag for _, tag in gmsh.model.getEntities(3)], name="plate")
    gmsh.model.mesh.generate(3)


def _elliptic_quarter(z: float) -> int:
    """Surface between the ellipses of half axes 2000, 1000 and 3250, 2750."""

    def ellipse(a: float, b: float) -> int:
        swap = b > a
        axis = [0, 1, 0] if swap else [1, 0, 0]
        angles = (-0.5 * math.pi, 0.0) if swap else (0.0, 0.5 * math.pi)
        return int(geo.addEllipse(0, 0, z, max(a, b), min(a, b), angle1=angles[0], angle2=angles[1], xAxis=axis))

    inner, outer = ellipse(2000, 1000), ellipse(3250, 2750)
    geo.synchronize()
    ends = {}
    for name, curve in (("inner", inner), ("outer", outer)):
        points = [tag for _, tag in gmsh.model.getBoundary([(1, curve)], oriented=False)]
        points.sort(key=lambda tag: gmsh.model.getValue(0, tag, [])[1])
        ends[name] = points
    right = geo.addLine(ends["inner"][0], ends["outer"][0])
    left = geo.addLine(ends["outer"][1], ends["inner"][1])
    loop = geo.addCurveLoop([right, outer, left, inner])
    return int(geo.addPlaneSurface([loop]))


def _on(a: float, b: float) -> Callable[[list[float]], bool]:
    return lambda p: math.isclose((p[0] / a) ** 2 + (p[1] / b) ** 2, 1.0, rel_tol=1e-6)


def _centre(dim: int, tag: int) -> list[float]:
    """A point on the entity, in the middle of its parameters, with round-off taken away."""
    low, high = gmsh.model.getParametrizationBounds(dim, tag)
    at = [0.5 * (a + b) for a, b in zip(low, high, strict=True)]
    return [round(v, 6) + 0.0 for v in gmsh.model.getValue(dim, tag, at)]


def _name(dim: int, rules: dict[str, Callable[[list[float]], bool]]) -> None:
    for name, rule in rules.items():
        tags = [tag for _, tag in gmsh.model.getEntities(dim) if rule(_centre(dim, tag))]
        assert tags, name
        gmsh.model.addPhysicalGroup(dim, tags, name=name)


def _structured(surface: int, around: int, across: int, fan: float, growth: float) -> None:
    """Quadrilaterals in rows: along the ellipses growing by `fan` from y = 0 on, across by `growth` from the inner one on.

    Where the inner ellipse turns sharply its cells must be small: between curved sides of cells kinks are left.
    """
    for _, curve in gmsh.model.getBoundary([(2, surface)], oriented=False):
        x, y, _ = _centre(1, curve)
        first, last = (gmsh.model.getValue(1, curve, [t[0]]) for t in gmsh.model.getParametrizationBounds(1, curve))
        if x == 0 or y == 0:
            ratio = growth if math.hypot(*first[:2]) < math.hypot(*last[:2]) else 1 / growth
            gmsh.model.mesh.setTransfiniteCurve(curve, across + 1, "Progression", ratio)
        else:
            ratio = fan if first[1] < last[1] else 1 / fan
            gmsh.model.mesh.setTransfiniteCurve(curve, around + 1, "Progression", ratio)
    gmsh.model.mesh.setTransfiniteSurface(surface)
    gmsh.model.mesh.setRecombine(2, surface)


MESHES = (elliptic_membrane, thick_plate, plate_with_hole)


def make(build: Callable[[], None], folder: Path = HERE) -> Path:
    """Build one mesh and save it; the file carries the function's name."""
    gmsh.initialize(argv=[], readConfigFiles=False, interruptible=False)
    try:
        options = {"General.Terminal": 0, "General.NumThreads": 1, "Mesh.ElementOrder": 2, "Mesh.Binary": 1}
        for option, value in {**options, "Mesh.SecondOrderIncomplete": 0, "Mesh.MshFileVersion": 4.1}.items():
            gmsh.option.setNumber(option, value)
        build()
        path = folder / f"{build.__name__}.msh"
        gmsh.write(str(path))
    finally:
        gmsh.finalize()
    return path


if __name__ == "__main__":
    for build in MESHES:
        print(make(build))
