"""What a drawing of the model is made from: one variant of a study, checked or read back, and what varies in the study."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ..model import Condition, Load, Machine, Material
from ..model.drum_input import DrumInput
from ..model.end_input import EndInput
from ..model.load import LOADS
from ..model.machine import Bar, Limit, RotorPart
from ..study import Results, StoredVariant, Study
from .parts import part_of
from .words import axis_value

__all__ = ["Drawn", "drawn_of_results", "drawn_of_study", "range_words"]


@dataclass(frozen=True)
class Drawn:
    """One variant to be drawn.

    varied: values of each axis of the study by the full key in its file, `part.cutout.corner_radius_mm`. about: what tells the
    variant from the others, in words. end, drum: where the study has them.
    """

    part: Any
    loads: tuple[Load, ...] = ()
    conditions: tuple[Condition, ...] = ()
    machine: Machine | None = None
    material: Material | None = None
    varied: Mapping[str, tuple[Any, ...]] = field(default_factory=dict)
    about: str = ""
    end: EndInput | None = None
    drum: DrumInput | None = None

    def size(self, key: str, value: float, unit: str = "") -> str:
        """A dimension as it stands in a drawing, with the range it has in the study: `12 (4 to 20, full)`."""
        text = f"{value:.4g}{unit}"
        several = self.varied.get(key, ())
        return f"{text} ({range_words(several)})" if len(several) > 1 else text

    @property
    def cases(self) -> tuple[str, ...]:
        """Names of what acts: the conditions, without any all loads."""
        return tuple(c.name for c in self.conditions or self.loads)

    def shares(self, case: str) -> dict[str, float]:
        """Loads of a condition with their shares; of a load itself. Raises KeyError for an unknown name."""
        for condition in self.conditions:
            if condition.name == case:
                return dict(condition.loads)
        if case in {load.name for load in self.loads}:
            return {case: 1.0}
        raise KeyError(f"no condition and no load {case!r}")


def range_words(values: Sequence[Any]) -> str:
    """`4 to 20, full`: the range of the numbers, then what is no number."""
    numbers = [v for v in values if isinstance(v, (int, float)) and not isinstance(v, bool)]
    words = [str(v) for v in values if v not in numbers]
    if not numbers:
        return ", ".join(words)
    low, high = min(numbers), max(numbers)
    return ", ".join([f"{low:g} to {high:g}" if high > low else f"{low:g}", *words])


def drawn_of_study(study: Study, variant: int = 0) -> Drawn:
    """A variant of a study, by its number from 0. Raises IndexError where there is none."""
    chosen = study.variants[variant]
    about = ", ".join(axis_value(a.column, v) for a, v in zip(study.axes, chosen.values, strict=True) if v is not None)
    return Drawn(
        part=chosen.part, loads=chosen.loads, conditions=chosen.conditions, machine=chosen.machine, material=chosen.material,
        varied={a.key: a.values for a in study.axes}, about=about,
        end=study.life.end if study.life is not None else None,
        drum=study.life.drum.drum if study.life is not None and study.life.drum is not None else None,
    )  # fmt: skip


def drawn_of_results(results: Results, variant: StoredVariant) -> Drawn | None:
    """A stored variant; None for a mesh from a file, which results do not hold."""
    inputs = variant.inputs
    part = part_of(inputs)
    if part is None:
        return None
    loads = []
    for given in inputs["load"]:
        fields = dict(given)
        loads.append(LOADS[fields.pop("kind")](**fields))
    about = ", ".join(axis_value(column, value) for column, value in variant.axes.items() if value is not None)
    return Drawn(
        part=part, loads=tuple(loads), conditions=tuple(_condition(c) for c in inputs.get("condition", ())),
        machine=_machine(inputs.get("machine")), material=_material(inputs.get("material")),
        varied={a.key: tuple(a.values) for a in results.axes}, about=about,
    )  # fmt: skip


def _condition(given: Mapping[str, Any]) -> Condition:
    return Condition(name=given["name"], loads=given["loads"])


def _machine(given: Mapping[str, Any] | None) -> Machine | None:
    if given is None:
        return None
    fields = {k: v for k, v in given.items() if k != "kind"}
    if "bar" in fields:
        fields["bar"] = Bar(**fields["bar"])
    fields["limits"] = tuple(Limit(**limit) for limit in fields.get("limits", ()))
    if "rotor_parts" in fields:
        fields["rotor_parts"] = tuple(RotorPart(**part) for part in fields["rotor_parts"])
    return Machine(**fields)


def _material(given: Mapping[str, Any] | None) -> Material | None:
    if given is None:
        return None
    # where its values come from stands in the results; a drawing needs the values alone
    fields = {k: v for k, v in given.items() if k not in ("kind", "provenance")}
    return Material(**fields)
