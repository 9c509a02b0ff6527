"""The edge stress on disk: arrays without loss, unit cases as text."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import numpy as np

from ..edge import EdgeStress, UnitCase

__all__ = ["load_edge", "save_edge"]

_ARRAYS = tuple(f.name for f in dataclasses.fields(EdgeStress) if f.name != "cases")


def save_edge(edge: EdgeStress, path: Path) -> None:
    """Write an edge stress as .npz."""
    cases = json.dumps([dataclasses.asdict(case) for case in edge.cases])
    np.savez_compressed(path, cases=np.array(cases), **{name: getattr(edge, name) for name in _ARRAYS})


def load_edge(path: Path) -> EdgeStress:
    """Read it back, the same to the last bit."""
    with np.load(path, allow_pickle=False) as data:
        cases = tuple(UnitCase(**case) for case in json.loads(str(data["cases"])))
        return EdgeStress(cases=cases, **{name: data[name] for name in _ARRAYS})
