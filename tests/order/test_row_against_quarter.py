"""Under a load that meets every slot alike the field of a whole row is that of the quarter cell."""

from __future__ import annotations

from pathlib import Path

import meshio
import numpy as np

import femdrum as fd
from femdrum.fem.cell import Fineness
from femdrum.fem.field import write_vtu
from femdrum.fem.ring_level import ring_level, whole_level
from femdrum.fem.row_field import write_row
from femdrum.fem.symmetry import plan_of

STEEL = fd.steel("S355")
SLOT = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=20)


def test_row_and_quarter_cell_write_one_field(tmp_path: Path) -> None:
    ring = fd.Ring(outer_diameter_mm=760, wall_mm=40, pitch_mm=180, slots_around=3, rows="aligned", cutout=SLOT)
    coarse, state = Fineness(order=3, cells_per_arc=3, wall_cells=3), {"spin": np.array([1e4])}
    write_vtu(tmp_path / "quarter.vtu", ring_level(ring, STEEL, ["rotation"], coarse), state, STEEL)
    write_row(tmp_path / "row.vtu", whole_level(plan_of(ring), STEEL, ["rotation"], coarse), state, STEEL)
    quarter, row = (meshio.read(tmp_path / f"{name}.vtu") for name in ("quarter", "row"))
    key = {tuple(k): i for i, k in enumerate(np.round(row.points, 3) + 0.0)}
    pairs = [(i, key[k]) for i, p in enumerate(np.round(quarter.points, 3) + 0.0) if (k := tuple(p)) in key]
    assert len(pairs) > len(row.points) / 14  # a twelfth of the row's nodes
    one, other = np.array(pairs).T
    u, v = (m.point_data["displacement_mm:spin"] for m in (quarter, row))
    assert np.abs(u[one] - v[other]).max() < 1e-6 * np.abs(u).max()
    # on the quarter cell's border the row's means are over both sides of it; inside they are the same
    x, y, z = quarter.points[one].T
    turn = np.arctan2(y, x)
    inside = (turn > 1e-6) & (turn < np.pi / 3 - 1e-6) & (z > 1e-6) & (z < 90 - 1e-6)
    assert inside.sum() > 100
    for name in ("stress_MPa:spin", "principal_MPa:spin", "von_mises_MPa:spin"):
        a, b = quarter.point_data[name][one], row.point_data[name][other]
        assert np.abs(a - b)[inside].max() < 1e-6 * np.abs(a).max(), name
        assert np.abs(a - b).max() < 0.05 * np.abs(a).max(), name
