"""What sliders may move: each condition as its loads' own factors on the unit cases, with what bars answer to each load.

A bar across the ring answers to all loads together, and linearly: push = C free - W factors, the same C and W for all states
that hold the same bars. The stored states give equations for it. A load whose answer follows from them may be moved;
one whose answer does not stays as it is.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import FemdrumError
from ..loads.factors import factors
from ..loads.result import Factors, Strut
from ..study import Results, StoredVariant, Variant, study_from_text
from ..study.answers import StoredAnswer

__all__ = ["LEAST_SPEED", "MOST_SPEED", "TOGETHER", "LoadPart", "Mix", "mixes", "own_variant", "speed_rpm"]

Array = NDArray[np.float64]

TOGETHER = "loads together"
CLOSE = 1e-6  # relative: what equations and formulas may miss the stored factors by
POWERS = (0, 1, 2, -1)  # of the speed that a load may go with
LEAST_SPEED, MOST_SPEED = 0.5, 1.25  # over the study's: a slider's range
TRIED_SPEEDS = (LEAST_SPEED, 0.75, 1.1, MOST_SPEED)
_KEPT_TABLES = ("part", "material", "machine", "load", "condition", "accuracy", "variants")


@dataclass(frozen=True)
class LoadPart:
    """A load's part of a state [3 (steady, cosine, sine), case] at its share; power: of the speed, None: not known.

    start: what its slider begins with.
    """

    name: str
    share: float
    vectors: Array
    power: int | None
    start: float = 1.0


@dataclass(frozen=True)
class Mix:
    """A state that people may change: loads that move, and the rest [3, case], which stands still, with the loads in it."""

    name: str
    loads: tuple[LoadPart, ...]
    rest: Array
    standing: tuple[str, ...]

    def at(self, times: Sequence[float]) -> Array:
        """Factors [3, case] with each load so many times as large."""
        return self.rest + sum(
            (t * p.vectors for t, p in zip(times, self.loads, strict=True)), np.zeros_like(self.rest)
        )


def mixes(results: Results, variant: StoredVariant) -> tuple[Mix, ...]:
    """The conditions of a variant; without conditions all loads together, then each load. Empty where nothing is stored."""
    answers = [a for a in variant.answers if a.turning]
    if variant.edge is None or not answers:
        return ()
    own = own_variant(results, variant)
    vectors = _Vectors(variant, own, answers)
    conditions = [a for a in answers if a.case_kind == "condition"]
    if conditions:
        return tuple(vectors.mix(a) for a in conditions)
    alone = tuple(vectors.mix(a) for a in answers)
    free = [m for m in alone if m.loads and m.loads[0].name not in vectors.barred]
    if len(free) < 2:
        return alone
    parts = tuple(replace(m.loads[0], start=1.0 if k == 0 else 0.0) for k, m in enumerate(free))
    return (Mix(TOGETHER, parts, np.zeros_like(parts[0].vectors), ()), *alone)


def speed_rpm(results: Results, variant: StoredVariant) -> float | None:
    """The speed that a slider starts from: the machine's, else the one of all loads that have one."""
    own = own_variant(results, variant)
    return None if own is None else _speed(own)


def own_variant(results: Results, variant: StoredVariant) -> Variant | None:
    """The variant as the study's text makes it; None where that is not read any more as it was."""
    return _study_variant(results.source, results.name, json.dumps(variant.inputs, sort_keys=True))


def _speed(own: Variant) -> float | None:
    if own.machine is not None and own.machine.speed_rpm:
        return float(own.machine.speed_rpm)
    found = {float(speed) for load in own.loads if (speed := getattr(load, "speed_rpm", None))}
    return found.pop() if len(found) == 1 else None


class _Vectors:
    """The loads of one variant as vectors, without and with what bars answer."""

    def __init__(self, variant: StoredVariant, own: Variant | None, answers: Sequence[StoredAnswer]) -> None:
        assert variant.edge is not None
        self.names = tuple(case.name for case in variant.edge.cases)
        self.answers, self.own = answers, own
        self.made = {} if own is None else _made(own, 1.0)
        self.power = {} if own is None else _powers(own, self.made)
        self.barred = {n for n, m in self.made.items() if m.strut is not None}
        self.known = {a.case: np.array(a.turning) for a in answers if a.case_kind != "condition"}
        for name, made in self.made.items():
            self.known[name] = self._array(made)

    def _array(self, made: Factors) -> Array:
        out = np.zeros((3, len(self.names)))
        for row, part in zip(out, (made.steady, made.cosine, made.sine), strict=True):
            for case, factor in part.items():
                row[self.names.index(case)] += factor
        return out

    @staticmethod
    def shares(answer: StoredAnswer) -> dict[str, float]:
        if answer.case_kind == "condition" and isinstance(answer.load.get("loads"), dict):
            return {str(n): float(s) for n, s in answer.load["loads"].items()}
        return {answer.case: 1.0}

    def struts(self, shares: Sequence[str] | dict[str, float]) -> dict[int, tuple[str, Strut]]:
        """Bars that are clamped while these loads act; of two loads on one bar the last one's, as states are solved."""
        found = ((n, self.made[n].strut) for n in shares if n in self.made)
        return {s.slot: (n, s) for n, s in found if s is not None}

    def mix(self, answer: StoredAnswer) -> Mix:
        """The state of an answer, taken apart as far as what is stored allows."""
        shares, total = self.shares(answer), np.array(answer.turning)
        bars = self.struts(shares)
        parts, standing = [], []
        pushes = self._pushes(bars) if bars else None
        for name, share in shares.items():
            vector = self.known.get(name)
            if vector is not None and pushes is not None:
                vector = pushes.of(vector, self._free(name, bars))
            if vector is None:
                standing.append(name)
            else:
                parts.append(LoadPart(name, share, share * vector, self.power.get(name)))
        rest = total - sum((p.vectors for p in parts), np.zeros_like(total))
        scale = max(float(np.abs(row).max()) for row in (total, *(p.vectors for p in parts)))
        if not standing and float(np.abs(rest).max()) > CLOSE * scale:
            return Mix(answer.case, (), total, tuple(shares))
        return Mix(answer.case, tuple(parts), rest if standing else np.zeros_like(rest), tuple(standing))

    def _free(self, name: str, bars: dict[int, tuple[str, Strut]]) -> Array:
        """What a load's own bar would stretch by if nothing held it, for each bar."""
        return np.array(
            [s.pull_N / s.stiffness_N_mm + s.own_stretch_mm if n == name else 0.0 for n, s in bars.values()]
        )

    def _pushes(self, bars: dict[int, tuple[str, Strut]]) -> _Pushes:
        """From every stored state that holds the same bars."""
        at = [self.names.index(s.case) for _, s in bars.values()]
        rows, pushes = [], []
        for answer in self.answers:
            shares = self.shares(answer)
            if self.struts(shares) != bars or not set(shares) <= set(self.known):
                continue
            vector = sum((s * self.known[n] for n, s in shares.items()), np.zeros((3, len(self.names))))
            free = sum((s * self._free(n, bars) for n, s in shares.items()), np.zeros(len(bars)))
            rows.append(np.hstack([vector, np.outer([1.0, 0.0, 0.0], free)]))
            pushes.append(np.array(answer.turning)[:, at] - vector[:, at])
        return _Pushes(np.concatenate(rows), np.concatenate(pushes), at)


class _Pushes:
    """How bars answer, as far as equations push = rows . x tell."""

    def __init__(self, rows: Array, pushes: Array, at: list[int]) -> None:
        scale = np.abs(rows).max(0)
        self.scale, self.at = np.where(scale > 0, scale, 1.0), at
        u, s, v = np.linalg.svd(rows / self.scale, full_matrices=False)
        keep = s > 1e-9 * s[0]
        self.span = v[keep]
        self.answer = self.span.T @ ((u[:, keep] / s[keep]).T @ pushes)
        missed = np.abs(rows / self.scale @ self.answer - pushes).max()
        self.holds = bool(missed <= CLOSE * max(float(np.abs(pushes).max()), 1e-300))

    def of(self, vector: Array, free: Array) -> Array | None:
        """The load with the push that it calls up; None where the equations do not tell it."""
        features = np.hstack([vector, np.outer([1.0, 0.0, 0.0], free)]) / self.scale
        outside = features - features @ self.span.T @ self.span
        if not self.holds or np.abs(outside).max() > CLOSE * max(float(np.abs(features).max()), 1e-300):
            return None
        out = vector.copy()
        out[:, self.at] += features @ self.answer
        return out


def _made(own: Variant, times: float) -> dict[str, Factors]:
    """Factors of each load with the speed so many times as high; loads that cannot be made are left out."""
    speed, machine = _speed(own), own.machine
    if times != 1.0 and machine is not None and machine.speed_rpm:
        machine = replace(machine, speed_rpm=machine.speed_rpm * times)
    out = {}
    for load in own.loads:
        given: Any = load
        if times != 1.0 and getattr(load, "speed_rpm", None) == speed:
            given = replace(given, speed_rpm=speed * times) if speed is not None else given
        try:
            out[load.name] = factors(own.part, given, machine, own.material)
        except (FemdrumError, KeyError):
            continue
    return out


def _powers(own: Variant, made: dict[str, Factors]) -> dict[str, int]:
    """The power of the speed that each load goes with, where one power fits all that it does."""
    if _speed(own) is None:
        return {}
    others = {times: _made(own, times) for times in TRIED_SPEEDS}
    out = {}
    for name, first in made.items():
        for power in POWERS:
            if all(
                name in other and _is_power(_numbers(first), _numbers(other[name]), times**power)
                for times, other in others.items()
            ):
                out[name] = power
                break
    return out


def _numbers(made: Factors) -> dict[str, float]:
    """All that a load does, by name."""
    parts = {"steady": made.steady, "cosine": made.cosine, "sine": made.sine}
    out = {f"{part} {case}": factor for part, terms in parts.items() for case, factor in terms.items()}
    if made.strut is not None:
        out["bar"] = made.strut.pull_N / made.strut.stiffness_N_mm + made.strut.own_stretch_mm
    return out


def _is_power(first: dict[str, float], other: dict[str, float], times: float) -> bool:
    return set(first) == set(other) and all(
        abs(other[k] - times * v) <= 1e-9 * abs(times * v) for k, v in first.items()
    )


@lru_cache(maxsize=64)
def _study_variant(source: str, name: str, inputs: str) -> Variant | None:
    """The variant with these inputs, from the study's text; None where the text is not read any more as it was."""
    return _by_inputs(source, name).get(inputs)


@lru_cache(maxsize=4)
def _by_inputs(source: str, name: str) -> dict[str, Variant]:
    # what else stands in a study may name files that are not at hand here
    pieces = re.split(r"(?m)^(?=\s*\[)", source)
    kept = [p for p in pieces if (m := re.match(r"\s*\[+\s*\"?(\w+)", p)) is None or m.group(1) in _KEPT_TABLES]
    try:
        study = study_from_text("".join(kept), name=name)
    except FemdrumError:
        return {}
    return {json.dumps(json.loads(json.dumps(v.inputs)), sort_keys=True): v for v in study.variants}
