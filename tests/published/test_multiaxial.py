"""Worked values of stress that changes its direction, row by row, and where the criteria come from."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.figure import figure
from femdrum.provenance import Kind
from femdrum.strength.critical_plane import (
    FATEMI_SOCIE,
    FINDLEY,
    SWT_PLANE,
    findley,
    findley_k,
    findley_ratio,
    signed_von_mises,
    von_mises_range,
)
from femdrum.strength.history import von_mises

with (Path(__file__).parent / "data" / "multiaxial.csv").open(encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(line for line in lines if not line.startswith("#")))

STEPS = 720
TURN = 2 * np.pi * np.arange(STEPS) / STEPS


def history(xx=0.0, xy=0.0):
    """One place with bending along x and torsion: [step, 1, 6]."""
    found = np.zeros((STEPS, 1, 6))
    found[:, 0, 0], found[:, 0, 3] = xx, xy
    return found


def bending(g):
    return history(xx=g["sa"] * np.sin(TURN))


def out_of_phase(sa=100.0):
    """Bending, and torsion of sa / sqrt(3) a quarter of a period behind: the rows name the ratio, and its digits rounded."""
    return history(xx=sa * np.sin(TURN), xy=sa / math.sqrt(3) * np.cos(TURN))


OURS = {
    "D53": lambda g: findley_ratio(g["k"]),
    "D54": lambda g: findley_k(math.sqrt(3)),
    "D55": lambda g: findley(bending(g), g["k"]).parameter_MPa[0],
    "D56": lambda g: np.ptp(von_mises(out_of_phase(g["sa"]))),
    "D57": lambda g: findley(out_of_phase(), g["k"]).parameter_MPa[0],
}


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['id']} {r['quantity']}")
def test_worked_value(row):
    """Expected value and tolerance of the row; its provenance stands beside them."""
    assert row["provenance"]
    kind, tolerance = row["tolerance"].split(":")
    ours = OURS[row["id"]](json.loads(row["inputs_json"]))
    assert ours == pytest.approx(float(row["expected"]), **{kind: float(tolerance)})


def test_every_row_is_asked():
    assert set(OURS) == {row["id"] for row in ROWS}


def test_out_of_phase_in_closed_form():
    """Square to the axis of bending: shear amplitude sa / sqrt(3), largest normal stress sa. Computed."""
    found = findley(out_of_phase(), 0.3)
    assert found.parameter_MPa[0] == pytest.approx(100 / math.sqrt(3) + 30, rel=1e-9)
    assert found.shear_amplitude_MPa[0] == pytest.approx(100 / math.sqrt(3), rel=1e-6)
    assert found.normal_most_MPa[0] == pytest.approx(100, rel=1e-6)
    assert np.abs(found.normal[0]) == pytest.approx([1, 0, 0], abs=1e-5)


def test_the_trap_is_refused():
    """D56: every component cycles, von Mises does not. Its range is refused, with what to use instead."""
    trap = out_of_phase()
    assert np.ptp(trap[:, 0, 0]) == pytest.approx(200, rel=1e-4)
    assert np.ptp(trap[:, 0, 3]) == pytest.approx(200 / math.sqrt(3), rel=1e-4)
    for asked in (trap, bending({"sa": 100}), np.zeros((2, 1, 6)), None):
        with pytest.raises(InputFault) as fault:
            von_mises_range(asked)
        assert "no measure of fatigue" in str(fault.value)
        assert "findley()" in fault.value.faults[0].way_out
        assert "rainflow()" in fault.value.faults[0].way_out


def test_signed_von_mises_has_the_sign_of_the_larger_principal():
    uniaxial = bending({"sa": 100})
    assert signed_von_mises(uniaxial)[:, 0] == pytest.approx(uniaxial[:, 0, 0], abs=1e-9)
    assert "proportional" in signed_von_mises.__doc__


def test_ratio_and_k_are_inverse():
    for k in (0.0, 1e-6, 0.157, 0.3, 1.0, 10.0):
        assert findley_k(findley_ratio(k)) == pytest.approx(k, rel=1e-9, abs=1e-9)
    # bending over torsion by the criterion itself: both limits give the same parameter
    for k in (0.1, 0.3, 0.8):
        bend = findley(history(xx=np.sin(TURN)), k).parameter_MPa[0]
        twist = findley(history(xy=np.sin(TURN)), k).parameter_MPa[0]
        assert twist / bend == pytest.approx(findley_ratio(k), rel=1e-9)


def test_what_is_recalled_says_so():
    """The criteria are recalled, not confirmed; the relation of k to fatigue limits is computed."""
    for provenance in (FINDLEY, FATEMI_SOCIE, SWT_PLANE):
        assert provenance.kind is Kind.MEMORY
        assert "not confirmed" in str(provenance)
    assert figure(findley_k, findley_k(1.6)).provenance.kind is Kind.COMPUTED
    assert figure(findley_ratio, findley_ratio(0.3)).provenance.kind is Kind.COMPUTED
    (shown,) = findley(out_of_phase(), 0.3).figures
    assert shown.provenance is FINDLEY
    assert shown.unit == "MPa"
    assert shown.value == pytest.approx(87.735, rel=1e-4)
