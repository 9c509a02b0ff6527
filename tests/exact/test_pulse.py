"""Pulses: the motion of single oscillators in closed form, against integrals over time and known maxima."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from femdrum.errors import InputFault
from femdrum.fem.pulse import Pulse, given_pulse
from femdrum.loads.dynamic import half_sine_factor, half_sine_most

JUMPS = given_pulse([0.0, 0.3, 0.3, 0.7, 1.0], [0.2, 1.0, -0.5, 0.4, 0.0])
PULSES = [Pulse("half_sine", 1.0), Pulse("rectangle", 1.0), Pulse("triangle", 1.0), JUMPS]


@pytest.mark.parametrize("pulse", PULSES, ids=lambda p: p.shape)
@pytest.mark.parametrize("omega", [0.0, 1e-3, 0.4, math.pi * (1 - 1e-9), math.pi, 7.0, 60.0])
def test_motion_is_that_of_a_careful_integration(pulse: Pulse, omega: float) -> None:
    stops = [0.0, 0.3, 0.5, 0.7, 1.0, 2.2]
    state = np.zeros(2)
    for a, b in itertools.pairwise(stops):
        t = np.linspace(a, b, 9)[1:-1]
        run = solve_ivp(
            lambda x, y: [y[1], float(pulse.share(np.array([x]))[0]) - omega**2 * y[0]],
            (a, b - 1e-13), state, "DOP853", t, rtol=1e-11, atol=1e-13,
        )  # fmt: skip
        q, v = pulse.answer(np.array([omega]), t)
        assert q[0] == pytest.approx(run.y[0], abs=1e-8)
        assert v[0] == pytest.approx(run.y[1], abs=1e-8 * max(1.0, omega))
        state = np.array([p[0, 0] for p in pulse.answer(np.array([omega]), np.array([b]))])


@pytest.mark.parametrize("pulse", PULSES, ids=lambda p: p.shape)
def test_work_is_the_energy_that_is_left(pulse: Pulse) -> None:
    omega = np.array([0.0, 0.5, math.pi, 9.0, 300.0])
    q, v = (part[:, 0] for part in pulse.answer(omega, np.array([1.0])))
    assert pulse.work(omega) == pytest.approx(0.5 * v**2 + 0.5 * (omega * q) ** 2, rel=1e-9, abs=1e-16)
    assert v[0] == pytest.approx(pulse.impulse_s, rel=1e-12)


@pytest.mark.parametrize("ratio", [0.05, 0.25, 0.5, 0.81, 1.0, 1.5, 2.5, 6.3])
def test_half_sine_has_the_known_factor(ratio: float) -> None:
    omega = np.array([2 * math.pi * ratio])
    t = np.linspace(0.0, 1.0 + 1.5 / ratio, 40_001)
    most = float(np.abs(omega[0] ** 2 * Pulse("half_sine", 1.0).answer(omega, t)[0]).max())
    assert most == pytest.approx(half_sine_factor(duration_over_period=ratio), rel=1e-6)


def test_largest_factors_of_the_shapes() -> None:
    """Rectangle: 2 from half a period on. Half sine: 1.768 at 0.81. Triangle: about 1.52 at 0.93 (both from memory)."""
    ratios = np.linspace(0.3, 1.6, 131)
    found = {}
    for shape in ("half_sine", "rectangle", "triangle"):
        omega = 2 * math.pi * ratios
        t = np.linspace(0.0, 6.0, 12_001)
        most = np.abs(omega[:, None] ** 2 * Pulse(shape, 1.0).answer(omega, t)[0]).max(1)
        found[shape] = float(most.max()), float(ratios[most.argmax()])
    assert found["half_sine"] == (pytest.approx(half_sine_most()[0], abs=1e-3), pytest.approx(0.81, abs=0.02))
    assert found["rectangle"][0] == pytest.approx(2.0, abs=1e-4)
    assert found["triangle"] == (pytest.approx(1.52, abs=0.01), pytest.approx(0.93, abs=0.05))


def test_share_impulse_and_peak() -> None:
    t = np.array([-0.1, 0.0, 0.25, 0.5, 0.999_999, 1.0, 2.0])
    assert Pulse("rectangle", 1.0).share(t).tolist() == [0, 1, 1, 1, 1, 0, 0]
    assert Pulse("triangle", 1.0).share(t)[:4].tolist() == [0, 0, 0.5, 1]
    assert JUMPS.share(np.array([0.0, 0.3, 0.7])) == pytest.approx([0.2, -0.5, 0.4])
    assert [p.impulse_s for p in PULSES] == pytest.approx([2 / math.pi, 1.0, 0.5, 0.18 - 0.02 + 0.06])
    assert [p.peak for p in PULSES] == [1.0, 1.0, 1.0, 1.0]


def test_faults() -> None:
    for make, word in (
        (lambda: Pulse("saw", 1.0), "shape"),
        (lambda: Pulse("half_sine", 0.0), "duration_s"),
        (lambda: Pulse("given", 1.0), "points"),
        (lambda: given_pulse([0.0, 1.0], [0.0, 0.0]), "zero"),
        (lambda: given_pulse([0.1, 1.0], [0.0, 1.0]), "begin at 0"),
        (lambda: given_pulse([0.0, 1.0, 0.5], [0.0, 1.0, 1.0]), "not fall"),
        (lambda: given_pulse([0.0, math.inf], [0.0, 1.0]), "finite"),
        (lambda: given_pulse([0.0], [0.0]), "two or more"),
    ):
        with pytest.raises(InputFault, match=word):
            make()
