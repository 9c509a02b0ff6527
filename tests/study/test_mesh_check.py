"""A mesh file is opened when the study is read, so that its faults come before anything is solved or written."""

from pathlib import Path

import pytest

from femdrum.errors import InputFault
from femdrum.study import read_study

MESHES = Path(__file__).parents[2] / "meshes"
TEXT = (
    (MESHES / "elliptic_membrane.toml")
    .read_text()
    .replace("elliptic_membrane.msh", str(MESHES / "elliptic_membrane.msh"))
)


def faults(tmp_path, text):
    file = tmp_path / "study.toml"
    file.write_text(text)
    with pytest.raises(InputFault) as caught:
        read_study(file)
    return [str(f) for f in caught.value.faults]


def line_of(text, part):
    return next(i for i, line in enumerate(text.splitlines(), 1) if part in line)


@pytest.mark.parametrize("name", ["elliptic_membrane", "thick_plate"])
def test_the_studies_beside_the_meshes_are_sound(name):
    assert len(read_study(MESHES / f"{name}.toml").variants) == 1


def test_names_that_are_not_in_the_mesh(tmp_path):
    text = (
        TEXT.replace('face = "outer"', 'face = "outr"')
        .replace('["inner"]', '["iner"]')
        .replace('face = "y0"', 'face = "yy0"')
    )
    known = "is no face of the mesh, which has inner, outer, x0, y0; did you mean"
    assert faults(tmp_path, text) == [
        f"line {line_of(text, 'watch')}: part.watch = 'iner': {known} 'inner'?",
        f"line {line_of(text, 'yy0')}: support[2].face = 'yy0': {known} 'y0'?",
        f"line {line_of(text, 'outr')}: load[1].face = 'outr': {known} 'outer'?",
    ]


def test_a_place_outside_a_motion_left_free_and_a_file_that_is_no_mesh(tmp_path):
    (text,) = faults(tmp_path, TEXT.replace("x_mm = 2000", "x_mm = 20"))
    assert "probe[1] = 'D': (20, 0) mm lies outside the mesh" in text
    assert text.startswith("line ")
    (text,) = faults(tmp_path, TEXT.replace('fixed = ["y"]', 'fixed = ["x"]'))
    assert "support: a rigid motion is left free: the body can still move along y" in text
    (tmp_path / "no.msh").write_text("no mesh")
    text = TEXT.replace(str(MESHES / "elliptic_membrane.msh"), "no.msh")
    (told,) = faults(tmp_path, text)
    assert told.startswith(f"line {line_of(text, 'no.msh')}: part.file")
    assert "is not a mesh that can be read" in told


def test_a_wrong_name_on_an_axis_is_told_with_its_share(tmp_path):
    text = TEXT.replace('face = "outer"', 'face = ["outer", "inner", "oter"]')
    (told,) = faults(tmp_path, text)
    assert "'oter': is no face" in told
    assert "1 of 3 variants" in told
