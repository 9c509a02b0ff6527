"""Critical planes: 10^4 places of 10^3 steps, kinds of history and of measure; processor seconds, one thread.

OMP_NUM_THREADS=1 python tests/benchmarks/critical_plane.py
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from femdrum.strength.critical_plane import fatemi_socie, findley, normal_plane, swt_plane

__all__ = ["main"]

PLACES, STEPS = 10_000, 1_000
STEEL = {"youngs_modulus_MPa": 206e3, "poissons_ratio": 0.3}


def loads(rng: Any) -> Any:
    """Three random loads on unit cases."""
    cases = 100 * rng.standard_normal((3, PLACES, 6))
    return (rng.standard_normal((STEPS, 3)) @ cases.reshape(3, -1)).reshape(STEPS, PLACES, 6)


def periods(rng: Any) -> Any:
    """A period of four harmonics with phases of their own in each component."""
    history = np.zeros((STEPS, PLACES, 6))
    t = 2 * np.pi * np.arange(STEPS)[:, None, None] / STEPS
    for j in (1, 2, 3, 4):
        cosine, sine = 100 / j * rng.standard_normal((2, 1, PLACES, 6))
        history += cosine * np.cos(j * t)
        history += sine * np.sin(j * t)
    return history


def surface(rng: Any) -> Any:
    """Three components of a free surface, each random: no step is near another."""
    history = np.zeros((STEPS, PLACES, 6))
    for k in (0, 1, 3):
        history[..., k] = 100 * rng.standard_normal((STEPS, PLACES))
    return history


def cloud(rng: Any) -> Any:
    """Six components, each random."""
    return 100 * rng.standard_normal((STEPS, PLACES, 6))


MEASURES: dict[str, Callable[[Any], Any]] = {
    "findley": lambda h: findley(h, 0.3).parameter_MPa,
    "normal_plane": lambda h: normal_plane(h).amplitude_MPa,
    "fatemi_socie": lambda h: fatemi_socie(h, 0.6, yield_MPa=355, **STEEL).parameter,
    "swt_plane": lambda h: swt_plane(h, **STEEL).parameter,
}


def main() -> None:
    """Run them."""
    for make in (loads, periods, surface, cloud):
        history = make(np.random.default_rng(1))
        for name, measure in MEASURES.items():
            if name != "findley" and make is not loads:
                continue
            before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            start = time.process_time()
            found = measure(history)
            seconds = time.process_time() - start
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"{make.__name__}, {name}: {PLACES} places x {STEPS} steps in {seconds:.1f} s, mean {found.mean():.4g}; "
                f"memory {before:.0f} MB before, {peak:.0f} MB at most"
            )


if __name__ == "__main__":
    main()
