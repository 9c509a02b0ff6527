"""At which angle of the drum an answer stands, and what each load of a condition then is: from the loads' own formulas."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from ..assess.clamp_contact import load_factors
from ..assess.combine import LoadVectors, add_up, load_vectors
from ..errors import FemdrumError
from ..study import Results, StoredVariant, Variant, study_from_text
from ..study.answers import StoredAnswer

__all__ = ["Turned", "angle_words", "turned"]

Array = NDArray[np.float64]
CLOSE = 1e-6  # relative: what the loads' formulas may miss the stored factors by


@dataclass(frozen=True)
class Turned:
    """phi_deg: how far the drum has turned, the first slot pointing straight down at 0; None where nothing turns.

    parts: each load at its share and that angle, factors on the unit loads; bars answer as to that load alone.
    """

    phi_deg: float | None
    parts: dict[str, Array]


def turned(results: Results, variant: StoredVariant, answer: StoredAnswer) -> Turned | None:
    """The angle of an answer to a load or a condition. None where its loads cannot be reckoned anew from the study."""
    edge = variant.edge
    names = () if edge is None else tuple(case.name for case in edge.cases)
    if not names or len(answer.factors) != len(names):
        return None
    vectors = _vectors(results.source, results.name, variant.label, names)
    shares = {s.load: s.share for s in answer.shares} or {answer.case: 1.0}
    if vectors is None or not set(shares) <= set(vectors):
        return None
    loads = [vectors[name] for name in shares]
    total = add_up(answer.case, loads, list(shares.values()))
    bars = np.array([name.startswith("strut:") for name in names])
    phi = _angle(total, np.array(answer.factors), ~bars)
    if phi is None:
        return None
    parts = {}
    for name, load in zip(shares, loads, strict=True):
        part = load.times(shares[name]).at(phi)
        own = variant.answer(name).factors
        part[bars] = shares[name] * np.array(own)[bars]
        parts[name] = part
    return Turned(math.degrees(phi) % 360.0 if total.turns else None, parts)


def angle_words(found: Turned | None) -> str:
    """`137`; a dash where nothing turns, nothing where the angle is not known."""
    if found is None:
        return ""
    return "-" if found.phi_deg is None else f"{found.phi_deg % 360:.0f}".replace("360", "0")


def _angle(total: LoadVectors, wanted: Array, free: NDArray[np.bool_]) -> float | None:
    """phi with steady + cos(phi) cosine + sin(phi) sine = wanted on the free cases; 0 where nothing turns."""
    steady, turning = total.steady[free], np.stack([total.cosine[free], total.sine[free]], -1)
    scale = np.maximum(np.maximum(np.abs(wanted[free]), np.abs(steady)), np.abs(turning).max(1, initial=0.0))
    scale = np.where(scale > 0, scale, 1.0)
    left, turning = (wanted[free] - steady) / scale, turning / scale[:, None]
    if not total.turns:
        return 0.0 if np.abs(left).max(initial=0.0) < CLOSE else None
    (c, s), *_ = np.linalg.lstsq(turning, left, rcond=None)
    met = np.abs(turning @ np.array([c, s]) - left).max() < CLOSE and abs(math.hypot(c, s) - 1) < 1e-3
    return math.atan2(s, c) if met else None


@lru_cache(maxsize=64)
def _vectors(source: str, name: str, label: str, names: tuple[str, ...]) -> dict[str, LoadVectors] | None:
    """A variant's loads as vectors over the unit cases; None where the study is not read any more as it was."""
    variant = _variants(source, name).get(label)
    if variant is None:
        return None
    try:
        made = {
            load.name: load_factors(variant.part, load, variant.machine, variant.material) for load in variant.loads
        }  # fmt: skip
        return {n: load_vectors(names, n, m.steady, m.cosine, m.sine) for n, m in made.items()}
    except (FemdrumError, KeyError):
        return None


@cache
def _variants(source: str, name: str) -> dict[str, Variant]:
    """Variants of a study by their labels."""
    try:
        study = study_from_text(source, name=name)
    except FemdrumError:
        return {}
    return {study.describe(v): v for v in study.variants}
