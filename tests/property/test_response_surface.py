"""Response surface: known functions, honest errors, laws where sizes were not varied, and what is refused."""

import math

import numpy as np
import pytest

from femdrum.errors import InputFault
from femdrum.provenance import Kind
from femdrum.strength.response_surface import LAW_RANGE, LAWS, ResponseSurface

RADII = np.array([4.0, 6.0, 8.0, 10.0, 14.0, 20.0])
WALLS = np.array([30.0, 40.0, 50.0])
GRID = np.array([(r, t) for r in RADII for t in WALLS])
BOTH = ("corner_radius_mm", "wall_mm")


def peak(x):
    """A peak as notches have it, 1 + 2 sqrt(depth / r), falling with the wall."""
    return 300 * (1 + 2 * np.sqrt(20 / x[..., 0])) * (40 / x[..., 1]) ** 1.3


def refused(field):
    return pytest.raises(InputFault, match=rf"{field}.*(must|are|is missing).*")


def between(rng, count=400):
    low, high = GRID.min(axis=0), GRID.max(axis=0)
    return low + (high - low) * rng.random((count, 2))


# ---------------------------------------------------------------- known functions


@pytest.mark.parametrize("exponents", [(-0.5, -1.0), (-0.27, 0.4), (0.0, -2.0)])
def test_power_laws_are_exact(exponents):
    """ln of a power law is linear: the surface returns it to rounding, and says so."""
    a, b = exponents
    surface = ResponseSurface.fit(GRID, 5 * GRID[:, 0] ** a * GRID[:, 1] ** b, BOTH)
    x = between(np.random.default_rng(1))
    assert surface.value(x) == pytest.approx(5 * x[:, 0] ** a * x[:, 1] ** b, rel=1e-10)
    assert surface.error.most < 1e-10


@pytest.mark.parametrize("order", [1, 2, 3])
def test_polynomials_of_the_logarithm_are_exact(order):
    rng = np.random.default_rng(order)
    coefficients = rng.normal(size=order + 1)
    values = np.exp(np.polyval(coefficients, np.log(RADII / 8)))
    surface = ResponseSurface.fit(RADII, values, ["corner_radius_mm"])
    x = np.linspace(4, 20, 50)[:, None]
    assert surface.value(x) == pytest.approx(np.exp(np.polyval(coefficients, np.log(x[:, 0] / 8))), rel=1e-9)
    assert max(sum(p) for p in surface.powers) == order


def test_leave_one_out_by_leaving_one_out():
    """The stated error is that of surfaces fitted without each point in turn, by plain least squares."""
    rng = np.random.default_rng(4)
    values = peak(GRID) * np.exp(0.02 * rng.normal(size=len(GRID)))
    surface = ResponseSurface.fit(GRID, values, BOTH)
    x = np.log(GRID / np.sqrt(GRID.min(axis=0) * GRID.max(axis=0)))
    basis = np.stack([x[:, 0] ** a * x[:, 1] ** b for a, b in surface.powers], axis=1)
    missed = []
    for i in range(len(GRID)):
        kept = np.arange(len(GRID)) != i
        c = np.linalg.lstsq(basis[kept], np.log(values[kept]), rcond=None)[0]
        missed.append(math.expm1(abs(basis[i] @ c - math.log(values[i]))))
    assert surface.error.rms == pytest.approx(np.sqrt(np.mean(np.square(missed))), rel=1e-6)
    assert surface.error.most == pytest.approx(max(missed), rel=1e-6)
    assert surface.error.provenance.kind is Kind.COMPUTED


def test_error_of_a_notch_is_honest():
    """Between the variants the surface misses no more than about what it states."""
    surface = ResponseSurface.fit(GRID, peak(GRID), BOTH)
    x = between(np.random.default_rng(2))
    missed = np.abs(surface.value(x) / peak(x) - 1)
    assert np.sqrt(np.mean(missed**2)) <= 1.2 * surface.error.rms
    assert missed.max() <= 1.5 * surface.error.most
    assert surface.error.most < 1e-3
    assert surface.error_at(x) == pytest.approx(surface.error.most)


def test_errors_of_random_smooth_functions_are_honest():
    """150 random functions over 5 to 8 radii: the rms miss lies within the stated rms nearly always."""
    rng = np.random.default_rng(3)
    inside, most_inside = [], []
    for _ in range(150):
        radii = np.geomspace(4, 20, rng.integers(5, 9))
        a, b, c, shift = rng.normal(size=4) * [0.5, 0.1, 1.0, 1.0]

        def value(r, a=a, b=b, c=c, shift=shift):
            x = np.log(r)
            return np.exp(1 + a * x + b * x**2 + 0.05 * np.sin(c * x + shift))

        surface = ResponseSurface.fit(radii, value(radii), ["corner_radius_mm"])
        x = np.linspace(4, 20, 200)
        missed = np.abs(surface.value(x[:, None]) / value(x) - 1)
        inside.append(np.sqrt(np.mean(missed**2)) <= surface.error.rms * 1.001 + 1e-12)
        most_inside.append(missed.max() <= surface.error.most * 1.001 + 1e-12)
    assert np.mean(inside) > 0.95
    assert np.mean(most_inside) > 0.95


def test_noise_is_not_fitted_away():
    """2 % of noise on the variants: the stated error stays near 2 %, it does not vanish with a high order."""
    rng = np.random.default_rng(5)
    stated = [
        ResponseSurface.fit(GRID, peak(GRID) * np.exp(0.02 * rng.normal(size=len(GRID))), BOTH).error.rms
        for _ in range(20)
    ]
    assert 0.015 < np.mean(stated) < 0.035


def test_signed_vectors_of_unit_cases():
    """Edge stresses [variant, case, place] of either sign: one surface for all, superposition holds."""
    rng = np.random.default_rng(6)
    amounts = rng.normal(size=(2, 3, 5))
    x = np.log(GRID)
    values = amounts[0] + x[:, 0, None, None] * amounts[1]
    surface = ResponseSurface.fit(GRID, values, BOTH)
    made = surface.value([[7.0, 35.0], [9.0, 45.0]])
    assert made.shape == (2, 3, 5)
    assert made[0] == pytest.approx(amounts[0] + math.log(7) * amounts[1], abs=1e-9)
    assert not surface.logs
    both = ResponseSurface.fit(GRID, values.sum(axis=1), BOTH).value([7.0, 35.0])
    assert both == pytest.approx(made[0].sum(axis=0), abs=1e-8)


def test_invariance_to_order_scale_and_names():
    values = peak(GRID)
    surface = ResponseSurface.fit(GRID, values, BOTH)
    mixed = np.random.default_rng(7).permutation(len(GRID))
    x = between(np.random.default_rng(8))
    assert ResponseSurface.fit(GRID[mixed], values[mixed], BOTH).value(x) == pytest.approx(surface.value(x), rel=1e-9)
    assert ResponseSurface.fit(GRID, 7 * values, BOTH).value(x) == pytest.approx(7 * surface.value(x), rel=1e-9)
    turned = ResponseSurface.fit(GRID[:, ::-1], values, BOTH[::-1])
    assert turned.value(x[:, ::-1]) == pytest.approx(surface.value(x), rel=1e-9)
    named = surface.value({"wall_mm": x[:, 1], "corner_radius_mm": x[:, 0]})
    assert np.array_equal(named, surface.value(x))
    assert surface.value({"wall_mm": 40.0, "corner_radius_mm": [6.0, 8.0]}).shape == (2,)
    assert surface.value([6.0, 40.0]).shape == ()


# ---------------------------------------------------------------- few variants, and laws


def test_one_variant_is_a_law():
    """K ~ r^-0.5 and 1 / wall, common practice, with the error of exponents that may be off by as much."""
    surface = ResponseSurface.fit([[10.0, 40.0]], [300.0], BOTH)
    assert surface.value([10.0, 40.0]) == pytest.approx(300)
    assert surface.value([9.0, 40.0]) == pytest.approx(300 * math.sqrt(10 / 9))
    assert surface.value([10.0, 44.0]) == pytest.approx(300 / 1.1)
    assert surface.range == ((8.0, 12.5), (32.0, 50.0))
    assert surface.error.provenance.kind is Kind.COMMON_PRACTICE
    assert "a scaling law, no surface" in surface.notes[0]
    assert surface.error.most > 0.3
    # near the variant the stated error is small
    assert surface.error_at([10.0, 40.0]) == 0
    assert surface.error_at([9.5, 40.2]) == pytest.approx(math.expm1(0.5 * math.log(10 / 9.5) + math.log(40.2 / 40)))
    with refused("corner_radius_mm"):
        surface.value([7.9, 40.0])


@pytest.mark.parametrize("ratio", [LAW_RANGE, 0.9, 1.1, 1 / LAW_RANGE])
@pytest.mark.parametrize("exponent", [0.0, -0.2, -0.48])
def test_the_error_of_the_law_covers_known_slots(ratio, exponent):
    """Exact plane slots have exponents from 0.02 to 0.48 in the radius (computed, plane_slot_kt): all are covered."""
    surface = ResponseSurface.fit([[10.0]], [300.0], ["corner_radius_mm"])
    missed = abs(float(surface.value([10 * ratio])) / (300 * ratio**exponent) - 1)
    assert missed <= surface.error_at([10 * ratio]) + 1e-12
    assert surface.error_at([10 * ratio]) <= surface.error.most + 1e-12


def test_a_size_that_was_not_varied_follows_its_law():
    points = np.stack([RADII, np.full(6, 40.0)], axis=1)
    surface = ResponseSurface.fit(points, peak(points), BOTH)
    assert surface.value([9.0, 40.0]) == pytest.approx(peak(np.array([9.0, 40.0])), rel=1e-3)
    assert surface.value([9.0, 44.0]) == pytest.approx(surface.value([9.0, 40.0]) / 1.1, rel=1e-12)
    assert surface.range == ((4.0, 20.0), (32.0, 50.0))
    assert any("wall_mm not varied" in note for note in surface.notes)
    assert surface.error_at([9.0, 40.0]) < 1e-3 < surface.error_at([9.0, 42.0])
    unknown = ResponseSurface.fit(points, peak(points), ("corner_radius_mm", "slot_axial_mm"))
    with refused("slot_axial_mm"):
        unknown.value([9.0, 41.0])


def test_two_variants():
    """A line through both; its error is what the scaling law would have missed, no less."""
    surface = ResponseSurface.fit([6.0, 12.0], [400.0, 320.0], ["corner_radius_mm"])
    assert surface.value([[6.0], [12.0]]) == pytest.approx([400, 320])
    assert surface.value([math.sqrt(72)]) == pytest.approx(math.sqrt(400 * 320))
    assert surface.error.most == pytest.approx(320 / (400 * math.sqrt(0.5)) - 1, rel=1e-9)
    assert "too few to leave one out" in surface.notes[0]


def test_laws_say_what_they_are():
    assert LAWS["corner_radius_mm"].exponent == -0.5
    assert LAWS["wall_mm"].exponent == -1.0
    assert all(law.provenance.kind is Kind.COMMON_PRACTICE for law in LAWS.values())


# ---------------------------------------------------------------- refusals


def test_faults():
    surface = ResponseSurface.fit(GRID, peak(GRID), BOTH)
    with pytest.raises(InputFault) as outside:
        surface.value([[8.0, 40.0], [3.0, 55.0]])
    assert [(f.field, f.value) for f in outside.value.faults] == [("corner_radius_mm", 3.0), ("wall_mm", 55.0)]
    assert "compute variants beyond it" in str(outside.value)
    with refused("corner_radius_mm"):
        surface.value([math.nan, 40.0])
    with refused("x"):
        surface.value([8.0])
    with refused("wall_mm"):
        surface.value({"corner_radius_mm": 8.0})
    with refused("points"):
        ResponseSurface.fit([[1.0, 2.0, 3.0]], [1.0], BOTH)
    with refused("points"):
        ResponseSurface.fit([[4.0, 0.0]], [1.0], BOTH)
    with refused("points"):
        ResponseSurface.fit([[4.0, 40.0], [4.0, 40.0]], [1.0, 1.0], BOTH)
    with refused("values"):
        ResponseSurface.fit(GRID, peak(GRID)[:-1], BOTH)
    with refused("values"):
        ResponseSurface.fit(RADII, [1, 2, math.inf, 3, 4, 5], ["corner_radius_mm"])
    with refused("values"):
        ResponseSurface.fit([4.0, 5.0], [0.0, 1.0], ["corner_radius_mm"])
    with refused("names"):
        ResponseSurface.fit(GRID, peak(GRID), ("wall_mm", "wall_mm"))
    # three variants on a line tell nothing of two sizes
    with pytest.raises(InputFault, match=r"points = 3: are too few, or too regular, .*three values of each size"):
        ResponseSurface.fit([[4.0, 30.0], [8.0, 60.0], [16.0, 120.0]], [3.0, 2.0, 1.0], BOTH)


def test_figures():
    figures = ResponseSurface.fit(GRID, peak(GRID), BOTH).figures
    assert [f.unit for f in figures] == ["%", "%"]
    assert figures[0].value <= figures[1].value
    assert all("leave-one-out" in str(f.provenance) for f in figures)
