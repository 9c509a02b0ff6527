"""The figures of life: their kinds, and the ones that the report shows."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from ..study import Results
from .life_axis import LifePicture
from .life_choice import extremes, outcomes
from .life_crack import CrackPicture
from .life_edge import EdgeDamagePicture
from .life_haigh import HaighPicture
from .life_map import MapPicture
from .life_sn import SNPicture
from .life_tornado import SensitivityPicture
from .lines import Lines
from .picture import Picture

__all__ = ["LIFE_KINDS", "life_figures"]

LIFE_KINDS: dict[str, Callable[..., Picture]] = {
    "life": LifePicture,
    "map": MapPicture,
    "sn": SNPicture,
    "haigh": HaighPicture,
    "damage": EdgeDamagePicture,
    "crack": CrackPicture,
    "sensitivity": SensitivityPicture,
}


def life_figures(results: Results, lines: Lines) -> Iterator[tuple[Callable[..., Picture], tuple[Any, ...]]]:
    """Kind and arguments of each figure of the report: life over the axis, then the longest and the shortest life in detail."""
    found = extremes(outcomes(results))
    if not found:
        return
    yield LifePicture, (results, None, lines)
    for outcome in reversed(found):
        for name, kind in LIFE_KINDS.items():
            if name != "life":
                yield kind, (results, outcome.variant)
