"""Chapters of a study's report for rotor, retention and balance: whole, in words, with their figures, and honest about what is lost."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from femdrum.errors import InputFault, SolveFailure
from femdrum.report import write
from femdrum.report.figures import draw, list_figures, write_pictures
from femdrum.report.page_chapters import chapters
from femdrum.report.page_shown import shown_figures
from femdrum.report.whole_drum_chapter import rest_chapters, rest_pictures
from femdrum.study import Results, read_study, run
from femdrum.study.rest_stage import REST_FOLDER

STUDIES = Path(__file__).parents[2] / "studies"
NAMES = {
    "rotor": ("rotor-drum-in-space", "rotor-unrolled", "rotor-along", "rotor-campbell", "rotor-shell-modes"),
    "retention": ("retention-clamp-window", "retention-clamp-needed", "retention-seat-angle"),
    "balance": ("balance-unbalance",),
}


def unsolved(*args: object, **more: object) -> Any:
    raise SolveFailure("not today")


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Results:
    """The shipped study; its rings are not solved, the rest of the drum is reckoned all the same."""
    folder = tmp_path_factory.mktemp("drum") / "out"
    return run(read_study(STUDIES / "rest_of_drum.toml"), folder, workers=1, solver=unsolved)


@pytest.fixture(scope="module")
def made(results: Results) -> dict[str, str]:
    """Chapters by their anchor, with all figures but the one in space."""
    pictures = [p for p in rest_pictures(results) if p.name != "rotor-drum-in-space"]
    shown = shown_figures(pictures, write_pictures(results, pictures))
    return {chapter.anchor: str(chapter.html) for chapter in rest_chapters(results, shown)}


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>|data:[^\"']*", " ", html))


def test_one_chapter_for_each_file(results: Results, made: dict[str, str]) -> None:
    assert list(made) == ["rotor", "retention", "balance"]
    assert [c.title for c in chapters(results)][:3] == ["Rotor", "Retention", "Balance"]


def test_figures_stand_in_their_chapters(results: Results, made: dict[str, str]) -> None:
    assert [p.name for p in rest_pictures(results)] == [name for names in NAMES.values() for name in names]
    for part, names in NAMES.items():
        for name in names[part == "rotor" :]:
            assert [f'id="{name}"' in html for html in made.values()] == [part == other for other in made]
            assert (results.folder / "figures" / f"{name}.csv").is_file()
    assert set(list_figures(results)) >= {name for names in NAMES.values() for name in names}


def test_rotor_says_what_its_json_says(results: Results, made: dict[str, str]) -> None:
    told = words(made["rotor"])
    record = json.loads((results.folder / REST_FOLDER / "rotor" / "rotor.json").read_text(encoding="utf-8"))
    for sentence in record["answer"]:
        assert " ".join(sentence.split()) in told.replace("&#39;", "'")
    assert f"{record['masses']['mass_kg']:,.0f}" in told
    assert "The drum of this file is the variant corner radius 12 mm" in told
    assert "how hammers, wedges and bolts are held" not in told  # the next chapter
    assert "femdrum rotor drum_whole.toml" in told


def test_retention_and_balance_say_their_verdicts(made: dict[str, str]) -> None:
    assert "Held in every condition, the accident among them." in words(made["retention"])
    assert "Within the permissible: the plan leaves" in words(made["balance"])
    assert words(made["balance"]).count("by lip") == 7


@pytest.mark.parametrize("part", NAMES)
def test_each_is_whole(made: dict[str, str], part: str) -> None:
    html, told = made[part], words(made[part])
    for said in ("where its numbers come from", "not checked", "model"):
        assert f"{part.capitalize()}: {said}" in told
    assert "from memory, not confirmed" in told
    assert not re.search(r"\bNone\b|\bnan\b|\{\{|\{%", told)
    assert "<h2" not in html
    assert "<h1" not in html
    ids = re.findall(r'\bid="([^"]+)"', html)
    assert ids
    assert all(name.startswith(f"{part}-") for name in ids)
    assert len(ids) == len(set(ids))


def test_the_page_takes_them_in(results: Results) -> None:
    page = write(results.folder).read_text(encoding="utf-8")
    for part in NAMES:
        assert page.count(f'id="{part}"') == 1
        assert f'href="#{part}"' in page
    ids = [name for name in re.findall(r'\bid="([^"]+)"', page) if name.split("-")[0] in NAMES]
    assert len(ids) == len(set(ids)) > len(NAMES)
    assert page.index('id="rotor"') < page.index('id="open"')


def test_a_lost_part_says_why(results: Results, tmp_path: Path) -> None:
    shutil.copytree(results.folder, tmp_path / "out")
    mark = tmp_path / "out" / REST_FOLDER / "rest_of_drum.json"
    data = json.loads(mark.read_text(encoding="utf-8"))
    mark.write_text(
        json.dumps(data | {"failures": {"balance": "no optimum was found"}, "version": "0.0.1"}), encoding="utf-8"
    )
    spoiled = Results.load(tmp_path / "out")
    rotor, _, balance = rest_chapters(spoiled)
    assert "No answer: no optimum was found" in balance.html
    assert "written by femdrum 0.0.1" in balance.html
    assert "written by femdrum 0.0.1" in rotor.html
    assert "balance-unbalance" not in [p.name for p in rest_pictures(spoiled)]


@pytest.mark.parametrize("name", ["rotor-campbell", "retention-clamp-window", "balance-unbalance"])
def test_what_has_no_room_in_one_column_says_so(results: Results, tmp_path: Path, name: str) -> None:
    with pytest.raises(InputFault, match="needs at least 160 mm with letters of 8 pt; take preset two-column"):
        draw(results, name, tmp_path / "one.svg", preset="one-column")
    assert not list(tmp_path.iterdir())
    assert draw(results, name, tmp_path / "two.svg", preset="two-column")
    assert draw(results, name, tmp_path / "small.svg", size_mm=(85, None), font_pt=4)


def test_other_masses_are_told(results: Results, monkeypatch: pytest.MonkeyPatch) -> None:
    first = results.variants[0]
    monkeypatch.setitem(first.inputs["machine"], "rotor_mass_kg", 3000)
    monkeypatch.setitem(first.inputs["machine"], "inertia_kg_m2", 260)
    told = words(str(rest_chapters(results)[0].html))
    assert "machine.rotor_mass_kg = 3000 kg; the drum of this file has 2333 kg" in told
    assert "inertia_kg_m2" not in told


def test_studies_without_have_no_chapters(tmp_path: Path) -> None:
    text = (STUDIES / "rest_of_drum.toml").read_text(encoding="utf-8").split("\n[rest_of_drum]")[0]
    (tmp_path / "alone.toml").write_text(text, encoding="utf-8")
    alone = run(read_study(tmp_path / "alone.toml"), tmp_path / "out", workers=1, solver=unsolved)
    assert rest_chapters(alone) == []
    assert list(rest_pictures(alone)) == []
