"""The drum as built read back from its results folder."""

from __future__ import annotations

import json
import os
from pathlib import Path

from .as_built_run import AS_BUILT, AsBuiltResult
from .plain import from_plain

__all__ = ["read_as_built_result"]


def read_as_built_result(folder: str | os.PathLike[str]) -> AsBuiltResult | None:
    """What as_built.json holds; None where there is none, or one that is not ours."""
    path = Path(folder) / f"{AS_BUILT}.json"
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(data, dict) or data.get("kind") != AS_BUILT:
        return None
    fields = AsBuiltResult.__dataclass_fields__
    return (
        from_plain(AsBuiltResult, {k: v for k, v in data.items() if k in fields})
        if all(f in data for f in fields)
        else None
    )
