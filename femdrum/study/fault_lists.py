"""Faults of many combinations told as few: equal ones once, with how many combinations they hit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ..errors import MISSING, Fault
from .study import Axis
from .tables import drawable

__all__ = ["WrongCombinations", "comparable", "in_order"]

_MOST_FAULTS = 60


class WrongCombinations:
    """Faults of combinations of a study's values, collected one after the other."""

    def __init__(self) -> None:
        self._wrong: dict[tuple[str, ...], _Wrong] = {}

    def __bool__(self) -> bool:
        return bool(self._wrong)

    def add(self, fault: Fault, where: str) -> None:
        """A fault of the combination described by `where`."""
        self._wrong.setdefault(_alike(fault), _Wrong(fault, where)).count += 1

    def told(self, name: str, total: int, axes: Sequence[Axis]) -> list[Fault]:
        """What to tell of a study of this name with `total` combinations."""
        out = []
        for item in list(self._wrong.values())[:_MOST_FAULTS]:
            fault = item.fault
            if 0 < item.count < total:
                way_out = fault.way_out
                lengths = [len(a.values) for a in axes if a.key == fault.field]
                if not lengths or item.count * lengths[0] != total:  # not simply wherever this value stands
                    way_out += f" ({item.count} of {total} variants, first at {item.where})"
                if drawable(fault):
                    way_out += "; leave_out_impossible = true under [variants] leaves such combinations out"
                fault = replace(fault, way_out=way_out.strip())
            out.append(fault)
        if len(self._wrong) > _MOST_FAULTS:
            out.append(Fault(name, MISSING, f"and {len(self._wrong) - _MOST_FAULTS} more faults like these"))
        return out


class _Wrong:
    def __init__(self, fault: Fault, where: str) -> None:
        self.fault, self.where, self.count = fault, where, 0


def _alike(fault: Fault) -> tuple[str, ...]:
    """Faults that differ only in the numbers of the other fields are told once."""
    return fault.field, repr(fault.value), re.sub(r"[-+.\d]+", "#", fault.allowed)


def comparable(value: Any) -> str:
    """Equal for equal values: 4 and 4.0, but not 4 and "4"."""
    if isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 2**53:
        return f"{value:.17g}"
    return repr(value)


def in_order(faults: Sequence[Fault]) -> list[Fault]:
    """By line, each once."""
    return sorted({str(f): f for f in faults}.values(), key=lambda f: f.line or 0)
