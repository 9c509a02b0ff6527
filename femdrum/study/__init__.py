"""The study file, its variants, the runner and the store."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .build import read_study, study_from_text
    from .results import Results, StoredVariant
    from .runner import Event, run
    from .study import Axis, Study, Variant

# name -> file that holds it; loaded on first use, as a question of one plate needs none of them
_HOME = {
    "Axis": "study",
    "Event": "runner",
    "Results": "results",
    "StoredVariant": "results",
    "Study": "study",
    "Variant": "study",
    "read_study": "build",
    "run": "runner",
    "study_from_text": "build",
}

__all__ = ["Axis", "Event", "Results", "StoredVariant", "Study", "Variant", "read_study", "run", "study_from_text"]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f".{_HOME[name]}", __name__), name)
    globals()[name] = value
    return value
