"""One results folder as it enters a comparison: its inputs by full name, its peaks and lives by variant."""

from __future__ import annotations

import csv
import json
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..edge import Spot
from ..errors import MISSING, Fault, FileFault, InputFault
from ..quantity import Quantity, Verdict
from .results import Results, StoredVariant
from .study import Axis

__all__ = ["CaseValue", "LifeValue", "Point", "Side", "family", "flat", "plain_number", "read_sides"]

MOST_FOLDERS = 8
# parts whose peaks mean the same thing
_FAMILIES = {"plate": "plates", "plate_row": "plates", "ring": "rings of a drum", "mesh": "meshes from files"}
_SINGULAR = {"limits": "limit", "rotor_parts": "rotor_part"}
_LEFT_ASIDE = ("provenance", "name")  # no inputs of their own


@dataclass(frozen=True)
class CaseValue:
    """What one load or condition gives. nominal: definition of the gross nominal stress; at: place of the peak."""

    case: str
    kind: str
    peak: Quantity
    kt_gross: Quantity
    kt_net: Quantity
    verdict: Verdict
    nominal: str
    at: Spot | None


@dataclass(frozen=True)
class LifeValue:
    """Life at the worst place of a variant. life_h: None is endless; p10_h, p90_h: scatter, None where not asked."""

    life_h: float | None
    place: str
    governs: str
    safety_factor: float | None
    verdict: str
    p10_h: float | None = None
    p90_h: float | None = None


@dataclass(frozen=True)
class Point:
    """A variant. axes: key of an axis -> value; inputs: full name -> value; cases: by name of the load or condition."""

    key: str
    axes: dict[str, Any]
    inputs: dict[str, Any]
    cases: dict[str, CaseValue]
    life: LifeValue | None = None


@dataclass(frozen=True)
class Side:
    """A results folder under its letter. asked: what was asked about life, and the duty, by full name."""

    letter: str
    folder: Path
    title: str
    kinds: tuple[str, ...]
    axes: tuple[Axis, ...]
    points: tuple[Point, ...]
    versions: dict[str, str]
    complete: bool
    asked: dict[str, Any] = field(default_factory=dict)


def family(kind: str) -> str:
    """Parts that may be laid beside each other, in words."""
    return _FAMILIES.get(kind, kind)


def read_sides(folders: Sequence[str | os.PathLike[str]]) -> tuple[Side, ...]:
    """The folders, read. Raises FileFault with all that stands against comparing them."""
    faults: list[Fault] = []
    if not 2 <= len(folders) <= MOST_FOLDERS:
        faults.append(Fault("DIR", len(folders), f"must be from 2 to {MOST_FOLDERS} results folders", "name each once"))
    sides: list[Side] = []
    seen: dict[str, str] = {}
    for n, folder in enumerate(folders[:MOST_FOLDERS]):
        path = Path(folder)
        real = os.path.realpath(path)
        if real in seen:
            faults.append(Fault(str(path), MISSING, f"is the same folder as {seen[real]}", "name each folder once"))
            continue
        seen[real] = str(path)
        try:
            _unfinished(path)
            sides.append(_side("ABCDEFGH"[n], Results.load(path)))
        except InputFault as error:
            faults += error.faults
        except (KeyError, TypeError, ValueError, OSError) as error:
            faults.append(Fault(str(path), MISSING, f"is damaged: {error}", "run the study again"))
    faults += _kinds(sides)
    if faults:
        raise FileFault(faults)
    return tuple(sides)


def _unfinished(path: Path) -> None:
    """Say what a folder is that holds no results of a study."""
    if not path.is_dir() or (path / "results.json").is_file():
        return
    if (path / "study.json").is_file():
        raise FileFault(
            Fault(
                str(path),
                MISSING,
                "holds a study that is not finished",
                "run its `femdrum study FILE` again; it goes on",
            )
        )
    for file in sorted(path.glob("*.json")):
        try:
            mark = json.loads(file.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            continue
        if isinstance(mark, dict) and mark.get("made by") == "femdrum":
            raise FileFault(
                Fault(
                    str(path),
                    MISSING,
                    f"holds {file.name} of another command; only results of `femdrum study` are compared",
                )
            )


def _kinds(sides: Sequence[Side]) -> Iterator[Fault]:
    """Folders whose parts have nothing to do with those of the first."""
    for side in sides[1:]:
        ours, theirs = ({family(k) for k in s.kinds} for s in (sides[0], side))
        if ours and theirs and not ours & theirs:
            yield Fault(
                str(side.folder), MISSING,
                f"holds {' and '.join(sorted(theirs))}, {sides[0].folder} holds {' and '.join(sorted(ours))}: their peaks are not of one thing",
                "compare folders of the same kind of part",
            )  # fmt: skip


def _side(letter: str, results: Results) -> Side:
    axes = results.axes
    lives = _lives(results)
    points = tuple(_point(v, axes, lives) for v in results.variants)
    asked = results.life
    return Side(
        letter,
        results.folder,
        results.title,
        tuple(dict.fromkeys(str(p.inputs["part.kind"]) for p in points)),
        axes,
        points,
        results.versions,
        all(c.peak.value is not None for p in points for c in p.cases.values()),
        flat({"life": asked.get("asked", {}), "duty": asked.get("duty", [])}) if asked else {},
    )


def _point(variant: StoredVariant, axes: Sequence[Axis], lives: dict[str, LifeValue]) -> Point:
    cases = {
        a.case: CaseValue(a.case, a.case_kind, a.peak, a.kt_gross, a.kt_net, a.verdict, a.nominal.definition, a.at)
        for a in variant.answers
    }
    own = {a.key: variant.axes[a.column] for a in axes}
    return Point(variant.key, own, flat(variant.inputs), cases, lives.get(variant.key))


def flat(inputs: Any, before: str = "") -> dict[str, Any]:
    """Inputs by their full name, as in a study file: `load.running.speed_rpm`; tables without a name by their number."""
    out: dict[str, Any] = {}
    for name, value in inputs.items():
        key = f"{before}.{_SINGULAR.get(name, name)}" if before else name
        if name in _LEFT_ASIDE:
            continue
        if isinstance(value, dict):
            out |= flat(value, key)
        elif isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            for n, item in enumerate(value, 1):
                out |= flat(item, f"{key}.{item['name']}" if item.get("name") else f"{key}[{n}]")
        else:
            out[key] = ", ".join(map(str, value)) if isinstance(value, list) else value
    return out


def plain_number(key: str, value: Any, inputs: dict[str, Any]) -> Any:
    """A value by which variants meet: 8 and 8.0 alike, a radius "full" as the millimetres that it is."""
    if value == "full" and key.endswith("corner_radius_mm"):
        home = key.removesuffix("corner_radius_mm")
        sizes = [inputs.get(home + n) for n in ("around_mm", "axial_mm", "size_x_mm", "size_y_mm")]
        known = [s for s in sizes if isinstance(s, (int, float))]
        value = 0.5 * min(known) if known else value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(f"{value:.12g}")
    return value


def _lives(results: Results) -> dict[str, LifeValue]:
    """Worst place of each variant from life.csv: its rows stand there from the worst on."""
    path = results.folder / "life.csv"
    if not results.life or not path.is_file():
        return {}
    worst: dict[str, dict[str, str]] = {}
    broken: set[str] = set()
    spread: dict[str, dict[str, str]] = {}
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            key, what = row["variant"], row["what"]
            if what == "base metal":
                worst.setdefault(key, row)
            elif what == "static" and row["verdict"] != "holds":
                broken.add(key)
            elif what == "scatter":
                spread[key] = row
    return {
        key: LifeValue(
            _number(row["life_h"]), row["place"], row["governs"], _number(row["safety_factor"]),
            "does not hold" if key in broken else row["verdict"],
            _number(spread.get(key, {}).get("life_p10_h", "")), _number(spread.get(key, {}).get("life_p90_h", "")),
        )
        for key, row in worst.items()
    }  # fmt: skip


def _number(text: str) -> float | None:
    return float(text) if text else None
