"""What each condition asks of the clamp, face by face, against the least clamp there is."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from ..assess.retention import Retention
from .load_table import sensible
from .picture import NoData, Picture
from .style import INK, LOOKS, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["FacesPicture"]

ROW_MM, MOST_ROWS = 8.0, 16


class FacesPicture(Picture):
    """Two bars for each condition and face: clamp against opening and against slip. The most demanding on top; 16 at most."""

    name = "clamp-needed"
    least_width_mm = 160.0

    def __init__(self, found: Retention) -> None:
        held = [face for face in found.faces if not face.row.accident]
        if not held:
            raise NoData("no condition but accidents is given")
        self.found = found
        self.faces = sorted(held, key=lambda f: -f.row.needed_N)[:MOST_ROWS]
        left = f" The {len(held) - MOST_ROWS} that ask least are left out." if len(held) > MOST_ROWS else ""
        self.size_mm = (165.0, 32.0 + ROW_MM * len(self.faces))
        self.caption = (
            "Assembled clamp that each condition asks for at each face, so that the face does not open (a tenth of the clamp is left at its worst rim) and does not slip "
            f"(safety 1.3, under tramp metal 1.1, at the low friction). Line: the least clamp there is.{left}"
        )

    def paint(self, ax: Axes) -> None:
        """Bars and the line."""
        least = 1e-3 * self.found.proof.clamp.assembled_least_N
        ends = [1e-3 * max(f.against_opening_N, f.against_slip_N) for f in self.faces]
        right = 1.18 * max([least, *ends])
        ax.axvspan(least, right, color=PALE, zorder=0, linewidth=0)
        ax.axvline(least, color=INK, linewidth=1.6, zorder=5)
        ax.annotate(
            f"least clamp {sensible(least)} kN",
            (least, 1.0),
            (-3, 2),
            xycoords=ax.get_xaxis_transform(),
            textcoords="offset points",
            ha="right",
            va="bottom",
            fontsize=7.6,
        )
        kinds = (
            ("against opening", "against_opening_N", LOOKS[2], "//"),
            ("against slip", "against_slip_N", LOOKS[3], ""),
        )
        for n, (label, field, look, hatch) in enumerate(kinds):
            drawn = [
                (row + (n - 0.5) * 0.36, 1e-3 * getattr(f, field))
                for row, f in enumerate(self.faces)
                if getattr(f, field) > 0
            ]
            ax.barh(
                [at for at, _ in drawn],
                [width for _, width in drawn],
                0.34,
                color=look.colour,
                hatch=hatch,
                edgecolor="white",
                linewidth=0.5,
                zorder=3,
                label=label,
            )
        for row, (face, end) in enumerate(zip(self.faces, ends, strict=True)):
            text = (
                "asks for none"
                if end <= 0
                else f"{sensible(end)} kN" + ("" if face.row.holds else f", {face.row.verdict}")
            )
            ax.annotate(
                text, (end, row), (4, 0), textcoords="offset points", va="center", fontsize=7.2, fontweight="bold" if row == 0 else "normal", zorder=6,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
            )  # fmt: skip
        names = [textwrap.shorten(f"{f.row.condition}, {f.row.face}", 44, placeholder=" ...") for f in self.faces]
        ax.set_yticks(range(len(names)), names)
        ax.set_ylim(len(names) - 0.4, -0.6)
        ax.set_xlim(0, right)
        ax.tick_params(axis="y", length=0)
        ax.grid(visible=False, axis="y")
        ax.set_xlabel("clamp needed (kN)")
        share = least / right
        ax.legend(loc="lower right", bbox_to_anchor=(share - 0.01 if share > 0.6 else 1.0, 0.0))
        ax.set_title("What the conditions ask of the clamp", pad=14)

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Both bars of each row."""
        rows: list[tuple[Any, ...]] = [
            (f.row.condition, f.row.face, f.against_opening_N, f.against_slip_N, f.row.verdict) for f in self.faces
        ]
        return ("condition", "face", "needed_against_opening_N", "needed_against_slip_N", "verdict"), rows
