"""EdgeStress adds components before principals; quantities print no more than they know."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import femdrum as fd
from femdrum.edge import EdgeStress, UnitCase, principal
from femdrum.errors import NoNumber
from femdrum.fem.reference import lobatto
from femdrum.fem.sampling import between_nodes, wall_places
from femdrum.quantity import Quantity, Verdict, rounded


def edge(stress: np.ndarray, step: np.ndarray | None = None) -> EdgeStress:
    """A circle's edge of n places, one depth, from the along-edge stress [case, s]."""
    cases, n = stress.shape
    full = np.zeros((cases, 1, n, 1, 3))
    full[:, 0, :, 0, 0] = stress
    change = np.zeros_like(full)
    if step is not None:
        change[:, 0, :, 0, 0] = step
    angle = 2 * np.pi * np.arange(n) / n
    place = np.zeros((n, 1, 3))
    place[:, 0, 0], place[:, 0, 1] = np.cos(angle), np.sin(angle)
    return EdgeStress(
        cases=tuple(UnitCase(f"case {i}", "MPa", "test") for i in range(cases)),
        s_mm=angle,
        depth_mm=np.zeros(1),
        offset_mm=np.zeros(1),
        place_mm=place,
        area_mm2=np.full((n, 1), 2 * np.pi / n),
        stress=full,
        step=change,
        pressure=np.zeros((cases, 1, n, 1)),
    )


ANGLE = 2 * np.pi * np.arange(64) / 64


def test_components_add_before_principals_are_taken() -> None:
    both = edge(np.stack([1 - 2 * np.cos(2 * ANGLE), 1 + 2 * np.cos(2 * ANGLE)]))
    together = both.combine([1.0, 1.0]).peaks()
    alone = [float(both.combine(f).peaks().tension) for f in ([1, 0], [0, 1])]
    assert float(together.tension) == pytest.approx(2.0)  # equibiaxial, not 3 + 3
    assert alone == pytest.approx([3.0, 3.0])


def test_peak_between_samples_is_found() -> None:
    shifted = edge((1 - 2 * np.cos(2 * (ANGLE - 0.5 * ANGLE[1])))[None])
    assert float(shifted.combine([1.0]).peaks().tension) == pytest.approx(3.0, abs=1e-4)


def test_peak_below_the_rim_is_found_between_depths() -> None:
    """A parabola through the wall with its top between two samples; none is added across a rim or beyond the wall."""
    depth = np.array([0.0, 0.0, 1.0, 3.0, 6.0, 8.0, 8.0])
    offset = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0])
    base = edge(np.ones((1, 64)))
    wall = 5.0 - 0.1 * (depth - 4.1) ** 2
    wall[[0, -1]] = 0.0
    tall = np.zeros((1, 1, 64, depth.size, 3))
    tall[0, 0, :, :, 0] = wall * (1 + 1e-3 * np.cos(ANGLE))[:, None]

    def peak(stress: np.ndarray) -> float:
        changed = replace(
            base, depth_mm=depth, offset_mm=offset, stress=stress, step=np.zeros_like(stress), earlier=np.zeros_like(stress),
            place_mm=np.zeros((64, depth.size, 3)), area_mm2=np.ones((64, depth.size)), pressure=np.zeros(stress.shape[:-1]),
        )  # fmt: skip
        return float(changed.combine([1.0]).peaks().tension)

    assert peak(tall) == pytest.approx(5.005, rel=1e-4)
    depth[4:] += 2.0  # from a thin layer to a thick one: the sample itself
    assert peak(tall) == pytest.approx(float(tall.max()), rel=1e-3)
    depth[4:] -= 2.0
    falling = tall.copy()
    falling[..., 0] = tall[..., :1, 0] + (10.0 - depth)  # highest at the outer rim: nothing beyond it
    falling[:, :, :, 0] = 0.0
    assert peak(falling) == pytest.approx(10.0, abs=0.01)


def test_samples_through_the_wall_lie_on_the_polynomial() -> None:
    order = 3
    ends = np.array([0.0, 2.0, 7.0, 9.0])
    nodes = np.append((ends[:-1, None] + np.diff(ends)[:, None] * 0.5 * (lobatto(order) + 1)[:-1]).ravel(), 9.0)
    matrix = between_nodes(order, wall_places(3, 8, 4))
    at = matrix @ nodes
    assert at.size == 8 + 4 + 8 + 1
    assert (np.diff(at) > 0).all()
    assert at[1] < 0.1 * at[8] / 2  # they crowd towards the surface
    np.testing.assert_allclose(at + at[::-1], 9.0, atol=1e-12)
    cubic = np.polynomial.Polynomial([1.0, -2.0, 0.3, 0.05])
    np.testing.assert_allclose(matrix @ cubic(nodes), cubic(at), rtol=1e-12)
    one = between_nodes(order, wall_places(1, 8, 4)) @ nodes[: order + 1]  # a single layer has both surfaces
    assert one.size == 17
    np.testing.assert_allclose(one + one[::-1], 2.0, atol=1e-12)


def test_the_larger_magnitude_is_the_peak_with_its_sign() -> None:
    pushed = edge((1 - 2 * np.cos(2 * ANGLE))[None]).combine([-1.0]).peaks()
    assert float(pushed.peak) == pytest.approx(-3.0)
    assert pushed.at is not None
    assert abs(pushed.at.y_mm) == pytest.approx(1.0)


def test_band_comes_from_the_change_of_the_last_mesh_and_adds_with_sign() -> None:
    step = 0.01 * np.stack([np.ones(64), np.ones(64)])
    e = edge(np.stack([1 - 2 * np.cos(2 * ANGLE), 1 - 2 * np.cos(2 * ANGLE)]), step)
    assert e.combine([1.0, 0.0]).peaks().peak.band == pytest.approx(0.01, rel=0.02)
    assert e.combine([1.0, -0.5]).peaks().peak.band == pytest.approx(0.005, rel=0.02)
    assert e.combine([1.0, 1.0]).peaks(asked=0.001).peak.verdict == Verdict.NOT_SETTLED
    assert e.combine([1.0, 1.0]).peaks(asked=0.01).peak.verdict == Verdict.SETTLED


def test_pressure_is_the_third_principal_stress() -> None:
    e = edge(np.ones((1, 64)))
    pressed = EdgeStress(**{**vars(e), "pressure": np.full((1, 1, 64, 1), 5.0)})
    assert float(pressed.combine([1.0]).peaks().compression) == pytest.approx(-5.0)


def test_principal_stress_does_not_depend_on_the_frame() -> None:
    rng = np.random.default_rng(1)
    s = rng.normal(size=(50, 3))
    turn = rng.uniform(0, np.pi, 50)
    c, n = np.cos(turn), np.sin(turn)
    turned = np.stack(
        [
            c * c * s[:, 0] + n * n * s[:, 1] + 2 * n * c * s[:, 2],
            n * n * s[:, 0] + c * c * s[:, 1] - 2 * n * c * s[:, 2],
            n * c * (s[:, 1] - s[:, 0]) + (c * c - n * n) * s[:, 2],
        ],
        -1,
    )
    assert np.allclose(principal(s), principal(turned), atol=1e-12)


def test_wrong_shapes_and_unknown_cases_are_named() -> None:
    e = edge(np.ones((1, 64)))
    with pytest.raises(ValueError, match=r"EdgeStress\.pressure has shape"):
        EdgeStress(**{**vars(e), "pressure": np.zeros((1, 2, 64, 1))})
    with pytest.raises(ValueError, match="2 columns for 1 unit cases"):
        e.combine([1.0, 2.0])
    with pytest.raises(KeyError, match="known: case 0"):
        e.case_index("rotation")


@pytest.mark.parametrize(
    ("value", "band", "text"),
    [
        (3.15257, 0.0021, "3.153 ± 0.003, settled"),
        (3.15257, 0.0115, "3.153 ± 0.012, settled"),
        (83.289, 0.347, "83.3 ± 0.4, settled"),
        (1234.5, 40.0, "1230 ± 40, settled"),
        (-0.00123456, 0.00002, "-0.00123 ± 0.00002, settled"),
        (99.97, 0.96, "100.0 ± 1.0, settled"),
    ],
)
def test_only_known_digits_are_printed(value: float, band: float, text: str) -> None:
    assert str(Quantity(value, "", band)) == text


def test_no_number_prints_none_and_refuses_to_be_one() -> None:
    none = Quantity(None, "MPa", None, Verdict.UNBOUNDED, "peak stress")
    assert str(none) == "no number, unbounded"
    with pytest.raises(NoNumber, match="peak stress has no number"):
        float(none)


def test_rounding_never_narrows_the_band() -> None:
    rng = np.random.default_rng(2)
    for value, band in zip(rng.normal(0, 100, 300), 10 ** rng.uniform(-5, 2, 300), strict=True):
        text = str(Quantity(value, "", band)).split(",")[0]
        shown, shown_band = (float(t) for t in text.split(" ± "))
        assert shown_band >= band * (1 - 1e-9)
        assert abs(shown - value) <= shown_band
    assert rounded(2.0, 0.0) == "2"


def test_public_names_are_all_there() -> None:
    for name in fd.__all__:
        assert getattr(fd, name) is not None
