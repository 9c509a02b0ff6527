"""Notebooks run from top to bottom, print what is stored in them, and print the truth.

A copy is executed; the stored file stays as it is. Renew its outputs: see DEVELOPERS.md.
"""

from __future__ import annotations

import csv
import re
import warnings
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "notebooks"
STRIP = ROOT / "tests" / "exact" / "handbook_data" / "strip_circle_kt.csv"

NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")
# between machines only the last printed digit may move
DIGITS = 2e-3


def printed(notebook: object) -> list[str]:
    return [
        "".join(out.text for out in cell.outputs if out.output_type == "stream" and out.name == "stdout")
        for cell in notebook.cells
        if cell.cell_type == "code"
    ]


def read(path: Path) -> object:
    import nbformat

    return nbformat.read(path, as_version=4)


@pytest.fixture(scope="module", params=sorted(p.name for p in FOLDER.glob("*.ipynb")))
def pair(request: pytest.FixtureRequest) -> tuple[str, object, object]:
    """Name, the notebook as stored, and a copy that was executed just now."""
    stored = read(FOLDER / request.param)
    fresh = read(FOLDER / request.param)
    for cell in fresh.cells:
        if cell.cell_type == "code":
            cell.outputs = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the notebook machinery, not of the code in the cells
        from nbclient import NotebookClient

        NotebookClient(fresh, timeout=300, kernel_name="python3").execute()
    return request.param, stored, fresh


def test_there_is_a_notebook() -> None:
    assert (FOLDER / "plate_with_hole.ipynb").is_file()


def test_outputs_are_kept_and_without_warnings(pair: tuple[str, object, object]) -> None:
    for notebook in pair[1:]:
        cells = [c for c in notebook.cells if c.cell_type == "code"]
        assert [c.execution_count for c in cells] == list(range(1, len(cells) + 1)), "run it from top to bottom"
        kinds = {out.output_type for c in cells for out in c.outputs}
        assert kinds <= {"stream", "display_data"}
        assert {out.name for c in cells for out in c.outputs if out.output_type == "stream"} == {"stdout"}
        assert any("image/png" in out.get("data", {}) for c in cells for out in c.outputs), "its picture is kept"


def test_stored_outputs_are_what_it_prints_now(pair: tuple[str, object, object]) -> None:
    _, stored, fresh = pair
    for then, now in zip(printed(stored), printed(fresh), strict=True):
        assert NUMBER.sub("#", now) == NUMBER.sub("#", then)
        # bands follow the estimator; what they surround is compared
        old, new = (NUMBER.findall(re.sub(r"± [\d.]+", "", text)) for text in (then, now))
        assert [float(n) for n in new] == pytest.approx([float(n) for n in old], rel=DIGITS)


def test_plate_with_hole_prints_the_truth(pair: tuple[str, object, object]) -> None:
    name, _, fresh = pair
    if name != "plate_with_hole.ipynb":
        return
    rows = csv.DictReader(line for line in STRIP.read_text().splitlines() if not line.startswith("#"))
    known = {float(r["d_over_W"]): float(r["Ktg"]) for r in rows}
    kirsch, one, _, curve, several, fits, _ = printed(fresh)
    assert [int(n) for n in NUMBER.findall(kirsch)] == [0, -100, 30, 0, 60, 200, 90, 300]
    assert float(re.search(r"Kt gross ([\d.]+)", one)[1]) == pytest.approx(known[0.2], rel=1e-4)
    assert float(re.search(r"Kt net +([\d.]+)", one)[1]) == pytest.approx(0.8 * known[0.2], rel=1e-4)
    exact = {float(q): float(kt) for q, kt in re.findall(r"d/W = ([\d.]+): Kt gross +([\d.]+)", curve)}
    for q in (0.2, 0.5, 0.8):
        assert exact[q] == pytest.approx(known[q], abs=6e-5)
    lines = re.findall(r"W = +(\d+) mm: ([\d.]+) ± ([\d.]+), settled; exact ([\d.]+)", several)
    assert len(lines) == 8
    for width, kt, band, truth in ((int(w), *map(float, more)) for w, *more in lines):
        assert abs(kt - truth) <= band
        assert band <= 0.002 * kt
        if round(40 / width, 4) in known:
            assert truth == pytest.approx(known[40 / width], abs=1e-5)
    # the fit's deviation from computed values as the tables give it
    assert "-1.4 %" in fits
