"""Plates by finite elements at default settings against every row of the reference tables.

The band's constants (fem/ladder.py) were fixed on the even geometries; coverage is judged on the odd ones.
"""

from __future__ import annotations

import numpy as np
import pytest
from plane_tables import by_part

import femdrum as fd
from femdrum.fem.unit import unit_solution

CASES = ("tension_x", "tension_y", "shear")


@pytest.fixture(scope="module")
def judged() -> np.ndarray:
    """Per row: geometry number, relative error of Kt, relative band."""
    rows = []
    for number, (part, tabulated) in enumerate(by_part().items()):
        states = np.array([row.factors for row in tabulated])
        unit = unit_solution(part, fd.steel("S355"), CASES, fd.Accuracy(), states)
        surface = unit.edge.combine(states)
        for i, row in enumerate(tabulated):
            peak = surface.peaks(i).peak
            rows.append((number, abs(float(peak)) / row.kt - 1, peak.band / row.kt))
    return np.array(rows)


def test_all_rows_are_there(judged: np.ndarray) -> None:
    assert len(judged) == 348
    assert len(np.unique(judged[:, 0])) == 117


def test_error_of_kt(judged: np.ndarray) -> None:
    error = np.abs(judged[:, 1])
    assert error.max() <= 5e-3
    assert np.median(error) <= 1e-3


def test_band_on_the_half_it_was_not_fixed_on(judged: np.ndarray) -> None:
    held_out = judged[judged[:, 0] % 2 == 1]
    error, band = np.abs(held_out[:, 1]), held_out[:, 2]
    assert np.mean(error <= band) >= 0.97
    assert np.median(band / np.maximum(error, 1e-7)) <= 5


def test_band_over_all_rows(judged: np.ndarray) -> None:
    error, band = np.abs(judged[:, 1]), judged[:, 2]
    assert np.mean(error <= band) >= 0.97
    assert np.median(band / np.maximum(error, 1e-7)) <= 5
