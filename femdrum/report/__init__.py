"""Figures and the report of a results folder. Heavy libraries are loaded on first use.

write(results_dir) -> path of report.html; draw(results_dir, name) -> pictures; list_figures(results_dir) -> names.
"""

from __future__ import annotations

from typing import Any

_HOME = {"draw": "figures", "list_figures": "figures", "write": "page"}

__all__ = ["draw", "list_figures", "write"]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
