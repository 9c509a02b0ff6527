"""A study: axes of variation, and the variants they make; each variant known by its content."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..provenance import Provenance
from . import positions

if TYPE_CHECKING:
    from ..assess.life_plan import LifePlan
    from ..model import Accuracy, Condition, Load, Machine, Material
    from .rest_tables import RestOfDrum

__all__ = ["RESULT_FORMAT", "Axis", "Study", "Variant", "content_key", "digest", "inputs_of"]

# Part of every variant's key. Raise it when stored results must not be taken for new ones any more:
# when the layout of the stored files changes, or the numbers.
RESULT_FORMAT = 6


@dataclass(frozen=True)
class Axis:
    """A field given as a list. key: its full name in the file; column: its name in the results."""

    key: str
    column: str
    values: tuple[Any, ...]
    path: positions.Path = ()


@dataclass(frozen=True)
class Variant:
    """One combination of the axes, ready to be solved.

    key: short hash of all that decides the result. values: along the study's axes, None where the
    axis does not bear on this variant (the corner radius of a circle). paths: keep the stress along the paths of cracks.
    """

    key: str
    values: tuple[Any, ...]
    part: Any
    loads: tuple[Load, ...]
    material: Material
    accuracy: Accuracy
    machine: Machine | None = None
    conditions: tuple[Condition, ...] = ()
    paths: bool = False

    @property
    def cases(self) -> tuple[Load | Condition, ...]:
        """What has a row of its own in the results: the loads, then the conditions."""
        return (*self.loads, *self.conditions)

    @property
    def inputs(self) -> dict[str, Any]:
        """Everything that went in, defaults included, as plain values."""
        machine = {} if self.machine is None else {"machine": inputs_of(self.machine)}
        conditions = {"condition": [inputs_of(c) for c in self.conditions]} if self.conditions else {}
        return {
            "part": inputs_of(self.part),
            "material": inputs_of(self.material),
            **machine,
            "load": [inputs_of(load) for load in self.loads],
            **conditions,
            "accuracy": inputs_of(self.accuracy),
        }


@dataclass(frozen=True)
class Study:
    """A checked study.

    name: the file's stem; source: its text. left_out: combinations that cannot be drawn and were left
    out as the study asked, with a few of them in words.
    """

    title: str
    name: str
    source: str
    axes: tuple[Axis, ...]
    variants: tuple[Variant, ...]
    left_out: int = 0
    left_out_examples: tuple[str, ...] = ()
    life: LifePlan | None = None
    rest: RestOfDrum | None = None

    def describe(self, variant: Variant) -> str:
        """`corner_radius_mm = 8, wall_mm = 40`; empty where nothing varies."""
        return ", ".join(
            f"{axis.column} = {value}"
            for axis, value in zip(self.axes, variant.values, strict=True)
            if value is not None
        )


def inputs_of(thing: Any) -> Any:
    """Plain values of a model object: its kind or shape first, then its fields; what is not given is left out."""
    if isinstance(thing, (Provenance, Enum)):
        return str(thing)
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        out: dict[str, Any] = {}
        for name in ("kind", "shape"):
            if isinstance(getattr(type(thing), name, None), str):
                out[name] = getattr(thing, name)
        for field in dataclasses.fields(thing):
            value = getattr(thing, field.name)
            if value is not None and value != "":
                out[field.name] = inputs_of(value)
        # both pairs of names say the same; a drum is spoken of around and along its axis
        cutout = out.get("cutout")
        if isinstance(cutout, dict):
            unused = ("size_x_mm", "size_y_mm") if out.get("kind") == "ring" else ("around_mm", "axial_mm")
            out["cutout"] = {k: v for k, v in cutout.items() if k not in unused}
        return out
    if isinstance(thing, (tuple, list)):
        return [inputs_of(item) for item in thing]
    if isinstance(thing, dict):
        return {str(k): inputs_of(v) for k, v in thing.items()}
    return thing


def digest(thing: Any) -> str:
    """The same for the same inputs: 60 and 60.0 alike, provenance left aside."""
    plain = _plain(inputs_of(thing))
    file = getattr(thing, "file", None)
    if isinstance(file, str):  # what the file holds counts, not where it lies
        plain["file"] = hashlib.sha256(Path(file).read_bytes()).hexdigest()
    text = json.dumps(plain, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def content_key(digests: Sequence[str]) -> str:
    """Twelve hexadecimal digits from the digests of a variant's sections."""
    text = "\n".join((f"format {RESULT_FORMAT}", *digests))
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _plain(value: Any) -> Any:
    if isinstance(value, bool):
        return value
    if isinstance(value, (int, float)):
        return float(value)
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items() if k != "provenance"}
    if isinstance(value, list):
        return [_plain(v) for v in value]
    return value if isinstance(value, str) else str(value)
