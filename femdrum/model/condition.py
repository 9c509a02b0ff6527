"""A named state of the machine: loads that act together, each with its share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from ..errors import MISSING
from .check import Checks

__all__ = ["Condition"]


@dataclass(frozen=True, kw_only=True)
class Condition:
    """Loads by name with the share of each that acts. Their fields are added with signs, their peaks never."""

    kind: ClassVar[str] = "condition"
    parts: ClassVar[tuple[str, ...]] = ("plate", "plate_row", "ring", "mesh")
    name: str
    loads: Mapping[str, float]

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        loads: object = self.loads
        if not isinstance(loads, Mapping) or not loads:
            missing = loads is MISSING or loads is None
            checks.add(
                "loads", MISSING if missing else loads,
                f"{'is missing; ' if missing else ''}must hold the names of loads, each with its share",
                "such as loads = { running = 1.0, jam = 1.0 }",
            )  # fmt: skip
            return checks.done()
        for load, share in loads.items():
            if isinstance(share, list):
                checks.add(
                    f"loads.{load}", share, "must be one number: a share does not vary", "write a condition for each"
                )
            else:
                checks.nonzero(f"loads.{load}", share, "leave the load out of the condition")
        object.__setattr__(self, "loads", dict(loads))
        return checks.done()

    def __hash__(self) -> int:
        return hash((self.name, tuple(sorted(self.loads.items()))))
