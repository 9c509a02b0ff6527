"""Kt over any size of a plate or a row, from the exact plane solution: a curve in seconds, without a mesh."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import MISSING, Fault, InputFault, nearest
from ..handbook.exact import ExactKt, PlaneCase, domain_of, exact_kts
from ..study.one_plate import plate_and_load, question_fields
from ..units import label

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ..model.plate import Plate, PlateRow

__all__ = ["PlaneCurve", "plane_curve"]

Array = NDArray[np.float64]

POINTS = 41


@dataclass(frozen=True)
class PlaneCurve:
    """Kt on the gross nominal (of the load that was asked) over a size; NaN where nothing can be drawn."""

    over: str
    load: str
    x: Array
    kt_gross: Array
    messages: Mapping[int, str]

    def draw(self, ax: Axes | None = None) -> Axes:
        """The curve in femdrum's style."""
        from .style import LOOKS, canvas, looks

        with looks():
            if ax is None:
                _, ax = canvas(120.0, 80.0)
            ax.plot(self.x, self.kt_gross, color=LOOKS[0].colour)
            ax.set_xlabel(label(self.over))
            ax.set_ylabel(f"Kt gross, {self.load}")
            ax.set_ylim(bottom=0.0)
            ax.set_title("Exact plane solution (boundary integral)", loc="left")
        return ax

    def write(self, path: Path) -> list[Path]:
        """The picture (format by the ending) and its data as CSV beside it."""
        from .style import save

        figure = self.draw().figure
        data = path.with_suffix(".csv")
        with open(data, "w", encoding="utf-8", newline="") as out:
            lines = csv.writer(out)
            lines.writerow([self.over, "kt_gross"])
            lines.writerows(
                [
                    [repr(float(x)), "" if np.isnan(k) else repr(float(k))]
                    for x, k in zip(self.x, self.kt_gross, strict=True)
                ]
            )
        return [save(figure, path), data]  # type: ignore[arg-type]


def plane_curve(shape: str, load: str, given: Mapping[str, Any], over: str, low: float, high: float) -> PlaneCurve:
    """Kt of a shape in a plate (with pitch_mm: in a row) over the field `over` from low to high.

    given: the other fields, as in `femdrum kt`. Raises InputFault where no value of the range can be drawn.
    """
    field = over.removeprefix("--").replace("-", "_")
    known = [name for name in question_fields(shape) if name.endswith("_mm")]
    faults = []
    if field not in known:
        faults.append(Fault("--over", over, f"must be one of {', '.join(known)}", nearest(field, known)))
    for name, value in (("LOW", low), ("HIGH", high)):
        if not isinstance(value, (int, float)) or not np.isfinite(value) or value < 0:
            faults.append(Fault(f"--over {name}", value, "must be a finite number, zero or above"))
    if not faults and low >= high:
        faults.append(Fault("--over HIGH", high, f"must be above LOW = {low:g}"))
    if faults:
        raise InputFault(faults)
    x = np.linspace(low, high, POINTS)
    kt, messages = np.full(POINTS, np.nan), {}
    drawn: dict[int, tuple[PlaneCase, float]] = {}
    for i, value in enumerate(x):
        try:
            part, action = plate_and_load(shape, load, {**given, field: float(value)})
            if not part.cutout.sharp:
                drawn[i] = _question(part, action)
        except (InputFault, ArithmeticError) as reason:
            messages[i] = str(reason)
    for i, answer in zip(drawn, exact_kts([case for case, _ in drawn.values()]), strict=True):
        if isinstance(answer, ExactKt):
            kt[i] = abs(answer.signed) / drawn[i][1]
        elif isinstance(answer, InputFault):
            messages[i] = str(answer)
        else:
            raise answer
    if np.isnan(kt).all():
        raise InputFault(Fault("--over", MISSING, f"no value from {low:g} to {high:g} can be drawn: {messages[0]}"))
    return PlaneCurve(field, load, x, kt, messages)


def _question(part: Plate | PlateRow, action: Any) -> tuple[PlaneCase, float]:
    """What to ask the exact solution, and the gross nominal in MPa."""
    from ..assess.nominal import nominal
    from ..loads.factors import factors
    from ..model.material import steel

    f = factors(part, action).steady
    stresses = {"stress_x": f.get("tension_x", 0.0), "stress_y": f.get("tension_y", 0.0), "shear": f.get("shear", 0.0)}
    gross = nominal(part, action, steel("S355")).gross_MPa
    assert gross is not None
    return PlaneCase(cutout=part.cutout, domain=domain_of(part), **stresses), abs(gross)
