"""The edge stress on disk: arrays without loss, unit cases as text."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..edge import EdgeStress, UnitCase

if TYPE_CHECKING:
    from ..paths import CrackPaths

__all__ = ["load_edge", "load_paths", "save_edge", "save_paths"]

_ARRAYS = tuple(f.name for f in dataclasses.fields(EdgeStress) if f.name != "cases")


def save_edge(edge: EdgeStress, path: Path) -> None:
    """Write an edge stress as .npz."""
    cases = json.dumps([dataclasses.asdict(case) for case in edge.cases])
    _save(path, {"cases": np.array(cases), **{name: getattr(edge, name) for name in _ARRAYS}})


def load_edge(path: Path) -> EdgeStress:
    """Read it back, the same to the last bit."""
    with np.load(path, allow_pickle=False) as data:
        cases = tuple(UnitCase(**case) for case in json.loads(str(data["cases"])))
        return EdgeStress(cases=cases, **{name: data[name] for name in _ARRAYS})


def save_paths(paths: CrackPaths, path: Path) -> None:
    """Write the stress along the paths of cracks as .npz, in single precision."""
    arrays: dict[str, Any] = {f.name: np.asarray(getattr(paths, f.name)) for f in dataclasses.fields(paths)}
    _save(path, {k: v.astype(np.float32) if v.dtype == float else v for k, v in arrays.items()})


def load_paths(path: Path) -> CrackPaths | None:
    """Read it back; None where it was not kept."""
    if not path.is_file():
        return None
    from ..paths import CrackPaths  # late: few studies follow cracks

    with np.load(path, allow_pickle=False) as data:
        arrays = {f.name: data[f.name] for f in dataclasses.fields(CrackPaths)}
    return CrackPaths(**{k: v.astype(float) if v.dtype == np.float32 else v for k, v in arrays.items()})


def _save(path: Path, arrays: Mapping[str, Any]) -> None:
    """What np.savez_compressed does, at the least level: higher ones make such numbers some per cent smaller, in twice the time."""
    from zipfile import ZIP_DEFLATED, ZipFile

    with ZipFile(path, "w", ZIP_DEFLATED, compresslevel=1) as archive:
        for name, values in arrays.items():
            with archive.open(f"{name}.npy", "w", force_zip64=True) as file:
                np.lib.format.write_array(file, np.asanyarray(values), allow_pickle=False)
