"""Published benchmark problems, solved from mesh files with named faces.

Sources: NAFEMS, The Standard NAFEMS Benchmarks, TNSB Rev. 3, October 1990, tests LE1 and LE10 (targets, geometry,
loads and supports as confirmed in secondary reproductions; the original was not seen).
NASA TP-3192, Shivakumar & Newman, June 1992, straight-shank hole under remote tension: coefficients of the fit
from an open port of the report, not recomputed.
"""

import csv
from pathlib import Path

import gmsh
import numpy as np
import pytest

import femdrum as fd
from femdrum.fem.mesh_file import mesher
from femdrum.study import Results, read_study, run

ROOT = Path(__file__).parents[2]
STEEL = fd.Material(youngs_modulus_MPa=210e3, poissons_ratio=0.3)

# computed: boundary integral of this package, two discretisations compared; the published 92.7 rounds it up
MEMBRANE = 92.6582
# published target; no tolerance is part of it
THICK_PLATE = -5.38


def mirror(*directions):
    return tuple(fd.FaceSupport(face=f"{d}0", fixed=d) for d in directions)


def through_study(name, tmp_path):
    study = read_study(ROOT / "meshes" / f"{name}.toml")
    run(study, tmp_path / "out", workers=1)
    results = Results.load(tmp_path / "out")
    assert results.complete
    variant = results.variants[0]
    assert variant.field_file is not None
    assert variant.edge is not None
    return variant.answers[0]


def test_elliptic_membrane():
    """LE1. Tolerance 0.1 %: what the project asks of itself against the exact value."""
    part = fd.MeshPart(
        file=str(ROOT / "meshes" / "elliptic_membrane.msh"), thickness_mm=100, supports=mirror("x", "y"),
        watch=("inner",), probes=(fd.Probe(name="D", x_mm=2000, y_mm=0),),
    )  # fmt: skip
    answer = fd.solve(part, fd.FacePressure(face="outer", pressure_MPa=-10), STEEL, error=0.002)
    stress = answer.probe("D").yy
    assert stress.value == pytest.approx(MEMBRANE, rel=1e-3)
    assert abs(stress.value - MEMBRANE) <= stress.band
    assert stress.value == pytest.approx(92.7, abs=0.06)  # published, rounded up from 92.658
    # D carries the largest stress of the inner edge
    assert answer.peak.value == pytest.approx(MEMBRANE, abs=answer.peak.band)
    assert (answer.at.x_mm, answer.at.y_mm) == pytest.approx((2000, 0), abs=10)
    assert answer.verdict == stress.verdict == "settled"


def test_elliptic_membrane_through_a_study(tmp_path):
    answer = through_study("elliptic_membrane", tmp_path)
    assert answer.probes[0].name == "D"
    assert answer.probes[0].yy.value == pytest.approx(MEMBRANE, rel=1e-3)
    with (tmp_path / "out" / "results.csv").open() as file:
        row = next(csv.DictReader(file))
    assert float(row["peak_MPa"]) == pytest.approx(MEMBRANE, rel=1e-3)
    assert row["kt_gross"] == ""
    assert row["verdict"] == "settled"


def test_thick_plate_through_a_study(tmp_path):
    """LE10 as a 3-D solid. Tolerance 1 %: what the project asks of itself against the published target.

    The line support yields by a logarithm of the mesh size there, so the target is no limit of finer meshes: curved
    elements of order 3 and 4 of an independent library gave -5.373 to -5.343 on meshes of 0.2 and 0.05 m at the
    line, this path -5.42 to -5.39 on coarser ones.
    """
    stress = through_study("thick_plate", tmp_path).probes[0].yy
    assert stress.value == pytest.approx(THICK_PLATE, rel=0.01)
    assert abs(stress.value - THICK_PLATE) <= stress.band


def test_thick_plate_in_python():
    """LE10 on the file's own cells by fd.solve; a wide band is asked, so that no division follows. Tolerance 2 %."""
    support = (fd.FaceSupport(face="outer", fixed=("x", "y")), fd.FaceSupport(face="outer mid-line", fixed="z"))
    part = fd.MeshPart(
        file=str(ROOT / "meshes" / "thick_plate.msh"), supports=(*mirror("x", "y"), *support), watch=("inner",),
        probes=(fd.Probe(name="D", x_mm=2000, y_mm=0, z_mm=300),),
    )  # fmt: skip
    answer = fd.solve(part, fd.FacePressure(face="top", pressure_MPa=1), STEEL, error=0.2)
    stress = answer.probe("D").yy
    assert stress.value == pytest.approx(THICK_PLATE, rel=0.02)
    assert answer.compression.value == pytest.approx(stress.value, rel=0.02)


# rows: power of r / t, columns: power of (2 z / t)^2
SHANK = np.array([
    [3.1825, 0.4096, -1.2831, 2.2778, -2.0712],
    [0.1679, -1.5125, 2.8632, -6.0148, 5.2088],
    [-0.2063, 1.1650, -2.0000, 4.5357, -3.8337],
    [0.0518, -0.2539, 0.4239, -0.9983, 0.8331],
])  # fmt: skip


def shank_kt(r_over_t, z_over_half):
    return float(r_over_t ** np.arange(4) @ SHANK @ (z_over_half**2) ** np.arange(5))


@pytest.mark.parametrize("r_over_t", [0.5, 1.0])
def test_hole_in_a_thick_plate_through_its_thickness(tmp_path, r_over_t):
    """NASA TP-3192: gross Kt along the hole, r / w = 1/5 (half the width w). Grade B: published, not recomputed.

    Tolerance 2.5 % of the value: at every r / t tried (0.5 to 2.5) the fit lies 1.4 to 2.2 % below our settled values,
    and in thin plates it falls below the exact plane value (3.15) by as much. 1 % of the course through the
    thickness, where this common share drops out. nu = 0.3 as there.
    """
    assert shank_kt(1.0, 0.0) == pytest.approx(3.196, abs=1e-3)
    assert shank_kt(1.0, 1.0) == pytest.approx(2.946, abs=1e-3)
    radius, half = 10.0, 0.5 * 10.0 / r_over_t
    file = _solid_plate(tmp_path / "plate.msh", radius, 50.0, 150.0, half)
    places = (0.0, 0.5, 1.0)
    part = fd.MeshPart(
        file=file, supports=mirror("x", "y", "z"), watch=("hole",),
        probes=tuple(fd.Probe(name=f"{z}", x_mm=0, y_mm=radius, z_mm=z * half) for z in places),
    )  # fmt: skip
    answer = fd.solve(part, fd.FacePressure(face="end", pressure_MPa=-1), STEEL, error=0.02)
    assert answer.verdict == "settled"
    ours = {z: answer.probe(f"{z}").xx.value for z in places}
    for z in places:
        assert ours[z] == pytest.approx(shank_kt(r_over_t, z), rel=0.025)
        assert ours[z] / ours[0.0] == pytest.approx(shank_kt(r_over_t, z) / shank_kt(r_over_t, 0.0), rel=0.01)
    # above the plane value in the middle, below it at the surface
    plane = fd.Plate(length_mm=300, width_mm=100, thickness_mm=1, cutout=fd.Circle(diameter_mm=20))
    kt = fd.solve(plane, fd.Tension(stress_MPa=1), STEEL).kt_gross.value
    assert 0.85 * kt < ours[1.0] < kt < ours[0.0] < 1.05 * kt


def _solid_plate(path, radius, width, length, half):
    """An eighth of the plate: hexahedra in fans about the hole, layers thinner towards the surface."""
    geo, c = gmsh.model.geo, radius / 2**0.5
    with mesher():
        for option, value in {"Mesh.ElementOrder": 2, "Mesh.Binary": 1}.items():
            gmsh.option.setNumber(option, value)
        places = (
            (0, 0),
            (radius, 0),
            (c, c),
            (0, radius),
            (width, 0),
            (width, width),
            (0, width),
            (length, 0),
            (length, width),
        )
        p = [geo.addPoint(x, y, 0) for x, y in places]
        arcs = [geo.addCircleArc(p[1], p[0], p[2]), geo.addCircleArc(p[2], p[0], p[3])]
        rays = [geo.addLine(p[1], p[4]), geo.addLine(p[2], p[5]), geo.addLine(p[3], p[6])]
        sides = [geo.addLine(p[4], p[5]), geo.addLine(p[5], p[6])]
        end = [geo.addLine(p[4], p[7]), geo.addLine(p[7], p[8]), geo.addLine(p[8], p[5])]
        loops = [[rays[0], sides[0], -rays[1], -arcs[0]], [rays[1], sides[1], -rays[2], -arcs[1]], [*end, -sides[0]]]
        for curve in (*arcs, *sides, end[1]):
            geo.mesh.setTransfiniteCurve(curve, 5)
        for curve in rays:
            geo.mesh.setTransfiniteCurve(curve, 6, "Progression", 1.7)
        for curve in (end[0], end[2]):
            geo.mesh.setTransfiniteCurve(curve, 4)
        surfaces = [geo.addPlaneSurface([geo.addCurveLoop(loop)]) for loop in loops]
        for surface in surfaces:
            geo.mesh.setTransfiniteSurface(surface)
            geo.mesh.setRecombine(2, surface)
        geo.extrude(
            [(2, s) for s in surfaces], 0, 0, half, numElements=[1, 1, 1], heights=[0.5, 0.85, 1.0], recombine=True
        )
        geo.synchronize()
        rules = {
            "x0": lambda box: box[3] < 1e-3,
            "y0": lambda box: box[4] < 1e-3,
            "z0": lambda box: box[5] < 1e-3,
            "end": lambda box: box[0] > length - 1e-3,
            "hole": lambda box: (
                np.hypot(box[3], box[4]) < 1.5 * radius
                and box[5] - box[2] > 1e-3
                and box[0] < box[3] - 1e-3
                and box[1] < box[4] - 1e-3
            ),
        }
        for name, rule in rules.items():
            gmsh.model.addPhysicalGroup(
                2, [t for _, t in gmsh.model.getEntities(2) if rule(gmsh.model.getBoundingBox(2, t))], name=name
            )
        gmsh.model.addPhysicalGroup(3, [t for _, t in gmsh.model.getEntities(3)], name="plate")
        gmsh.model.mesh.generate(3)
        gmsh.write(str(path))
    return str(path)
