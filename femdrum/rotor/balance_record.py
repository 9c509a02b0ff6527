"""A balancing record: weighed hammers, trial masses and readings of vibration, from a CSV file.

One table, a row for each thing, told apart by the column `kind`; cells that a kind does not need stay empty. Lines that
begin with # are comments.

| kind | columns it needs |
| --- | --- |
| hammer | slot, mass_g, radius_mm, angle_deg, z_mm |
| reading | run (0: without trial masses), probe, one amplitude column, phase_deg, speed_rpm |
| trial | run (from 1), plane (1 or 2), mass_g, radius_mm, angle_deg, kept (yes: left in for the runs that follow, no) |

Angles count from the drum's mark in the sense of rotation, z from the drive end. The amplitude column is one of
velocity_rms_mm_s, velocity_peak_mm_s, displacement_peak_um, displacement_peak_to_peak_um: its name says what was read.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..errors import MISSING
from .influence import Run, reading
from .record_cells import Cells, Row
from .unbalance import HammerSeat, vector_g_mm

__all__ = ["AMPLITUDES", "COLUMNS", "BalanceRecord", "Reading", "Trial", "read_record"]

Vectors = NDArray[np.complex128]

AMPLITUDES = ("velocity_rms_mm_s", "velocity_peak_mm_s", "displacement_peak_um", "displacement_peak_to_peak_um")
COLUMNS = (
    "kind", "slot", "run", "probe", "plane", "mass_g", "radius_mm", "angle_deg", "z_mm", *AMPLITUDES,
    "phase_deg", "speed_rpm", "kept",
)  # fmt: skip
NEEDS = {
    "hammer": ("slot", "mass_g", "radius_mm", "angle_deg", "z_mm"),
    "reading": ("run", "probe", "phase_deg", "speed_rpm"),
    "trial": ("run", "plane", "mass_g", "radius_mm", "angle_deg", "kept"),
}
# names with another unit, as people write them
OTHER_UNITS = {
    "mass_kg": "mass_g", "radius_m": "radius_mm", "z_m": "z_mm", "angle_rad": "angle_deg", "phase_rad": "phase_deg",
    "speed_hz": "speed_rpm", "speed_rad_s": "speed_rpm", "mass": "mass_g", "phase": "phase_deg", "speed": "speed_rpm",
}  # fmt: skip
# speeds of the runs may differ by this share: influences change with speed
SAME_SPEED = 0.03
# a hammer this many times heavier or lighter than the middle one was written in another unit
ODD_MASS = 5.0


@dataclass(frozen=True)
class Reading:
    """One reading: run, probe, amplitude in the record's amplitude column, phase as the instrument counts, speed."""

    run: int
    probe: str
    amplitude: float
    phase_deg: float
    speed_rpm: float


@dataclass(frozen=True)
class Trial:
    """A trial mass: its run, plane 1 or 2, its unbalance (g mm), left in for the runs that follow or not."""

    run: int
    plane: int
    unbalance_g_mm: complex
    kept: bool


@dataclass(frozen=True)
class BalanceRecord:
    """What a record holds. seats, masses_g: of hammers, as in the file. amplitude: name of the amplitude column."""

    path: str
    seats: tuple[HammerSeat, ...]
    masses_g: tuple[float, ...]
    readings: tuple[Reading, ...]
    trials: tuple[Trial, ...]
    amplitude: str

    @property
    def probes(self) -> tuple[str, ...]:
        """Names of the probes, as they come in the file."""
        return tuple(dict.fromkeys(r.probe for r in self.readings))

    @property
    def run_numbers(self) -> tuple[int, ...]:
        """Runs with readings, ascending; 0 is without trial masses."""
        return tuple(sorted({r.run for r in self.readings}))

    @property
    def speed_rpm(self) -> float:
        """Mean speed of the readings; NaN without readings."""
        return float(np.mean([r.speed_rpm for r in self.readings])) if self.readings else float("nan")

    def _vectors(self, run: int, sense: str) -> Vectors:
        found = {r.probe: reading(r.amplitude, r.phase_deg, sense) for r in self.readings if r.run == run}
        return np.array([found[probe] for probe in self.probes], complex)

    def initial(self, sense: str) -> Vectors:
        """Readings without trial masses, by probe; sense of the phases: "lead" or "lag"."""
        return self._vectors(0, sense)

    def runs(self, sense: str) -> tuple[Run, ...]:
        """Runs with trial masses, all that was left in included; masses are unbalances (g mm) in planes 1 and 2."""
        out = []
        for run in self.run_numbers[1:]:
            masses = np.zeros(2, complex)
            for trial in self.trials:
                if trial.run == run or (trial.kept and trial.run < run):
                    masses[trial.plane - 1] += trial.unbalance_g_mm
            out.append(Run(self._vectors(run, sense), masses))
        return tuple(out)


def read_record(path: str | Path) -> BalanceRecord:
    """Read a balancing record. All faults are told at once, with their lines.

    Raises FileFault: no such file, another form of table, unknown or missing columns, cells that are empty or no
    number, a reading without its phase, a hammer without its mass, values out of range (often another unit), slots or
    readings that come twice, runs whose probes or speeds differ, runs without trial mass, trial masses without a run.
    """
    reader = _Reader(Path(path), COLUMNS, OTHER_UNITS)
    return reader.record()


class _Reader(Cells):
    """The three kinds of rows, and what must agree between them."""

    def record(self) -> BalanceRecord:
        """All rows, or all faults."""
        kinds: dict[str, list[tuple[int, Row]]] = {kind: [] for kind in NEEDS}
        if "kind" not in self.columns:
            way = "the first column says hammer, reading or trial"
            self.fault("header", MISSING, "kind is missing", way, self.header_line)
            self.rows.clear()
        for line, row in self.rows:
            if kind := self.word(row, "kind", line, NEEDS):
                kinds[kind].append((line, row))
        for kind, rows in kinds.items():
            lacking = [name for name in NEEDS[kind] if rows and name not in self.columns]
            for name in lacking:
                self.fault(
                    "header", name, f"is missing; rows of kind {kind} need it", "add the column", self.header_line
                )
            if lacking:
                # one fault for the column, not one for each row
                rows.clear()
        if not self.rows and not self.faults:
            self.fault("file", str(self.path), "holds no rows", "a row for each hammer, reading and trial mass", None)
        amplitude = self._amplitude(bool(kinds["reading"]))
        seats, masses = self._hammers(kinds["hammer"])
        readings = self._readings(kinds["reading"], amplitude) if amplitude else []
        trials = self._trials(kinds["trial"])
        if not self.faults:
            self._check_runs(readings, trials)
        self.done()
        return BalanceRecord(
            str(self.path), tuple(seats), tuple(masses), tuple(r for _, r in readings), tuple(t for _, t in trials),
            amplitude,
        )  # fmt: skip

    def _amplitude(self, needed: bool) -> str:
        found = [name for name in self.columns if name in AMPLITUDES]
        if len(found) > 1:
            self.fault(
                "header",
                ", ".join(found),
                "one amplitude column is wanted",
                "one record for each kind of reading",
                self.header_line,
            )
        if needed and not found:
            self.fault(
                "header", MISSING, "an amplitude column is missing", f"one of {', '.join(AMPLITUDES)}", self.header_line
            )
        return found[0] if len(found) == 1 else ""

    def _hammers(self, rows: Sequence[tuple[int, Row]]) -> tuple[list[HammerSeat], list[float]]:
        seats: list[HammerSeat] = []
        masses: list[float] = []
        lines: list[int] = []
        for line, row in rows:
            mass = self.number(
                row, "mass_g", line, "weigh it, in grams; a mass that is not known is not made up", above=0.0
            )
            slot = self.whole(row, "slot", line, 1, 100_000, "slot numbers count from 1")
            radius = self.number(row, "radius_mm", line, "of the hammer's centre of gravity", above=0.0, most=10_000.0)
            angle = self.number(row, "angle_deg", line, "from the mark, with the rotation", least=-360.0, most=360.0)
            z = self.number(row, "z_mm", line, "along the axis, from the drive end", least=-1e5, most=1e5)
            if mass is None or slot is None or radius is None or angle is None or z is None:
                continue
            if slot in [seat.slot for seat in seats]:
                first = lines[[seat.slot for seat in seats].index(slot)]
                self.fault("slot", slot, f"stands on line {first} already", "one row for each slot", line)
                continue
            seats.append(HammerSeat(slot=slot, radius_mm=radius, angle_deg=angle, z_mm=z))
            masses.append(mass)
            lines.append(line)
        middle = statistics.median(masses) if masses else 0.0
        for line, mass in zip(lines, masses, strict=True):
            if not middle / ODD_MASS <= mass <= middle * ODD_MASS:
                way = "grams? a hammer of 12 kg is 12000; leave out a slot without hammer"
                self.fault("mass_g", mass, f"is far from the others, whose middle is {middle:g} g", way, line)
        if middle and middle < 100:
            self.fault(
                "mass_g",
                middle,
                "is the middle of the hammers' masses, too light for hammers",
                "grams? a hammer of 12 kg is 12000",
                lines[0],
            )
        return seats, masses

    def _readings(self, rows: Sequence[tuple[int, Row]], amplitude: str) -> list[tuple[int, Reading]]:
        out: list[tuple[int, Reading]] = []
        for line, row in rows:
            run = self.whole(row, "run", line, 0, 1000, "0 without trial masses, then 1, 2, ...")
            probe = row.get("probe", "")
            if not probe:
                self.fault("probe", MISSING, "is missing", "a name for each place of measurement", line)
            size = self.number(row, amplitude, line, "as read", least=0.0, most=1e5)
            phase = self.number(
                row,
                "phase_deg",
                line,
                "without its phase a reading is of no use: repeat the run",
                least=-360.0,
                most=360.0,
            )
            speed = self._speed(row, line)
            if run is None or not probe or size is None or phase is None or speed is None:
                continue
            if (double := next((n for n, r in out if (r.run, r.probe) == (run, probe)), None)) is not None:
                self.fault(
                    "probe",
                    probe,
                    f"was read in run {run} on line {double} already",
                    "one row for each run and probe",
                    line,
                )
                continue
            out.append((line, Reading(run, probe, size, phase, speed)))
        return out

    def _speed(self, row: Row, line: int) -> float | None:
        way = "revolutions a minute: 60 times revolutions a second, 9.55 times rad/s"
        return self.number(row, "speed_rpm", line, way, least=60.0, most=20_000.0)

    def _trials(self, rows: Sequence[tuple[int, Row]]) -> list[tuple[int, Trial]]:
        out = []
        for line, row in rows:
            run = self.whole(row, "run", line, 1, 1000, "trial masses begin with run 1; run 0 is without them")
            plane = self.whole(row, "plane", line, 1, 2, "1 at the drive end, 2 at the far end")
            mass = self.number(row, "mass_g", line, "in grams", above=0.0, most=100_000.0)
            radius = self.number(row, "radius_mm", line, "of the mass's centre of gravity", above=0.0, most=10_000.0)
            angle = self.number(row, "angle_deg", line, "from the mark, with the rotation", least=-360.0, most=360.0)
            kept = self.word(row, "kept", line, ("yes", "no"), "yes: left in for the runs that follow")
            if run is None or plane is None or mass is None or radius is None or angle is None or kept is None:
                continue
            out.append((line, Trial(run, plane, vector_g_mm(mass, radius, angle), kept == "yes")))
        return out

    def _check_runs(self, readings: list[tuple[int, Reading]], trials: list[tuple[int, Trial]]) -> None:
        if not readings:
            if trials:
                self.fault(
                    "run",
                    trials[0][1].run,
                    "has a trial mass and no readings",
                    "add the readings, run 0 first",
                    trials[0][0],
                )
            return
        first_line: dict[int, int] = {}
        for line, r in readings:
            first_line.setdefault(r.run, line)
        numbers = sorted(first_line)
        if numbers[0] != 0:
            self.fault(
                "run",
                numbers[0],
                "is the first run; run 0 is missing",
                "read once without trial masses",
                first_line[numbers[0]],
            )
        probes = {r.probe for _, r in readings}
        for run in numbers:
            lacking = sorted(probes - {r.probe for _, r in readings if r.run == run})
            for probe in lacking:
                self.fault(
                    "probe", probe, f"was not read in run {run}", "read every probe in every run", first_line[run]
                )
            there = [t for _, t in trials if t.run == run or (t.kept and t.run < run)]
            if run and not there:
                self.fault(
                    "run", run, "has readings and no trial mass", "add a row of kind trial for it", first_line[run]
                )
        for line, t in trials:
            if t.run not in first_line:
                self.fault("run", t.run, "has a trial mass and no readings", "add the readings of this run", line)
        middle = statistics.median(r.speed_rpm for _, r in readings)
        for line, r in readings:
            if abs(r.speed_rpm - middle) > SAME_SPEED * middle:
                allowed = f"is more than {100 * SAME_SPEED:.0f} % off the others, {middle:g} rpm"
                self.fault("speed_rpm", r.speed_rpm, allowed, "influences hold for one speed: repeat the run", line)
        if len(numbers) > 1 and (bare := {1, 2} - {t.plane for _, t in trials}):
            plane = min(bare)
            self.fault(
                "plane",
                plane,
                "never had a trial mass",
                "one run with a trial mass in each plane",
                trials[0][0] if trials else None,
            )
        if numbers == [0]:
            self.fault(
                "run", 0, "is the only run", "one run with a trial mass in each plane, or no readings", first_line[0]
            )
