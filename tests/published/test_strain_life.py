"""Strain life, notch stress and the damage parameter: worked values row by row, and what people read of them.

Each row of data/strain_life.csv carries its inputs, expected value, tolerance, source and provenance; here stands what
of ours answers it. Inputs are in the row's units.
"""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.model.material import Material
from femdrum.provenance import Kind
from femdrum.strength.cyclic import CyclicCurve, guideline_curve, uniform_curve
from femdrum.strength.damage_parameter import SLOPES, DamageCurve, damage_curve, damage_parameter_MPa
from femdrum.strength.neuber import LIMIT_LOAD, local_cycle, notch_state, residual_after_overload
from femdrum.strength.strain_life import MEDIAN, uniform_strain_life

with (Path(__file__).parent / "data" / "strain_life.csv").open(encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(line for line in lines if not line.startswith("#")))


def of(ultimate_MPa, youngs_modulus_MPa=206e3):
    return Material(youngs_modulus_MPa=youngs_modulus_MPa, poissons_ratio=0.3, ultimate_MPa=ultimate_MPa)


def given(name):
    return json.loads(next(row["inputs_json"] for row in ROWS if row["id"] == name))


def notch(g):
    constants = given("D38")
    return notch_state(g["KtS"], CyclicCurve(constants["E"], constants["K"], constants["n"]))


OURS = {
    "D27": lambda g: guideline_curve(of(g["Rm"])).coefficient_MPa,
    "D28": lambda g: guideline_curve(of(g["Rm"])).coefficient_MPa,
    "D29": lambda g: damage_curve(of(g["Rm"])).at_thousand_MPa,
    "D30": lambda g: damage_curve(of(g["Rm"])).endurance_MPa,
    "D36": lambda g: uniform_strain_life(of(g["Rm"])).strength_coefficient_MPa,
    "D37": lambda g: uniform_strain_life(of(g["Rm"], g["E"])).life(g["ea"]),
    "D38": lambda g: notch(g).stress_MPa,
    "D39": lambda g: notch(g).strain,
}


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['id']} {r['quantity']}")
def test_worked_value(row):
    """Expected value and tolerance of the row; its provenance stands beside them."""
    assert row["provenance"]
    tolerance = float(row["tolerance"].removeprefix("rel:"))
    assert float(OURS[row["id"]](json.loads(row["inputs_json"]))) == pytest.approx(
        float(row["expected"]), rel=tolerance
    )


def test_every_row_is_asked():
    assert set(OURS) == {row["id"] for row in ROWS}
    assert len(ROWS) == 8


def test_uniform_material_law():
    """1.5 Rm, -0.087, 0.59 psi, -0.58; K' 1.65 Rm, n' 0.15; psi 1.375 - 125 Rm/E beyond 3e-3 (published, secondary)."""
    mild, hard = uniform_strain_life(of(500)), uniform_strain_life(of(1200))
    assert (mild.strength_exponent, mild.ductility_exponent, mild.ductility_coefficient) == (-0.087, -0.58, 0.59)
    assert hard.ductility_coefficient == pytest.approx(0.59 * (1.375 - 125 * 1200 / 206e3), rel=1e-12)
    # psi joins at the border: 1.375 - 125 * 3e-3 = 1
    below, above = (uniform_strain_life(of(206e3 * 3e-3 * f)).ductility_coefficient for f in (1 - 1e-9, 1 + 1e-9))
    assert above == pytest.approx(below, rel=1e-7)
    curve = uniform_curve(of(500))
    assert (curve.coefficient_MPa, curve.exponent) == (825.0, 0.15)
    assert mild.provenance.kind is curve.provenance.kind is Kind.PUBLISHED
    assert "Metals 2025" in mild.provenance.seen


def test_guideline_constants_say_where_they_were_seen():
    for made in (guideline_curve(of(600)), damage_curve(of(600))):
        assert made.provenance.kind is Kind.STANDARD
        assert "open fatigue library" in made.provenance.seen
        assert all(f.unit and f.formula for f in made.figures)
    assert LIMIT_LOAD.kind is Kind.STANDARD
    assert MEDIAN.kind is Kind.COMPUTED
    assert len(uniform_strain_life(of(600)).figures) == 4


def test_damage_parameter_of_an_elastic_reversed_cycle_is_its_amplitude():
    for a in (50.0, 200.0):
        p = damage_parameter_MPa(a, 0.0, a / 206e3, youngs_modulus_MPa=206e3, ultimate_MPa=600)
        assert p == pytest.approx(a, rel=1e-14)
    # pulsating: sqrt(1 + M (M + 2)) = 1 + M, the same as the stress-life rule at R = 0. Computed
    m = 0.35e-3 * 600 - 0.1
    p = damage_parameter_MPa(100.0, 100.0, 100.0 / 206e3, youngs_modulus_MPa=206e3, ultimate_MPa=600)
    assert p == pytest.approx(100 * (1 + m), rel=1e-14)
    low = damage_parameter_MPa(100.0, -100.0, 100.0 / 206e3, youngs_modulus_MPa=206e3, ultimate_MPa=600)
    assert 100 * (1 - m) < low < 100
    assert damage_parameter_MPa(1.0, -1e4, 1e-3, youngs_modulus_MPa=206e3, ultimate_MPa=600) == 0.0


def test_damage_curve():
    curve = damage_curve(of(600))
    assert curve.life(curve.at_thousand_MPa) == pytest.approx(1e3, rel=1e-12)
    assert curve.life(curve.endurance_MPa * (1 + 1e-12)) == pytest.approx(curve.knee_cycles, rel=1e-9)
    assert curve.life(curve.endurance_MPa) == np.inf
    assert curve.life(curve.endurance_MPa, endless=False) == pytest.approx(curve.knee_cycles, rel=1e-12)
    assert curve.life([0.0, 0.0]).tolist() == [np.inf, np.inf]
    assert curve.life(0.0, endless=False) == np.inf
    # exponents -0.302 and -0.197 (standard, seen in an open fatigue library)
    assert SLOPES.kind is Kind.STANDARD
    assert curve.life(2 * curve.at_thousand_MPa) == pytest.approx(1e3 * 2 ** (-1 / 0.302), rel=1e-12)
    assert curve.life(curve.at_thousand_MPa / 2) == pytest.approx(1e3 * 2 ** (1 / 0.197), rel=1e-12)
    p = np.linspace(1, 2000, 500)
    assert np.all(np.diff(curve.life(p, endless=False)) < 0)
    assert damage_curve(of(600), median=True).at_thousand_MPa == pytest.approx(curve.at_thousand_MPa / 0.71, rel=1e-12)
    part = curve.scaled(0.8, endurance_factor=0.85)
    assert part.at_thousand_MPa == pytest.approx(0.8 * curve.at_thousand_MPa, rel=1e-12)
    assert part.endurance_MPa == pytest.approx(0.68 * curve.endurance_MPa, rel=1e-12)
    assert part.knee_cycles == pytest.approx(curve.knee_cycles, rel=1e-9)
    assert curve.scaled(0.8).second_slope == pytest.approx(curve.second_slope, rel=1e-12)


def test_both_laws_agree_within_their_scatter():
    """Uniform law (median) and guideline parameter (median) differ by less than a factor of 4 in life, 1e2 to 1e5."""
    material = of(600)
    curve, law = guideline_curve(material), uniform_strain_life(material)
    cycle = local_cycle([1600.0, 1100.0, 800.0], [-1600.0, -1100.0, -800.0], curve)
    by_law = law.life_of(cycle)
    by_parameter = damage_curve(material, median=True).life_of(cycle, youngs_modulus_MPa=206e3, ultimate_MPa=600)
    assert np.all((by_law > 1e2) & (by_law < 1e5))
    assert np.all(np.abs(np.log(by_law / by_parameter)) < np.log(4))


def test_jam_overload_is_carried_to_later_cycles():
    """Drum steel, Rm 510: a jam of 900 MPa elastic leaves compression; small cycles live longer after it, not shorter."""
    material = of(510)
    curve, law = guideline_curve(material), uniform_strain_life(material)
    left = residual_after_overload(900.0, curve)
    assert left < -100
    before, after = (local_cycle(300.0, 0.0, curve, overload_MPa=p) for p in (0.0, 900.0))
    assert after.lower_MPa == pytest.approx(left, rel=1e-12)
    assert after.mean_MPa < before.mean_MPa - 100
    assert after.strain_amplitude == pytest.approx(before.strain_amplitude, rel=1e-12)
    assert law.life_of(after) > law.life_of(before)
    # a jam the other way leaves tension and shortens
    assert law.life_of(local_cycle(300.0, 0.0, curve, overload_MPa=-900.0)) < law.life_of(before)


def test_bad_input_with_the_way_out():
    bare = Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3)
    for ask in (uniform_curve, guideline_curve, uniform_strain_life, damage_curve):
        with pytest.raises(
            InputFault, match=r"ultimate_MPa.*missing.*; give ultimate_MPa, or a grade with its thickness"
        ):
            ask(bare)
    with pytest.raises(InputFault, match=r"beyond the uniform material law.*; give tested constants"):
        uniform_strain_life(of(2300))
    curve = guideline_curve(of(600))
    with pytest.raises(InputFault, match=r"upper_MPa = -1.0: must not be below lower_MPa; swap the two"):
        local_cycle([5.0, -1.0], [0.0, 0.0], curve)
    with pytest.raises(InputFault, match=r"limit_factor = 0.5.*; load at plastic collapse"):
        notch_state(100.0, curve, 0.5)
    with pytest.raises(InputFault, match="elastic_peak_MPa"):
        notch_state([1.0, np.nan], curve)
    law = uniform_strain_life(of(600))
    with pytest.raises(InputFault, match=r"upper_MPa.*missing.*; the local upper stress"):
        law.life(0.005, correction="swt")
    with pytest.raises(InputFault, match=r"correction = 'marrow'.*did you mean 'morrow'"):
        law.life(0.005, correction="marrow")
    with pytest.raises(InputFault, match=r"strain_amplitude = -0.1"):
        law.life([0.1, -0.1])
    with pytest.raises(InputFault) as caught:
        DamageCurve(at_thousand_MPa=100.0, endurance_MPa=200.0, first_slope=0.3)
    assert [f.field for f in caught.value.faults] == ["at_thousand_MPa", "first_slope"]
    with pytest.raises(InputFault) as caught:
        CyclicCurve(0.0, -1.0, 2.0)
    assert len(caught.value.faults) == 3
