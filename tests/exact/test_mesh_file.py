"""Meshes from files: the patch test on every kind of cell, the order of convergence, agreement with our own elements."""

import itertools
import math
import subprocess
import sys
from pathlib import Path

import mesh_models as models
import meshio
import numpy as np
import pytest

import femdrum as fd
from femdrum.fem.cell_kinds import cell_kind
from femdrum.fem.file_level import file_level, watch
from femdrum.fem.file_part import read_part
from femdrum.fem.file_system import mesh_displacements
from femdrum.fem.unit_cases.faces import face_load, pressure_name, traction_name

E, NU = 200_000.0, 0.3
MESHES = Path(__file__).parents[2] / "meshes"
STEEL = fd.Material(youngs_modulus_MPa=E, poissons_ratio=NU)


def held(dim):
    return tuple(fd.FaceSupport(face=f"{d}0", fixed=d) for d in "xyz"[:dim])


def part_of(file, dim, **more):
    return fd.MeshPart(file=file, supports=held(dim), thickness_mm=None if dim == 3 else 2.0, **more)


@pytest.mark.parametrize("kind", [*models.KINDS, "line3"])
def test_tables_of_a_kind_of_cell(kind):
    k = cell_kind(kind)
    at = np.random.default_rng(0).uniform(0, 0.3, (5, k.dim))
    values, slopes = k.shapes(at)
    assert np.allclose(values.sum(1), 1)
    assert np.allclose(values @ k.points, at)
    assert np.allclose(np.einsum("qnd,ne->qde", slopes, k.points), np.eye(k.dim))
    assert (k.quadrature()[1] > 0).all()  # their roots are taken
    for node, corners in enumerate(k.between):
        assert np.allclose(k.points[list(corners)].mean(0), k.points[node])
    assert np.allclose(np.linalg.det(k.axes), 0.5**k.dim)  # children fill the cell and keep its sense
    child, local = k.descend(at, 2)
    first, second = np.divmod(child, len(k.children))
    inner = k.origin[second] + np.einsum("pij,pj->pi", k.axes[second], local)
    assert np.allclose(k.origin[first] + np.einsum("pij,pj->pi", k.axes[first], inner), at)
    points, share = k.lattice(2)
    assert share.sum() == pytest.approx(1)
    assert len(points) == {"line3": 5, "tri6": 15, "quad9": 25, "tet10": 35, "hex27": 125}[kind]


@pytest.mark.parametrize(
    ("kind", "order", "incomplete"),
    [
        *((k, 2, False) for k in models.KINDS),
        ("quad9", 2, True),
        ("hex27", 2, True),
        *((k, 1, False) for k in models.KINDS),
    ],
)
def test_patch_a_linear_field_is_exact_on_distorted_cells(tmp_path, kind, order, incomplete):
    file = models.block(tmp_path / "block.msh", kind, distort=0.12, order=order, incomplete=incomplete)
    dim = 3 if kind in ("tet10", "hex27") else 2
    part = part_of(file, dim)
    mesh = read_part(part)
    assert [b.kind.name for b in mesh.blocks] == [kind]
    for _ in range(2):  # the file's own cells, and those of one division
        force = face_load(mesh, traction_name("x1", "x")).force[..., None]
        solved = mesh_displacements(mesh, part, STEEL, force, 2)
        expected = mesh.nodes * np.array([1.0, -NU, -NU][:dim]) / E
        assert np.abs(solved.u[..., 0] - expected).max() < 1e-10 / E
        level = file_level(part, mesh, STEEL, [traction_name("x1", "x")], 2, watch(part, read_part(part)), ())
        stress = level.nodal_stress(solved.u[..., 0], STEEL)
        assert np.abs(stress - np.diag([1.0, 0, 0])).max() < 1e-10
        assert level.edge.combine([[1.0]]).peaks().tension.value == pytest.approx(1.0, abs=1e-10)
        mesh = mesh.divide()


@pytest.mark.parametrize("kind", ["quad9", "hex27"])
def test_pressure_on_all_sides_gives_its_own_stress(tmp_path, kind):
    file = models.block(tmp_path / "block.msh", kind, distort=0.1)
    dim = 3 if kind == "hex27" else 2
    part = part_of(
        file, dim, watch=("x1",), probes=(fd.Probe(name="inside", x_mm=0.4, y_mm=0.6, z_mm=0.3 * (dim == 3)),)
    )
    loads = [fd.FacePressure(face=f"{d}1", pressure_MPa=5, name=d) for d in "xyz"[:dim]]
    answers = fd.solve_all(part, loads, STEEL, fd.Accuracy()).answers
    total = {c: sum(getattr(a.probe("inside"), c).value for a in answers) for c in ("xx", "yy", "zz", "xy", "yz", "xz")}
    expected = {"xx": -5, "yy": -5, "zz": -5 if dim == 3 else 0, "xy": 0, "yz": 0, "xz": 0}
    assert total == pytest.approx(expected, abs=1e-9)
    # the pressed face itself: pressure is its third principal stress
    assert answers[0].peak.value == pytest.approx(-5, abs=1e-9)
    assert answers[0].kt_gross.value is None


def test_division_keeps_curves_numbers_and_names(tmp_path):
    file = models.ring_quarter(tmp_path / "ring.msh", cells=2)
    mesh = read_part(fd.MeshPart(file=file, supports=held(2), thickness_mm=1))
    fine = mesh.divide().divide()
    assert np.array_equal(fine.nodes[: len(mesh.nodes)], mesh.nodes)
    radius = np.linalg.norm(fine.nodes[fine.nodes_of("inner")], axis=1)
    assert len(radius) == 4 * 4 * 2 + 1  # a chord would leave the arc by 1.9 %
    assert np.abs(radius / 50 - 1).max() < 5e-4
    assert np.unique(np.round(fine.nodes, 9), axis=0).shape == fine.nodes.shape
    own, sons = _outline(mesh), _outline(fine)
    assert own == pytest.approx(sons, rel=1e-9)


def _outline(mesh):
    at, weights = mesh.skin.kind.quadrature()
    slopes = mesh.skin.jacobians(mesh.nodes, at)[..., 0]
    normals = np.stack([slopes[..., 1], -slopes[..., 0]], -1)
    place = mesh.skin.places(mesh.nodes, at)
    return 0.5 * float(np.einsum("q,fqd,fqd->", weights, place, normals))  # area by the divergence theorem


def test_observed_order_of_convergence(tmp_path):
    """Annulus under inner pressure against Lamé (closed form), meshes of half the size each."""
    a, b, p = 50.0, 100.0, 10.0
    exact = p * (a**2 + b**2) / (b**2 - a**2)
    for kind, least, least_rms in (("quad9", 3.0, 3.0), ("tri6", 1.6, 2.3)):  # tri6: 2 at the ends, 3 between
        worst, rms = [], []
        for cells in (2, 4, 8, 16):
            file = models.ring_quarter(tmp_path / f"{kind}{cells}.msh", kind=kind, cells=cells)
            part = fd.MeshPart(file=file, supports=held(2), thickness_mm=1, watch=("inner",))
            mesh = read_part(part)
            level = file_level(part, mesh, STEEL, [pressure_name("inner")], 2, watch(part, mesh), ())
            error = p * level.edge.stress[0, 0, 0, :, 0] / exact - 1
            worst.append(np.abs(error).max())
            rms.append(np.sqrt(np.mean(error**2)))
        for errors, order in ((worst, least), (rms, least_rms)):
            assert min(math.log2(x / y) for x, y in itertools.pairwise(errors)) > order, (kind, errors)
        assert worst[-1] < 1e-3


@pytest.mark.parametrize("kind", ["quad9", "tri6"])
def test_own_elements_and_this_path_agree_on_a_plate_with_a_hole(tmp_path, kind):
    file = models.plane_plate(tmp_path / "plate.msh", kind=kind, around=8, across=10, growth=1.25)
    part = fd.MeshPart(file=file, supports=held(2), thickness_mm=10, watch=("hole",))
    ours = fd.solve(part, fd.FacePressure(face="end", pressure_MPa=-100), STEEL, error=0.003)
    plate = fd.Plate(length_mm=200, width_mm=100, thickness_mm=10, cutout=fd.Circle(diameter_mm=20))
    other = fd.solve(plate, fd.Tension(stress_MPa=100), STEEL, error=0.001)
    assert ours.verdict == "settled"
    assert ours.peak.value == pytest.approx(other.peak.value, abs=ours.peak.band + other.peak.band)
    assert ours.peak.value == pytest.approx(other.peak.value, rel=1e-3)
    assert (ours.at.x_mm, ours.at.y_mm) == pytest.approx((0, 10), abs=1e-6)


def test_a_solid_and_a_plane_mesh_of_one_plate(tmp_path):
    """nu near zero: the solid's stress does not vary through the wall."""
    cork = fd.Material(youngs_modulus_MPa=100.0, poissons_ratio=1e-6)
    load = fd.FaceTraction(face="x1", x_MPa=3.0, y_MPa=1.0)
    values = []
    for kind in ("quad9", "hex27", "tet10"):
        dim = 2 if kind == "quad9" else 3
        file = models.block(tmp_path / f"{kind}.msh", kind, cells=3, size=(2.0, 1.0, 0.5))
        supports = (
            fd.FaceSupport(face="x0", fixed=["x", "y"]),
            *([fd.FaceSupport(face="z0", fixed="z")] if dim == 3 else []),
        )
        probe = fd.Probe(name="p", x_mm=1.0, y_mm=1.0, z_mm=0.25 * (dim == 3))
        part = fd.MeshPart(
            file=file, supports=supports, probes=(probe,), watch=("y1",), thickness_mm=0.5 if dim == 2 else None
        )
        values.append(fd.solve(part, load, cork, error=0.1).probe("p").xx.value)
    assert values[1:] == pytest.approx([values[0]] * 2, rel=0.02)


def test_metres_become_millimetres(tmp_path):
    file = models.block(tmp_path / "m.msh", "quad9", size=(0.2, 0.1, 0))
    part = part_of(file, 2, scale_to_mm=1000, probes=(fd.Probe(name="p", x_mm=150, y_mm=20),))
    answer = fd.solve(part, fd.FaceTraction(face="x1", x_MPa=7), STEEL)
    assert answer.probe("p").xx.value == pytest.approx(7)
    assert answer.edge.area_mm2.sum() == pytest.approx(2 * (200 + 100) * 2.0)


@pytest.mark.parametrize("ending", ["vtu", "vtk"])
@pytest.mark.parametrize("kind", ["tri6", "quad9", "tet10", "hex27"])
def test_other_formats_hold_the_same_mesh(tmp_path, kind, ending):
    """Written from the file's own arrays with face tags as cell data; the answer is the same as from .msh."""
    dim = 3 if kind in ("tet10", "hex27") else 2
    file = models.block(tmp_path / "block.msh", kind, cells=2, distort=0.1)
    source = meshio.gmsh.read(file)
    tags = {tag: name for name, (tag, d) in source.field_data.items() if d == dim - 1}
    cells = [(b.type, b.data) for b in source.cells if b.type != "vertex"]
    data = [d for b, d in zip(source.cells, source.cell_data["gmsh:physical"], strict=True) if b.type != "vertex"]
    other = tmp_path / f"block.{ending}"
    meshio.write(
        other, meshio.Mesh(source.points, cells, cell_data={"tag": [np.asarray(d, dtype=np.int64) for d in data]})
    )
    name = {n: f"tag:{t}" for t, n in tags.items()}
    supports = tuple(fd.FaceSupport(face=name[f"{d}0"], fixed=d) for d in "xyz"[:dim])
    thick = None if dim == 3 else 2.0
    probe = fd.Probe(name="p", x_mm=0.5, y_mm=0.3, z_mm=0.7 * (dim == 3))
    load, steps = fd.FaceTraction(face=name["x1"], y_MPa=1.0), fd.Accuracy(error=0.2)
    clamped = (fd.FaceSupport(face=supports[0].face, fixed="xyz"[:dim]),)
    theirs = fd.solve_all(
        fd.MeshPart(file=str(other), supports=clamped, probes=(probe,), thickness_mm=thick), [load], STEEL, steps
    )
    load, clamped = fd.FaceTraction(face="x1", y_MPa=1.0), (fd.FaceSupport(face="x0", fixed="xyz"[:dim]),)
    ours = fd.solve_all(
        fd.MeshPart(file=file, supports=clamped, probes=(probe,), thickness_mm=thick), [load], STEEL, steps
    )
    assert theirs.answers[0].probe("p").xx.value == pytest.approx(ours.answers[0].probe("p").xx.value, rel=1e-9)
    assert theirs.answers[0].peak.value == pytest.approx(ours.answers[0].peak.value, rel=1e-9)


def test_the_field_is_written_on_plain_cells(tmp_path):
    file = models.block(tmp_path / "block.msh", "hex27", distort=0.1)
    part = part_of(file, 3)
    solution = fd.solve_all(part, [fd.FaceTraction(face="x1", x_MPa=2)], STEEL, fd.Accuracy())
    solution.write_field(tmp_path / "field.vtu")
    field = meshio.vtu.read(str(tmp_path / "field.vtu"))
    assert np.allclose(field.point_data["stress_MPa:face_traction"], [2, 0, 0, 0, 0, 0], atol=1e-9)
    corners = field.points[field.cells_dict["hexahedron"]]
    edges = corners[:, [1, 3, 4]] - corners[:, :1]
    assert np.linalg.det(edges).min() > 0  # VTK's corner order


@pytest.mark.parametrize("name", ["elliptic_membrane", "thick_plate", "plate_with_hole"])
def test_the_meshes_of_the_repository_are_what_their_script_makes(tmp_path, name):
    script = f"import make_meshes as m, pathlib; m.make(m.{name}, pathlib.Path({str(tmp_path)!r}))"
    subprocess.run([sys.executable, "-c", script], cwd=MESHES, check=True)
    files = MESHES / f"{name}.msh", tmp_path / f"{name}.msh"
    assert files[0].stat().st_size < 300_000
    held = (fd.FaceSupport(face="x0", fixed="x"), fd.FaceSupport(face="y0", fixed="y"))
    thick = 100.0 if name == "elliptic_membrane" else None
    kept, made = (read_part(fd.MeshPart(file=str(f), supports=held, thickness_mm=thick)) for f in files)
    assert kept.names == made.names
    assert kept.nodes.shape == made.nodes.shape
    assert np.allclose(kept.nodes, made.nodes, atol=1e-6)


def test_tetrahedra_of_a_plate_with_a_hole():
    """A plate 10 thick with a hole of 20 in 100 x 200: above the plane value in the middle of the wall, below it outside."""
    held = tuple(fd.FaceSupport(face=f"{d}0", fixed=d) for d in "xyz")
    probes = (fd.Probe(name="middle", x_mm=0, y_mm=10), fd.Probe(name="surface", x_mm=0, y_mm=10, z_mm=5))
    part = fd.MeshPart(file=str(MESHES / "plate_with_hole.msh"), supports=held, watch=("hole",), probes=probes)
    answer = fd.solve(part, fd.FacePressure(face="end", pressure_MPa=-100), STEEL, error=0.01)
    # computed: hexahedra of tests/published/test_benchmark_problems.py, two meshes, length 300: 3.2414 and 2.997
    assert answer.probe("middle").xx.value == pytest.approx(324.1, rel=0.01)
    assert answer.probe("surface").xx.value == pytest.approx(299.7, rel=0.015)
    assert answer.peak.value == pytest.approx(answer.probe("middle").xx.value, rel=0.005)
    assert answer.verdict == "settled"
