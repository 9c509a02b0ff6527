"""Patches of cells: drawn parts and meshes from files, iteratively and directly."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import femdrum as fd
from femdrum.errors import OverBudget
from femdrum.fem import cell_patches, file_ladder, linear
from femdrum.fem.cell import Fineness
from femdrum.fem.file_part import read_part
from femdrum.fem.file_system import mesh_displacements
from femdrum.fem.ring_level import ring_field
from femdrum.fem.unit_cases.faces import face_load, pressure_name

MESHES = Path(__file__).parents[2] / "meshes"
STEEL = fd.steel("S355")
CLOSE = 1e-8


def plate() -> fd.MeshPart:
    """The stored thick plate, on its mirror planes and clamped outside."""
    held = [("x0", ("x",)), ("y0", ("y",)), ("outer", ("x", "y")), ("outer mid-line", ("z",))]
    supports = tuple(fd.FaceSupport(face=face, fixed=fixed) for face, fixed in held)
    return fd.MeshPart(file=str(MESHES / "thick_plate.msh"), supports=supports, watch=("inner",))


def both(solve: Callable[[], Any], monkeypatch: pytest.MonkeyPatch, patch: int) -> int:
    """Solve directly, then with patches of some unknowns; the iterations."""
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 10**9)
    direct = solve()
    monkeypatch.setattr(linear, "ITERATIVE_FROM", 0)
    monkeypatch.setattr(cell_patches, "PATCH_UNKNOWNS", patch)
    found = solve()
    assert direct.solver in ("rslab LDL^T", "Cholesky by parts (LAPACK)")
    named = re.fullmatch(r"conjugate gradients, two levels, (\d+) iterations; coarse: rslab LDL\^T", found.solver)
    assert named, found.solver
    assert np.abs(direct.u - found.u).max() <= CLOSE * np.abs(direct.u).max()
    return int(named[1])


@pytest.mark.parametrize("rows", ["aligned", "alternate"])
@pytest.mark.parametrize(("order", "wall_order"), [(3, 3), (4, 3)])
def test_a_drawn_ring(rows: str, order: int, wall_order: int, monkeypatch: pytest.MonkeyPatch) -> None:
    slot = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=8)
    ring = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=2, rows=rows, cutout=slot)
    fine = Fineness(order=order, wall_order=wall_order, cells_per_arc=2, growth=2.5, first_layer=0.75, wall_cells=2)
    count = both(lambda: ring_field(ring, STEEL, ["rotation", "axial"], fine), monkeypatch, 1500)
    assert 10 <= count <= 120  # more than one patch, and stretched cells


@pytest.mark.slow
def test_a_mesh_from_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    part = plate()
    mesh = read_part(part).divide()
    force = np.stack([face_load(mesh, pressure_name(face)).force for face in ("top", "inner")], -1)
    assert 3 <= both(lambda: mesh_displacements(mesh, part, STEEL, force, 2), monkeypatch, 1500) <= 60


def test_a_mesh_that_does_not_fit_leaves_the_coarser_one(monkeypatch: pytest.MonkeyPatch) -> None:
    part, calls = plate(), []

    def require(unknowns: int, need_bytes: float, what: str) -> None:
        calls.append(unknowns)
        if len(calls) > most:
            raise OverBudget(f"{what} of {unknowns} unknowns is too much")

    monkeypatch.setattr(file_ladder, "require", require)
    load = fd.FacePressure(face="top", pressure_MPa=1.0, name="p")
    most = 2
    answer = fd.solve(part, load, STEEL, error=1e-4)
    assert "too much" in answer.message
    assert answer.verdict.value == "not settled"
    most, calls = 1, []
    with pytest.raises(OverBudget, match="too much"):
        fd.solve(part, load, STEEL, error=1e-4)
