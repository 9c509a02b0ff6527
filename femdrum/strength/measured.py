"""Measured histories: a CSV file of strain, force, stress or speed against time, read in blocks and counted.

The header names each column with its unit: `time_s,gauge_1_strain_um_m,drum_speed_rpm`. Lines before it may begin with #.
The file may be larger than the memory. What is missing is not made up: a history with gaps, empty cells or NaN is
refused, and the fault names the line; the way out is to cut it into pieces without gaps, count each, and add the counts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, FileFault
from ..figure import Figure
from ..model.check import Checks
from ..provenance import computed
from .channels import Channel, channel_of, time_column
from .csv_blocks import Header, Table, blocks_of, header_of, open_file, place_of
from .cycles import Cycles
from .rainflow_stream import RainflowCounter
from .residue import RAINFLOW, Residue, known_residue

__all__ = ["STEP_TOLERANCE", "Channel", "MeasuredCount", "count_file", "read_blocks"]

Array = NDArray[np.float64]

# a step of time that deviates by more than this share of the usual one is a gap, or another rate
STEP_TOLERANCE = 0.5
# no more of what rounding leaves on a time, as a share of it
ROUNDING = 1e-12

READ = computed("read from the file")
GAP = "cut the file into pieces without gaps, count each and add the counts; values are not made up in between"


class _Clock:
    """Time must increase in equal steps; `place`: its column, `scale`: its unit in seconds."""

    def __init__(self, path: Path, header: Header, place: int, scale: float) -> None:
        self.field = f"{path}: {header.columns[place]}"
        self.last: Array = np.zeros(0)
        self.step_s, digit_s = _usual_step(path, header, place, scale)
        # rounding may add a digit to a step, or take it away
        share, digits = STEP_TOLERANCE * self.step_s, (1.0 + 1e-6) * digit_s
        self.slack_s = max(share, digits)

    def check(self, time_s: Array, table: Table) -> None:
        before = len(self.last)
        steps = np.diff(np.concatenate([self.last, time_s]))
        self.last = time_s[-1:].copy()
        if not len(steps):
            return
        slack = self.slack_s + ROUNDING * float(np.abs(time_s[[0, -1]]).max())
        wide, narrow = self.step_s + slack, self.step_s - slack
        if steps.min() > max(0.0, narrow) and steps.max() <= wide:
            return
        bad = int(np.flatnonzero((steps <= 0.0) | (steps < narrow) | (steps > wide))[0])
        row = bad + 1 - before
        value, step = float(time_s[row]), float(steps[bad])
        if step <= 0.0:
            allowed = f"must increase from line to line; the line before is at {value - step:.9g} s"
            way = "sort the file by time, leave out doubled lines, write time with more digits"
        elif step > wide:
            allowed = f"a gap of {step:.6g} s, where steps of {self.step_s:.6g} s are usual"
            way = GAP
        else:
            allowed = f"a step of {step:.6g} s, where steps of {self.step_s:.6g} s are usual"
            way = "give one file for each sampling rate"
        raise FileFault(Fault(self.field, value, allowed, way, table.line(row)))


def _usual_step(path: Path, header: Header, place: int, scale: float) -> tuple[float, float]:
    """Step of time, and the last digit to which it is written, s, from the first lines; what is no number is left out."""
    with open_file(path) as file:
        file.seek(header.start)
        cells = [file.readline().decode("utf-8", "replace").split(",") for _ in range(100)]
    written = [re.fullmatch(r"[-+]?\d+\.?(\d*)(?:[eE]([-+]?\d+))?", c[place].strip()) for c in cells if len(c) > place]
    found = [m for m in written if m]
    steps = np.diff([float(m[0]) for m in found])
    steps = steps[steps > 0.0]
    digit = 10.0 ** min((int(m[2] or 0) - len(m[1]) for m in found), default=-12)
    # without two times in the first lines any step will do
    return (scale * float(np.sort(steps)[(len(steps) - 1) // 2]) if len(steps) else np.inf), scale * digit


def read_blocks(
    path: str | Path, column: str, *, rows: int = 1_000_000, on_block: Callable[[int], None] | None = None
) -> Iterator[tuple[Array, Array]]:
    """Time (s) and values (unit of the column) of a history, in blocks of about `rows` samples.

    on_block: called after each block with the number of samples read so far. The checks of a block come before it is
    handed out. Raises FileFault: no such file, empty, column absent (with the nearest name), unknown unit, columns
    parted by semicolons, decimal commas, an empty cell, text or NaN, time that does not increase, a gap, another rate.
    """
    source = Path(path)
    checks = Checks()
    checks.whole("rows", rows, 1, 10**8)
    checks.done()
    header = header_of(source)
    time_place, scale = time_column(list(header.columns), source, header.line)
    place = place_of(column, header, source)
    channel_of(column, source, header.line)
    clock = _Clock(source, header, time_place, scale)
    samples = 0
    for table in blocks_of(source, header, (time_place, place), rows):
        time_s = scale * table.rows[:, 0]
        clock.check(time_s, table)
        samples += len(time_s)
        yield time_s, table.rows[:, 1].copy()
        if on_block is not None:
            on_block(samples)


@dataclass(frozen=True)
class MeasuredCount:
    """A counted history: its cycles, and what was read.

    cycles, least, most: in the unit of the channel, or of what `transform` made of it. duration_s: last time less first.
    grid: step to which closed cycles were rounded outward, None if none was. residue: the rule by which it was counted.
    """

    channel: Channel
    cycles: Cycles
    residue: Residue
    duration_s: float
    samples: int
    least: float
    most: float
    grid: float | None
    transformed: bool
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]


def _figures(
    channel: Channel, count: RainflowCounter, duration_s: float, cycles: Cycles, changed: bool
) -> list[Figure]:
    unit = f"{channel.unit}, transformed" if changed else channel.unit
    return [
        Figure(f"samples of {channel.name}", float(count.samples), "-", "lines of the file", READ),
        Figure("duration", duration_s, "s", "last time less first", READ),
        Figure(f"least {channel.name}", count.least, unit, "least sample", READ),
        Figure(f"largest {channel.name}", count.most, unit, "largest sample", READ),
        Figure("cycles", float(cycles.count.sum()), "-", "sum of counts", RAINFLOW),
        Figure("largest range", float(cycles.range.max()), unit, "rainflow", RAINFLOW),
    ]


def count_file(
    path: str | Path,
    column: str,
    residue: Residue = "repeated",
    *,
    transform: Callable[[Array], Array] | None = None,
    grid: float | None = None,
    rows: int = 1_000_000,
    on_block: Callable[[int], None] | None = None,
) -> MeasuredCount:
    """Rainflow cycles of one column of a CSV file, read in blocks: memory does not grow with the file.

    residue: "repeated" for a history that stands for a duty that comes again and again, "half" for one pass. transform:
    applied to each block of values before counting, value by value, such as `lambda rpm: (rpm / 1000) ** 2` for a
    stress that goes with the square of the speed; cycles are then in its unit. grid: see `RainflowCounter`.

    Raises FileFault as `read_blocks`, and for a file with one sample, or whose signal is constant; InputFault for an
    unknown residue rule, or a transform that changes the number of samples or returns NaN.
    """
    known_residue(residue)
    counter = RainflowCounter(grid=grid)
    source = Path(path)
    first = last = 0.0
    for time_s, values in read_blocks(source, column, rows=rows, on_block=on_block):
        if counter.samples == 0:
            first = float(time_s[0])
        last = float(time_s[-1])
        changed = values if transform is None else np.asarray(transform(values), float)
        if changed.shape != values.shape:
            checks = Checks()
            allowed = f"must return as many values as it is given, {len(values)}"
            checks.add("transform", f"array of shape {changed.shape}", allowed, "reckon value by value")
            checks.done()
        counter.feed(changed)
    if counter.samples < 2:
        allowed = "must hold at least two samples"
        way = "give the whole history; a single value is a static load"
        raise FileFault(Fault(str(source), f"{counter.samples} samples", allowed, way))
    if counter.least == counter.most:
        allowed = "is constant: it makes no cycles"
        way = "check gauge and column; for a steady load leave the history out"
        raise FileFault(Fault(f"{source}: {column}", counter.least, allowed, way))
    channel = channel_of(column, source, 1)
    cycles = counter.cycles(residue)
    return MeasuredCount(
        channel, cycles, residue, last - first, counter.samples, counter.least, counter.most, counter.grid,
        transform is not None, tuple(_figures(channel, counter, last - first, cycles, transform is not None)),
        _notes(counter, residue, transform is not None),
    )  # fmt: skip


def _notes(counter: RainflowCounter, residue: Residue, changed: bool) -> tuple[str, ...]:
    how = "closed by repeating the history from its largest extreme" if residue == "repeated" else "as half cycles"
    notes = [f"Rainflow after ASTM E1049-85; what does not close is counted {how}."]
    if counter.grid is not None:
        notes.append(
            f"Closed cycles were counted in classes of {counter.grid:.4g}, rounded outward: no range is smaller."
        )
    if changed:
        notes.append("The values were transformed before counting.")
    return tuple(notes)
