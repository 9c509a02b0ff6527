"""The body that the page turns: its skin against closed forms, and nothing in it but what was solved."""

import base64
import gzip
import json

import numpy as np
import pytest

from femdrum import report
from femdrum.report import page_solid
from femdrum.report.page_skin import skin_of
from femdrum.report.page_solid import plotting_script, turned
from femdrum.report.vtu import Field, read_field


def block(n=(3, 2, 4), size=(3.0, 2.0, 4.0), stress=(1.0, 0.0, 0.0, 0.0, 0.0, 0.0)):
    """A block of hexahedra at the origin, under one uniform stress."""
    axes = [np.linspace(0, s, k + 1) for s, k in zip(size, n, strict=True)]
    x, y, z = np.meshgrid(*axes, indexing="ij")
    nodes = np.stack([x.ravel(), y.ravel(), z.ravel()], -1)
    at = np.arange(len(nodes)).reshape([k + 1 for k in n])
    corners = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1)]
    cells = np.stack([at[i : n[0] + i, j : n[1] + j, k : n[2] + k].ravel() for i, j, k in corners], -1)
    return Field(nodes, cells, {"stress_MPa:pull": np.tile(np.array(stress), (len(nodes), 1))})


def area(skin):
    a, b, c = (skin.points[skin.triangles[:, k]] for k in range(3))
    return 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()


def test_the_skin_of_a_block_has_its_area_and_its_twelve_edges():
    # turned so that the whole block lies in front
    skin = skin_of(block(), "pull", cell=False, turn=np.eye(4))
    assert area(skin) == pytest.approx(2 * (3 * 2 + 2 * 4 + 3 * 4), rel=1e-12)
    lengths = np.linalg.norm(np.diff(skin.points[skin.rims], axis=1)[:, 0], axis=1)
    assert lengths.sum() == pytest.approx(4 * (3 + 2 + 4), rel=1e-12)


def test_a_quarter_cell_has_no_skin_in_its_mirrors():
    skin = skin_of(block(), "pull", cell=True)
    assert area(skin) == pytest.approx(2 * 8 + 6 + 12, rel=1e-12)  # both x faces, one z face, one y face
    assert not (np.abs(skin.points[skin.triangles][:, :, 1]) < 1e-9).all(axis=1).any()


def test_only_what_is_near_and_in_front_is_kept():
    turn = np.eye(4)
    turn[0, 0] = -1.0  # everything lies behind
    assert len(skin_of(block(), "pull", cell=False, turn=turn).triangles) == 0
    near = skin_of(block(), "pull", cell=False, turn=np.eye(4), most_turn_rad=np.radians(30))
    middles = near.points[near.triangles].mean(axis=1)
    assert 0 < len(near.triangles) < len(skin_of(block(), "pull", cell=False, turn=np.eye(4)).triangles)
    assert np.arctan2(middles[:, 1], middles[:, 0]).max() < np.radians(
        45
    )  # cells of half that width reach a little further


@pytest.mark.parametrize(
    ("stress", "value"),
    [((5, 1, 0, 0, 0, 0), 5.0), ((1, -7, 0, 0, 0, 0), -7.0), ((0, 0, 0, 3, 0, 0), 3.0), ((2, 2, 2, 0, 0, 0), 2.0)],
)
def test_the_value_is_the_principal_stress_of_largest_magnitude(stress, value):
    skin = skin_of(block(stress=stress), "pull", cell=True)
    np.testing.assert_allclose(skin.values, value, atol=1e-12)


def test_where_the_sign_changes_no_triangle_mixes_both():
    field = block()
    x = field.nodes[:, 0]
    field.data["stress_MPa:pull"][:] = np.stack([10 - 8 * x, *np.zeros((5, len(x)))], -1) * [1, 0, 0, 0, 0, 0]
    field.data["stress_MPa:pull"][:, 1] = -6.0
    skin = skin_of(field, "pull", cell=True)
    corners = skin.values[skin.triangles]
    assert ((corners >= 0).all(axis=1) | (corners <= 0).all(axis=1)).all()
    assert (corners > 0).any()
    assert (corners < 0).any()


def test_the_body_in_the_page_is_the_stored_field(ring):
    case = ring.variants[0].answers[0].case
    told = turned(ring, ring.variants[0], case)
    data = json.loads(told.data)
    values = np.frombuffer(base64.b64decode(data["values"]), "<f4")
    points = np.frombuffer(base64.b64decode(data["points"]), "<f4").reshape(-1, 3)
    field = read_field(ring.variants[0].field_file)
    whole = field.data[f"principal_MPa:{case}"]
    assert values.max() <= whole.max() * (1 + 1e-5)
    assert values.max() == pytest.approx(whole.max(), rel=0.02)  # the peak lies on the skin
    radius = np.hypot(points[:, 0], points[:, 1])
    assert radius.max() == pytest.approx(380, rel=2e-3)
    assert len(data["copies"]) == 4
    assert data["least"] < 0 < data["most"] or data["least"] == 0
    answer = ring.variants[0].answer(case)
    assert any(f"{int(float(answer.tension))}" in m["text"] for m in data["marks"])


def test_the_script_is_the_library_s_own_and_packs_small():
    packed, version = plotting_script()
    script = gzip.decompress(base64.b64decode(packed))
    assert script[:200].count(version.encode()) == 1
    assert b"Licensed under the MIT license" in script[:300]
    assert len(packed) < 2_500_000


def test_plates_have_no_body(plate):
    assert turned(plate, plate.variants[0], "pull") is None
    assert turned(plate, None, "") is None


def test_without_the_library_a_sentence_says_so(ring, monkeypatch):
    monkeypatch.setattr(page_solid, "plotting_script", lambda: ("", ""))
    told = turned(ring, ring.variants[0], "running")
    assert "pip install" in told.sentence
    text = report.write(ring.folder).read_text(encoding="utf-8")
    assert "The plotting library is not installed" in text
    assert 'id="turn"' not in text
