"""Pressure through the wall on the faces of a clamped pack, with the formula's pressure beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..assess.contact import PackResult
from ..assess.contact_face import PackFace, bears_fully, flat_ends_mm, flat_mm
from ..assess.contact_words import spring_pad
from ..handbook.closed_forms_bars import line_contact
from .load_table import sensible
from .picture import Picture
from .style import GREY, INK, LOOKS, below
from .words import signed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["ContactPressurePicture", "formula_curve"]

Array = NDArray[np.float64]

# of the faces' height at each end: what stands there goes off the scale and is told in words
OFF_END = 0.04
ROOM = 1.25


def formula_curve(result: PackResult) -> tuple[str, Array, Array]:
    """What a formula says of the hammer's flank: its name, heights and pressures."""
    pack, material = result.pack, result.material
    half = 0.5 * pack.wall_mm
    y = np.linspace(-half, half, 401)
    if pack.crown_radius_mm is not None:
        line = line_contact(
            line_load=pack.line_load_N_mm, radius_mm=pack.crown_radius_mm, other_radius_mm=np.inf,
            youngs_modulus_MPa=material.youngs_modulus_MPa, poissons_ratio=material.poissons_ratio,
        )  # fmt: skip
        top = pack.crown_middle_mm - 1e-3 * pack.angle_error_mrad * pack.crown_radius_mm
        return "line contact", y, line.pressure * np.sqrt(np.clip(1 - ((y - top) / line.half_width) ** 2, 0.0, None))
    pad = spring_pad(pack, material.youngs_modulus_MPa)
    mean = pack.clamp_N / (pack.length_mm * pack.wall_mm)
    ratio = abs(pack.angle_error_mrad) / pad.lift_off_mrad
    side = -np.sign(pack.angle_error_mrad) * y / half
    if ratio <= 1:
        return ("pad on springs" if ratio else "even pressure"), y, mean * (1 + ratio * side)
    bears = pad.contact_mm
    return "pad on springs", y, pad.peak_MPa * np.clip(1 - (1 - side) * half / bears, 0.0, None)


class ContactPressurePicture(Picture):
    """Pressure over the height of the wall, each face a line; the formula dashed in grey."""

    name = "contact-pressure"
    size_mm = (165.0, 108.0)

    def __init__(self, result: PackResult) -> None:
        self.result = result
        self.formula, self.formula_y, self.formula_p = formula_curve(result)
        ends = (
            "at the faces' ends the pressure goes off the scale; the largest is given in words"
            if self.off_scale
            else ""
        )
        self.caption = (
            f"Pressure between hammer, wedge and flanks through the wall under {sensible(1e-3 * result.pack.clamp_N)} kN, height from the wall's middle, outward "
            f"positive. Grey: {self.formula}, which knows no elastic ends{'; ' + ends if ends else ''}."
        )

    @property
    def limit_MPa(self) -> float:
        """Where the axis ends: a little above what is not at an end."""
        tops = [float(self.formula_p.max())]
        for face in self.result.faces:
            y = face.height_mm
            bears = face.pressure_MPa > 0
            low, high = y[bears].min(), y[bears].max()
            inside = (y > low + OFF_END * (high - low)) & (y < high - OFF_END * (high - low))
            if inside.any():
                tops.append(float(face.pressure_MPa[inside].max()))
        return ROOM * max(tops)

    @property
    def off_scale(self) -> bool:
        """Whether some pressure is above the axis."""
        return any(float(f.pressure_MPa.max()) > self.limit_MPa for f in self.result.faces)

    def paint(self, ax: Axes) -> None:
        """Lines, the wall's rims, and peaks in words."""
        pack, limit = self.result.pack, self.limit_MPa
        half = 0.5 * pack.wall_mm
        for place, label in ((half, "outer surface"), (-half, "bore")):
            ax.axhline(place, color=GREY, linewidth=0.9, zorder=1)
            ax.annotate(
                label, (limit, place), (-2, 2 if place > 0 else -2), textcoords="offset points", ha="right",
                va="bottom" if place > 0 else "top", fontsize=7.2, color=GREY,
            )  # fmt: skip
        ax.plot(
            self.formula_p,
            self.formula_y,
            color=GREY,
            linestyle=(0, (4, 2)),
            linewidth=1.4,
            zorder=2,
            label=f"{self.formula} (formula)",
        )
        levers: list[str] = []
        for face, look in zip(self.result.faces, LOOKS, strict=False):
            ax.plot(
                self.drawn_MPa(face),
                face.height_mm,
                color=look.colour,
                linestyle=look.dash,
                linewidth=1.6,
                zorder=4,
                label=f"{face.name}: {_peak(face)}",
            )
            self.readings.note(
                ax, face.pressure_MPa, face.height_mm,
                [f"{face.name}, {y:.3g} mm: {p:.4g} MPa" for y, p in zip(face.height_mm, face.pressure_MPa, strict=True)], few=False,
            )  # fmt: skip
            lever = float(face.couple) / face.force_N
            levers.append(_signed(lever, 3))
            ax.plot(
                [face.mean_MPa],
                [lever],
                marker=look.marker,
                color=look.colour,
                markeredgecolor="white",
                markersize=7,
                zorder=6,
            )
        ax.annotate(
            f"marks: mean pressure at the height where the force acts ({', '.join(dict.fromkeys(levers))} mm)", (0.0, 0.0), (6, 6), xycoords="axes fraction",
            textcoords="offset points", fontsize=7.2, color=INK, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.9}, zorder=8,
        )  # fmt: skip
        reach = max(half, *(abs(v) for v in pack.wedge_ends_mm))
        ax.set_xlim(0, limit)
        ax.set_ylim(-1.16 * reach, 1.12 * reach)
        ax.set_xlabel("pressure (MPa)")
        ax.set_ylabel("height from the middle of the wall (mm)")
        ax.set_title(self.title(f"How the clamp bears: {self.words()}"))
        ax.legend(**below(ax))

    def drawn_MPa(self, face: PackFace) -> Array:
        """The pressure on the face's flat part; on its rounds it falls from the peak to nothing within a line's width."""
        low, high = flat_ends_mm(self.result.pack, face.name)
        y = face.height_mm
        return np.where((y >= low) & (y <= high), face.pressure_MPa, np.nan)

    def words(self) -> str:
        """What bears, in words."""
        parts = []
        for face in self.result.faces:
            flat = flat_mm(self.result.pack, face.name)
            if not bears_fully(self.result.pack, face):
                parts.append(f"{face.name} {sensible(float(face.bears))} of {sensible(flat)} mm")
        return "in part, " + "; ".join(parts) if parts else "all faces over their whole height"

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Every point of every line."""
        rows: list[tuple[Any, ...]] = [
            (f.name, float(y), float(p), float(t))
            for f in self.result.faces
            for y, p, t in zip(f.height_mm, f.pressure_MPa, f.shear_MPa, strict=True)
        ]
        rows += [
            (f"{self.formula} (formula)", float(y), float(p), None)
            for y, p in zip(self.formula_y, self.formula_p, strict=True)
        ]
        return ("face", "height_mm", "pressure_MPa", "shear_MPa"), rows


def _peak(face: PackFace) -> str:
    if face.peak.value is None:
        return "no finite peak at a sharp end"
    return f"peak {str(face.peak).partition(',')[0]} at {_signed(face.peak_height_mm, 3)} mm"


def _signed(value: float, digits: int) -> str:
    return signed(f"{0.0 if abs(value) < 5e-3 else value:+.{digits}g}")
