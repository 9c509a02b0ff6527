"""A drum's end under its loads: the stub's fillet, the weld's toes and throat, what was modelled, and comparisons."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.end_solve import CASES, solve_end
from ..fem.end_throat import throat_stress
from ..fem.harmonic_edge import CurvePeaks, CurveSpot, CurveStress, Reading
from ..fem.harmonic_ladder import HarmonicRung, HarmonicSolution
from ..figure import Figure
from ..model.accuracy import Accuracy
from ..model.drum_end import DrumEnd, DrumEndLoads
from ..model.material import Material
from ..quantity import Quantity, Verdict
from ..units import omega_rad_s
from .answer import Comparison
from .drum_end_toes import HotSpotLine, HotSpotReading, Throat, hot_spot_lines, hot_spot_readings
from .drum_end_words import end_comparisons, end_figures, end_notes, nominal_stub_MPa

__all__ = [
    "EndResult",
    "HotSpotLine",
    "HotSpotReading",
    "LoadPeak",
    "Throat",
    "factors_of",
    "solve_drum_end",
    "solve_drum_ends",
]

Array = NDArray[np.float64]

LOADS = ("speed_rpm", "thrust_N", "torque_Nmm", "bending_Nmm", "shear_N")


@dataclass(frozen=True)
class LoadPeak:
    """One load by itself at the stub's fillet. peak: principal stress of largest magnitude, signed. nominal_MPa: of the
    stub as a beam at the disc's face (shear: its bending there; torsion: its shear); None for rotation. kt: |peak| over
    |nominal|; of a thin disc it also holds the disc's bending.
    """

    load: str
    value: float
    peak: Quantity
    at: CurveSpot
    nominal_MPa: float | None

    @property
    def kt(self) -> Quantity:
        """|peak| / |nominal|; no number where there is no nominal."""
        if not self.nominal_MPa or self.peak.value is None or self.peak.band is None:
            return Quantity(None, "", None, self.peak.verdict, "Kt at the stub's fillet")
        scale = 1 / abs(self.nominal_MPa)
        text = "Kt = |peak at the stub's fillet| / |nominal stress of the stub|"
        return Quantity(abs(self.peak.value) * scale, "", self.peak.band * scale, self.peak.verdict, text)


@dataclass(frozen=True)
class EndResult:
    """What a drum's end says about one set of loads.

    fillet: largest principal tension and compression at the stub's fillet, over the turn. steady, rotating: there, in
    meridional direction at the place of the peak, what stays and the amplitude that runs around once a revolution.
    alone: each load by itself. toes: peaks at rounded toes (effective notch), by name. lines: surfaces from the toes, with
    hot spot stresses. throats: nominal stress of fillet welds with an unfused rim. factors: of this set on the unit cases
    of `solution`, from whose curves any other state can be added up.
    """

    end: DrumEnd
    loads: DrumEndLoads
    material: Material
    fillet: CurvePeaks
    steady: Quantity
    rotating: Quantity
    alone: tuple[LoadPeak, ...]
    toes: Mapping[str, CurvePeaks]
    lines: tuple[HotSpotLine, ...]
    throats: tuple[Throat, ...]
    verdict: Verdict
    message: str
    factors: tuple[float, ...]
    solution: HarmonicSolution
    figures: tuple[Figure, ...]
    comparisons: tuple[Comparison, ...]
    notes: tuple[str, ...]

    @property
    def peak(self) -> Quantity:
        """Principal stress of largest magnitude at the stub's fillet, signed, MPa."""
        return self.fillet.peak

    @property
    def at(self) -> CurveSpot:
        """Its place."""
        return self.fillet.at

    @property
    def ladder(self) -> tuple[HarmonicRung, ...]:
        """The orders solved."""
        return self.solution.ladder

    @property
    def unknowns(self) -> int:
        """Unknowns of the finest order, over all harmonics."""
        return self.solution.field.unknowns

    def line(self, name: str) -> HotSpotLine:
        """The surface from the toe of this name, e.g. "shell inside"."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(f"no line {name!r}; known: {', '.join(line.name for line in self.lines)}")


def factors_of(loads: DrumEndLoads) -> Array:
    """Factors on the unit cases in the order of CASES."""
    return np.array(
        [omega_rad_s(loads.speed_rpm) ** 2, loads.thrust_N, loads.torque_Nmm, loads.bending_Nmm, loads.shear_N]
    )


def solve_drum_end(
    end: DrumEnd,
    loads: DrumEndLoads,
    material: Material,
    accuracy: Accuracy | None = None,
    on_event: Callable[[str], None] | None = None,
) -> EndResult:
    """Solve a drum's end for one set of loads. Raises OverBudget where not even two orders fit the budget."""
    return solve_drum_ends(end, {"": loads}, material, accuracy, on_event)[""]


def solve_drum_ends(
    end: DrumEnd,
    loads: Mapping[str, DrumEndLoads],
    material: Material,
    accuracy: Accuracy | None = None,
    on_event: Callable[[str], None] | None = None,
) -> dict[str, EndResult]:
    """The same for several sets of loads by name, from one solution."""
    asked = accuracy or Accuracy()
    states = np.array([factors_of(one) for one in loads.values()])
    readings = [reading for *_, reading in hot_spot_readings(end)]
    solution = solve_end(end, material, states, asked, readings=readings, on_event=on_event)
    return {name: _result(end, one, material, solution, asked) for name, one in loads.items()}


def _result(
    end: DrumEnd, loads: DrumEndLoads, material: Material, solution: HarmonicSolution, asked: Accuracy
) -> EndResult:
    factors = factors_of(loads)
    curves = solution.curves
    fillet = curves["fillet"].peaks(factors, asked.error)
    toes = {name: c.peaks(factors, asked.error) for name, c in curves.items() if " toe " in name}
    lines = hot_spot_lines(end, curves, factors, asked.error)
    found = [p.peak for p in (fillet, *toes.values())] + [r.largest for line in lines for r in line.readings.values()]
    settled = all(quantity.verdict is Verdict.SETTLED for quantity in found)
    window = 0.3 * end.fillet_radius_mm
    steady, rotating = _at_peak(curves["fillet"], factors, fillet, asked.error, window)
    throats = tuple(_throats(end, material, solution, factors))
    alone = tuple(_alone(end, loads, curves["fillet"], factors, asked.error))
    return EndResult(
        end=end,
        loads=loads,
        material=material,
        fillet=fillet,
        steady=steady,
        rotating=rotating,
        alone=alone,
        toes=toes,
        lines=lines,
        throats=throats,
        verdict=Verdict.SETTLED if settled else Verdict.NOT_SETTLED,
        message="" if settled else f"a band is wider than asked: {solution.reason}",
        factors=tuple(float(f) for f in factors),
        solution=solution,
        figures=end_figures(end, loads, material, throats),
        comparisons=end_comparisons(end, {p.load: p.kt for p in alone}),
        notes=end_notes(end, loads),
    )


def _alone(end: DrumEnd, loads: DrumEndLoads, curve: CurveStress, factors: Array, asked: float) -> list[LoadPeak]:
    out = []
    for i, (case, name) in enumerate(zip(CASES, LOADS, strict=True)):
        if factors[i]:
            one = np.where(np.arange(len(factors)) == i, factors, 0.0)
            peaks = curve.peaks(one, asked)
            nominal = nominal_stub_MPa(end, case, float(factors[i])) if case != "rotation" else None
            out.append(LoadPeak(case, float(getattr(loads, name)), peaks.peak, peaks.at, nominal))
    return out


def _at_peak(
    curve: CurveStress, factors: Array, peaks: CurvePeaks, asked: float, window_mm: float
) -> tuple[Quantity, Quantity]:
    """Meridional stress at the place of the fillet's peak: steady part, and amplitude of the part that runs around."""
    parts = curve.reading(Reading("fillet", (peaks.at.s_mm,), (1.0,), window_mm), factors)
    texts = ("steady meridional stress at the fillet's peak", "amplitude of the rotating meridional stress there")
    most = asked * abs(float(peaks.peak))
    values = float(parts[0][0][0]), abs(float(parts[1][0][0]))
    bands = [float(band[0]) for _, band in parts]
    verdicts = [Verdict.SETTLED if band <= most else Verdict.NOT_SETTLED for band in bands]
    steady, rotating = (
        Quantity(v, "MPa", b, verdict, text) for v, b, verdict, text in zip(values, bands, verdicts, texts, strict=True)
    )
    return steady, rotating


def _throats(end: DrumEnd, material: Material, solution: HarmonicSolution, factors: Array) -> list[Throat]:
    if end.penetration == "full":
        return []
    out = []
    for side, leg in (("inside", end.inside_leg_mm), ("outside", end.outside_leg_mm)):
        if leg:
            unit = throat_stress(solution.field, material, end, side)
            harmonic = solution.curves["fillet"].harmonic
            steady, rotating = ((factors * (harmonic == n)) @ unit for n in (0, 1))
            out.append(Throat(side, leg / 2**0.5, unit, steady, np.abs(rotating)))
    return out
