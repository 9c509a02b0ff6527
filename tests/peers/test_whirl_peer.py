"""Whirling frequencies against an independent rotor dynamics library: stored on all cases, live where it is installed.

Same nodes and sections on both sides. Tolerance 1e-6: eigenvalues of the other side come from a general, unsymmetric solver.
"""

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import whirl_reference as peer

from femdrum.fem.beam import beam_model
from femdrum.model.shaft_line import ShaftBody, ShaftLine, ShaftPiece, ShaftSpring

TOLERANCE = 1e-6
ROWS = peer.read()


def model(case: peer.Case):
    ends = zip(case.nodes_mm, case.nodes_mm[1:], case.outer_mm, case.inner_mm, strict=False)
    line = ShaftLine(
        pieces=tuple(ShaftPiece(from_mm=a, to_mm=b, outer_diameter_mm=d, inner_diameter_mm=i) for a, b, d, i in ends),
        bodies=tuple(
            ShaftBody(z_mm=case.nodes_mm[n], mass_kg=m, polar_kg_m2=polar, across_kg_m2=across)
            for n, m, polar, across in case.discs
        ),
        springs=tuple(
            ShaftSpring(z_mm=case.nodes_mm[n], stiffness_N_mm=k, stiffness_across_N_mm=c) for n, k, c in case.springs
        ),
        youngs_modulus_MPa=case.youngs_MPa, poissons_ratio=case.poisson, density_kg_m3=case.density_kg_m3,
    )  # fmt: skip
    return beam_model(line, elements=1)


@pytest.mark.peers
@pytest.mark.parametrize("row", ROWS, ids=[f"{row['case']} at {row['speed_rpm']} rpm" for row in ROWS])
def test_against_stored_frequencies(row):
    stored = [float(row[f"f{k}_Hz"]) for k in range(peer.MODES)]
    found = model(peer.CASES[row["case"]]).whirl(float(row["speed_rpm"]), peer.MODES)
    np.testing.assert_allclose(found.frequency_Hz, stored, rtol=TOLERANCE)


def test_every_case_is_stored():
    assert {row["case"] for row in ROWS} == set(peer.CASES)
    assert len(ROWS) == len(peer.CASES) * len(peer.SPEEDS_RPM)


@pytest.mark.peers
def test_against_the_library_itself():
    """In a process of its own: the other library speaks and warns on import."""
    if find_spec("ross") is None:
        pytest.skip("ross-rotordynamics is not installed; its stored values are used")
    code = "import whirl_reference as p; print('found', *p.live(p.CASES['drum, unequal supports'], 4000.0))"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=Path(__file__).parent, capture_output=True, text=True, check=True
    )
    own = next(line for line in run.stdout.splitlines() if line.startswith("found")).split()[1:]
    found = model(peer.CASES["drum, unequal supports"]).whirl(4000.0, peer.MODES).frequency_Hz
    np.testing.assert_allclose(found, [float(f) for f in own], rtol=TOLERANCE)
