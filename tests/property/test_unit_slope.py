"""Slopes from the Gauss points: exact for what the cells carry, closer than nodal slopes for what they do not."""

from __future__ import annotations

import numpy as np
import pytest

from femdrum.fem.recovery import surface_strain, unit_slope
from femdrum.fem.reference import lobatto
from femdrum.fem.sampling import between_nodes, even_places


def line(order: int, ends: np.ndarray) -> np.ndarray:
    """Nodes of cells between `ends`."""
    local = 0.5 * (lobatto(order) + 1)
    return np.append((ends[:-1, None] + np.diff(ends)[:, None] * local[:-1]).ravel(), ends[-1])


def slopes(order: int, ends: np.ndarray, field: object) -> tuple[np.ndarray, np.ndarray]:
    """Places and slopes of a field f(x) on a straight line."""
    x, at = line(order, ends), even_places(ends.size - 1, 8)
    values = np.zeros((x.size, 1, 6))
    values[:, 0, 0] = x  # the place in space, then the field, component by component
    values = values.reshape(x.size, 1, 3, 2)
    values[..., 0] = np.stack([x, 0 * x, 0 * x], -1)[:, None]
    values[..., 1] = np.stack([field(x), 0 * x, 0 * x], -1)[:, None]  # type: ignore[operator]
    found = unit_slope(values.reshape(x.size, 1, 6), order, at).reshape(-1, 3, 2)
    return between_nodes(order, at) @ x, found[:, 0, 1]


@pytest.mark.parametrize("order", [1, 2, 3, 4, 5])
def test_what_the_cells_carry_is_exact(order: int) -> None:
    ends = np.array([0.0, 1.0, 2.5, 3.0, 6.0])
    field = np.polynomial.Polynomial(np.random.default_rng(order).normal(size=order + 1))
    x, found = slopes(order, ends, field)
    np.testing.assert_allclose(found, field.deriv()(x), rtol=1e-9, atol=1e-9 * np.abs(field.deriv()(x)).max())


@pytest.mark.parametrize("order", [2, 3, 4])
def test_one_order_more_is_met_inside_and_at_joints(order: int) -> None:
    """Interpolated on even cells, a polynomial of one order more has its exact slope at the Gauss points and, by both
    sides, where cells meet; between them the error is far below that of the nodal slope.
    """
    ends = np.arange(7.0)
    field = np.polynomial.Polynomial([0.0] * (order + 1) + [1.0])
    x, found = slopes(order, ends, field)
    inside = (x >= 1.0) & (x <= 5.0)
    true = field.deriv()(x)
    error = np.abs(found - true)[inside].max()
    nodal = max(
        abs(
            np.polynomial.polynomial.Polynomial.fit(
                line(order, np.array([a, a + 1.0])), field(line(order, np.array([a, a + 1.0]))), order
            ).deriv()(a)
            - field.deriv()(a)
        )
        for a in (1.0, 2.0, 3.0, 4.0)
    )
    assert error < (1e-9 if order % 2 == 0 else 0.15 * nodal) * 1.0 + 1e-9 * np.abs(true).max()


def test_a_turned_sheet_has_no_strain_and_a_stretched_one_has_its_own() -> None:
    order, at = 3, (even_places(2, 4), even_places(2, 4))
    s, d = line(order, np.array([0.0, 2.0, 5.0])), line(order, np.array([0.0, 1.0, 4.0]))
    # part of a cylinder of radius 10
    place = np.stack(np.broadcast_arrays(10 * np.cos(s / 10)[:, None], 10 * np.sin(s / 10)[:, None], d), -1)
    turn = np.array([[0.0, -1.0, 2.0], [1.0, 0.0, -0.5], [-2.0, 0.5, 0.0]])
    grown = 1e-3 * place
    strain = surface_strain(place, np.stack([place @ turn.T, grown], -1), (order, order), at)
    assert strain.shape == (9, 9, 2, 3)
    assert np.abs(strain[:, :, 0]).max() < 1e-12
    np.testing.assert_allclose(strain[:, :, 1, :2], 1e-3, rtol=1e-9)
    np.testing.assert_allclose(strain[:, :, 1, 2], 0.0, atol=1e-12)
