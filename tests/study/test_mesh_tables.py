"""Parts that need tables besides [part], shown with a stand-in for such a part."""

from dataclasses import dataclass
from typing import ClassVar

import pytest

from femdrum.errors import InputFault
from femdrum.model.check import Checks
from femdrum.study import parts, read_study
from femdrum.study.tables import PART, Form

TEXT = """\
title = "A block"
[part]
kind = "mesh"
file = "block.msh"
watch = ["top", "side"]
[[support]]
face = "left"
fixed = ["x", "y"]
[[support]]
face = "low"
fixed = ["z"]
[material]
youngs_modulus_MPa = 2e5
poissons_ratio = 0.3
[[load]]
kind = "face_pressure"
face = "top"
pressure_MPa = [1, 2]
"""


@dataclass(frozen=True, kw_only=True)
class Held:
    face: str
    fixed: tuple[str, ...]

    def __post_init__(self):
        checks = Checks()
        for direction in self.fixed:
            checks.one_of("fixed", direction, ("x", "y", "z"))
        checks.done()


@dataclass(frozen=True, kw_only=True)
class Block:
    kind: ClassVar[str] = "mesh"
    file: str
    supports: tuple[Held, ...]
    watch: tuple[str, ...] = ()


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setitem(PART.classes, "mesh", Block)
    monkeypatch.setitem(
        parts.EXTRAS, "mesh", (parts.Extra("support", "supports", Form("support", "", {"": Held}, lists=("fixed",))),)
    )
    (tmp_path / "block.msh").write_text("mesh")
    path = tmp_path / "block.toml"
    path.write_text(TEXT)
    return path


def test_lists_by_nature_are_no_axes_and_tables_become_fields(file):
    study = read_study(file)
    assert [a.key for a in study.axes] == ["load[1].pressure_MPa"]
    part = study.variants[0].part
    assert part.supports == (Held(face="left", fixed=("x", "y")), Held(face="low", fixed=("z",)))
    assert part.watch == ("top", "side")
    assert part.file == str(file.parent / "block.msh")


def test_the_key_follows_what_the_file_holds_not_where_it_lies(file, tmp_path):
    before = read_study(file).variants[0].key
    other = tmp_path / "elsewhere"
    other.mkdir()
    (other / "block.msh").write_text("mesh")
    (other / "block.toml").write_text(TEXT)
    assert read_study(other / "block.toml").variants[0].key == before
    (other / "block.msh").write_text("another mesh")
    assert read_study(other / "block.toml").variants[0].key != before


def test_faults_in_the_other_tables_have_their_lines(file):
    file.write_text(
        TEXT.replace('["z"]', '["w"]').replace("block.msh", "blck.msh").replace('face = "low"', 'fase = "low"')
    )
    with pytest.raises(InputFault) as caught:
        read_study(file)
    texts = [str(f) for f in caught.value.faults]
    assert any(t.startswith("line 4: part.file = 'blck.msh': there is no such file") for t in texts)
    assert any(
        t.startswith("line 10: support[2].fase = 'low': is no field") and "did you mean 'face'?" in t for t in texts
    )
    assert any(t.startswith("line 11: support[2].fixed = 'w'") for t in texts)


def test_a_table_that_this_kind_of_part_does_not_take(file):
    ring = TEXT.replace("file =", "outer_diameter_mm = 3 #").replace('"mesh"', '"ring"')
    file.write_text(ring)
    with pytest.raises(InputFault, match="support: is not known here"):
        read_study(file)
