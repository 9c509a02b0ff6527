"""Fields as VTU files, against the library that reads them: read back to the last bit, and, packed as tightly, written the same byte for byte."""

import meshio
import numpy as np
import pytest

from femdrum.fem import vtu_file
from femdrum.fem.vtu_file import write_cells

KINDS = {"triangle": 3, "quad": 4, "tetra": 4, "hexahedron": 8, "wedge": 6, "pyramid": 5}


def a_field(kinds, points=5000, cells=700):
    """Random numbers: more than one block of every array, and a last one that is not full."""
    random = np.random.default_rng(7)
    data = {"displacement_mm:a": random.normal(size=(points, 3)), "stress_MPa:a": random.normal(size=(points, 6)),
            "von_mises_MPa:läuft": random.normal(size=points)}  # fmt: skip
    blocks = [(kind, random.integers(0, points, (cells + n, KINDS[kind]))) for n, kind in enumerate(kinds)]
    return random.normal(size=(points, 3)), blocks, data


@pytest.mark.parametrize("kinds", [["hexahedron"], ["quad"], ["tetra", "pyramid", "wedge"], ["triangle", "quad"]])
def test_the_file_is_that_of_the_library_but_for_who_made_it(tmp_path, kinds, monkeypatch):
    monkeypatch.setattr(vtu_file, "_LEVEL", -1)  # theirs
    points, blocks, data = a_field(kinds)
    write_cells(tmp_path / "own.vtu", points, blocks, data)
    meshio.Mesh(points, blocks, point_data=dict(data)).write(tmp_path / "theirs.vtu", file_format="vtu", binary=True)
    theirs = (tmp_path / "theirs.vtu").read_text(encoding="utf-8").splitlines()
    assert (tmp_path / "own.vtu").read_text(encoding="utf-8").splitlines() == [
        line for line in theirs if not line.startswith("<!--")
    ]


def test_arrays_that_do_not_lie_in_one_piece_come_back_the_same(tmp_path):
    points, blocks, data = a_field(["hexahedron"])
    spread = {name: np.asfortranarray(np.repeat(values, 2, 0))[::2] for name, values in data.items()}
    write_cells(tmp_path / "f.vtu", np.asfortranarray(points), blocks, spread)
    back = meshio.read(tmp_path / "f.vtu")
    assert (back.points == points).all()
    assert (back.cells[0].data == blocks[0][1]).all()
    assert back.point_data.keys() == data.keys()
    assert all((back.point_data[name] == data[name]).all() for name in data)


def test_any_name_of_a_load_can_be_read_back(tmp_path):
    points, blocks, _ = a_field(["quad"])
    name = 'von_mises_MPa:wedge < 3 & "hot"'
    write_cells(tmp_path / "f.vtu", points, blocks, {name: points[:, 0]})
    assert (meshio.read(tmp_path / "f.vtu").point_data[name] == points[:, 0]).all()


def test_what_cannot_be_written_is_refused(tmp_path):
    points, blocks, data = a_field(["quad"])
    with pytest.raises(ValueError, match="holds 5000 values for 4999 points"):
        write_cells(tmp_path / "f.vtu", points[:-1], blocks, data)
    with pytest.raises(KeyError):
        write_cells(tmp_path / "f.vtu", points, [("hexahedron20", np.zeros((1, 20), int))], {})
