"""Natural frequencies of turning rotors against a textbook.

Friswell, Penny, Garvey & Lees, Dynamics of Rotating Machines, 2010, examples 5.9.1 (p. 206) and 5.9.9 (p. 218); values pinned
in the tests of an open rotor dynamics library, seen there and recomputed independently; provenance: published, seen in a
secondary reproduction. Six equal elements, rad/s. One frequency of 5.9.1 is our own: the library lists a twist in its place.
"""

import math

import numpy as np
import pytest

from femdrum.fem.beam import beam_model
from femdrum.fem.beam_element import SHEAR
from femdrum.model.shaft_line import ShaftBody, ShaftLine, ShaftPiece, ShaftSpring
from femdrum.provenance import Kind

TOLERANCE = 1e-4
DENSITY, BORE, WIDTH = 7810.0, 50.0, 70.0
# G 81.2 GPa beside E 211 GPa
POISSON = 211 / (2 * 81.2) - 1


def disc(z_mm, outer_mm):
    mass = DENSITY * 1e-9 * math.pi / 4 * (outer_mm**2 - BORE**2) * WIDTH
    round_ = (outer_mm**2 + BORE**2) / 16
    return ShaftBody(
        z_mm=z_mm, mass_kg=mass, polar_kg_m2=2e-6 * mass * round_, across_kg_m2=1e-6 * mass * (round_ + WIDTH**2 / 12)
    )


def rotor(discs, springs, lengths):
    pieces = tuple(
        ShaftPiece(from_mm=a, to_mm=b, outer_diameter_mm=BORE) for a, b in zip([0, *lengths], lengths, strict=False)
    )
    line = ShaftLine(
        pieces=pieces, bodies=tuple(disc(*d) for d in discs),
        springs=tuple(ShaftSpring(z_mm=z, stiffness_N_mm=k) for z, k in springs),
        youngs_modulus_MPa=211e3, poissons_ratio=POISSON, density_kg_m3=DENSITY,
    )  # fmt: skip
    return beam_model(line, elements=1)


SIX = [250, 500, 750, 1000, 1250, 1500]
BETWEEN = rotor([(500, 280), (1000, 350)], [(0, 1e3), (1500, 1e3)], SIX)
OVERHUNG = rotor([(1500, 350)], [(0, 1e4), (1000, 1e4)], SIX)

CASES = [
    ("5.9.1", BETWEEN, 0, (86.66, 86.66, 274.31, 274.31, 716.79, 716.79)),
    ("5.9.1", BETWEEN, 4000, (85.39, 87.80, 251.78, 294.71, 600.18, 827.08)),
    ("5.9.9", OVERHUNG, 0, (90.14, 90.14, 630.73, 630.73, 830.43, 830.43)),
    ("5.9.9", OVERHUNG, 4000, (76.19, 103.91, 565.99, 634.23, 647.75, 1174.2)),
]


@pytest.mark.parametrize(("name", "model", "speed", "expected"), CASES, ids=[f"{n} at {s} rpm" for n, _, s, _ in CASES])
def test_textbook_frequencies(name, model, speed, expected):
    found = 2 * math.pi * model.whirl(speed).frequency_Hz
    # the digits printed, where they are coarser than the tolerance
    for own, printed in zip(found, expected, strict=True):
        assert own == pytest.approx(printed, rel=TOLERANCE)


def test_directions():
    """Turning parts each pair: the lower one goes against the rotation, the higher one with it."""
    found = BETWEEN.whirl(4000)
    np.testing.assert_allclose(found.direction, [-1, 1, -1, 1, -1, 1], atol=1e-9)


def test_coarse_mesh_is_worse():
    """Two elements give 686.86 rad/s for 5.9.9's second pair instead of 630.73: mesh check of the same source."""
    coarse = rotor([(1500, 350)], [(0, 1e4), (1000, 1e4)], [1000, 1500])
    assert 2 * math.pi * coarse.whirl(0).frequency_Hz[2] == pytest.approx(686.86, rel=TOLERANCE)


def test_shear_coefficient_from_memory_says_so():
    assert SHEAR.kind is Kind.MEMORY
