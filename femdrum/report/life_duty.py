"""The duty as the report shows it: every row with how often it comes, who says so, and what it does to the worst place."""

from __future__ import annotations

from typing import Any

from ..assess.life_result import PlaceLife
from ..study import Results
from .life_draw import few

__all__ = ["duty_table"]

DECLARED = "declared by the user; no source stated"


def duty_table(results: Results, worst: PlaceLife) -> list[dict[str, str]]:
    """A row for each row of the duty, in the order of the study."""
    shares = {s.name: s.fraction for s in worst.shares}
    recorded = results.life.get("recorded_cycles", {})
    out = []
    for row in results.life["duty"]:
        share = shares.get(row["name"], 0.0)
        out.append(
            {
                "name": str(row["name"]),
                "condition": str(row["condition"]),
                "cycle": _cycle(row),
                "often": _often(row),
                "provenance": _provenance(row, recorded.get(row["name"])),
                "share": f"{100 * share:.0f} %" if share >= 0.005 else "below 1 %" if share > 0.0 else "none",
            }
        )
    return out


def _cycle(row: dict[str, Any]) -> str:
    back = f"\u201c{row['back_to']}\u201d" if row.get("back_to") else "rest"
    if row.get("history"):
        return f"as recorded, from {back}"
    return {
        "steady": "from rest, and back",
        "pulsating": f"from {back}, and back",
        "reversed": f"about {back}, as far to both sides",
        "rotating": "at every turn" + (f", {row['speed_rpm']:g} rpm" if row.get("speed_rpm") else ", at the machine's speed"),
    }[row["cycle"]]  # fmt: skip


def _often(row: dict[str, Any]) -> str:
    if row.get("hours_per_1000_h") is not None:
        return f"{few(float(row['hours_per_1000_h']), 4)} h of turning"
    count = few(float(row["per_1000_h"]), 4)
    return f"{count} times the recording" if row.get("history") else f"{count} times"


def _provenance(row: dict[str, Any], cycles: float | None) -> str:
    if not row.get("history"):
        return DECLARED
    counted = f"{cycles:,.0f} recorded cycles" if cycles is not None else "recorded cycles"
    return (
        f"{counted}, by rainflow from {row['history']}, column {row['column']}; the condition was stated at "
        f"{row['stated_at']:g}. How often the recording passes is {DECLARED}"
    )
