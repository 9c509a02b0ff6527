"""Figures and the report of a results folder. Heavy libraries are loaded on first use.

write(results_dir) -> path of report.html; draw(results_dir, name) -> pictures; list_figures(results_dir) -> names; describe(results_dir) ->
what can be drawn. On matplotlib's axes, `ax=`: kt_over_axis, kt_difference, edge_stress, field, solid, ladder, shares, units, perimeter,
life, drum_map, sn, haigh, damage, crack, sensitivity. drawings(study) -> drawings of a study's model before it is solved.
"""

from __future__ import annotations

from typing import Any

_ON_AXES = (
    "crack", "damage", "drum_map", "edge_stress", "field", "haigh", "kt_difference", "kt_over_axis", "ladder", "life", "perimeter",
    "sensitivity", "shares", "sn", "solid", "units",
)  # fmt: skip
_HOME = {
    "draw": "figures", "draw_for_print": "figures", "list_figures": "figures", "describe": "figures", "write": "page", "drawings": "draw_model", **dict.fromkeys(_ON_AXES, "on_axes"),
}  # fmt: skip

__all__ = ["describe", "draw", "drawings", "list_figures", "write"]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
