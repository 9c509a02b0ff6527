"""Measured histories from CSV files: read in blocks as if whole, and refused with line and way out where they are not sound.

The histories are invented.
"""

import tracemalloc

import numpy as np
import pytest

from femdrum.errors import FileFault, InputFault
from femdrum.provenance import Kind
from femdrum.strength.measured import count_file, read_blocks
from femdrum.strength.rainflow import rainflow

HEADER = "time_s,gauge_1_strain_um_m,drum_speed_rpm"


def text_of(values, speed=None, step=0.002, header=HEADER):
    speed = np.full(len(values), 1000.0) if speed is None else speed
    rows = [f"{step * k:.3f},{v:.6g},{n:.6g}" for k, (v, n) in enumerate(zip(values, speed, strict=True))]
    return "\n".join([header, *rows]) + "\n"


@pytest.fixture
def write(tmp_path):
    def put(text):
        path = tmp_path / "history.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return put


def strain(n=5000):
    rng = np.random.default_rng(1)
    return np.round(np.cumsum(rng.standard_normal(n)), 2)


def table(cycles):
    order = np.lexsort((cycles.count, cycles.lower, cycles.upper))
    return np.stack([cycles.upper, cycles.lower, cycles.count])[:, order]


@pytest.mark.parametrize("rows", [1, 7, 100, 1_000_000])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\n\n\n"])
def test_read_in_blocks_of_any_size(write, rows, end):
    values = strain(400)
    path = write(text_of(values).replace("\n", end if end != "\n\n\n" else "\n").rstrip() + end)
    seen = []
    blocks = list(read_blocks(path, "gauge_1_strain_um_m", rows=rows, on_block=seen.append))
    assert np.concatenate([v for _, v in blocks]) == pytest.approx(values, abs=0)
    assert np.concatenate([t for t, _ in blocks]) == pytest.approx(0.002 * np.arange(400), abs=1e-12)
    assert seen[-1] == 400
    assert seen == sorted(seen)
    assert len(blocks) > 1 or rows >= 400


def test_count_is_that_of_the_whole(write):
    values = strain()
    path = write("# invented\n\n" + text_of(values))
    for residue in ("half", "repeated"):
        found = count_file(path, "gauge_1_strain_um_m", residue, rows=333)
        assert np.array_equal(table(found.cycles), table(rainflow(values, residue)))
        assert found.residue == residue
    assert found.channel.name == "gauge_1_strain"
    assert found.channel.unit == "µm/m"
    assert found.samples == len(values)
    assert found.duration_s == pytest.approx(0.002 * (len(values) - 1), abs=1e-9)
    assert (found.least, found.most) == (values.min(), values.max())
    assert found.grid is None
    assert {f.what: f.value for f in found.figures}["largest range"] == np.ptp(values)
    assert {f.provenance.kind for f in found.figures} == {Kind.COMPUTED, Kind.STANDARD}
    assert "ASTM E1049-85" in found.notes[0]


def test_speed_counts_as_its_square(write):
    """Stress of rotation goes with the square of the speed: 0, 1000, 500, 1000, 0 rpm makes ranges of 1 and 0.75."""
    speed = np.array([0.0, 1000, 500, 1000, 0])
    path = write(text_of(np.zeros(5), speed))
    found = count_file(path, "drum_speed_rpm", transform=lambda rpm: (rpm / 1000) ** 2)
    assert sorted(zip(found.cycles.range, found.cycles.count, strict=True)) == [(0.75, 1), (1, 1)]
    assert found.most == 1
    assert found.channel.unit == "rpm"
    assert "transformed" in " ".join(found.notes)
    for wrong, word in ((lambda v: v[:-1], "as many values"), (lambda v: v * np.nan, "finite")):
        with pytest.raises(InputFault, match=word):
            count_file(path, "drum_speed_rpm", transform=wrong)


def test_grid_is_said(write):
    found = count_file(write(text_of(strain())), "gauge_1_strain_um_m", grid=0.01)
    assert found.grid is None  # few cycles stay as they are


def test_time_in_milliseconds_and_columns_in_any_order(write):
    path = write("force_kN,time_ms\n1.5,0\n-2,2\n3e0,4\n+0.5,6\n")
    ((time_s, values),) = read_blocks(path, "force_kN")
    assert time_s.tolist() == [0, 0.002, 0.004, 0.006]
    assert values.tolist() == [1.5, -2, 3, 0.5]


def test_time_written_with_few_digits_is_no_gap(write):
    """600 samples a second with three digits: steps of 1 and 2 ms by rounding."""
    for rate in (600, 750, 900, 333.3):
        lines = [f"{k / rate:.3f},{k % 5}" for k in range(2000)]
        path = write("time_s,force_N\n" + "\n".join(lines))
        assert count_file(path, "force_N").samples == 2000


def test_time_with_exponents(write):
    lines = [f"{1e-3 * k:.6e},{k % 3}" for k in range(300)]
    assert count_file(write("time_s,force_N\n" + "\n".join(lines)), "force_N").samples == 300
    del lines[200]
    with pytest.raises(FileFault, match=r"a gap of 0\.002 s"):
        count_file(write("time_s,force_N\n" + "\n".join(lines)), "force_N")


def test_memory_does_not_grow_with_the_file(write):
    path = write(text_of(strain(60_000)))
    size = path.stat().st_size
    list(read_blocks(path, "gauge_1_strain_um_m", rows=1000))
    tracemalloc.start()
    for _ in read_blocks(path, "gauge_1_strain_um_m", rows=1000):
        pass
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 0.3 * size


GOOD = ["0.000,1,1000", "0.002,2,1000", "0.004,1,1000", "0.006,3,1000", "0.008,1,1000"]


def lines(**changed):
    rows = list(GOOD)
    for at, row in changed.items():
        rows[int(at[1:])] = row
    return "\n".join([HEADER, *rows]) + "\n"


BAD = {
    "gap": (lines(r3="0.026,3,1000", r4="0.028,1,1000"), 5, "a gap of 0.022 s", "pieces without gaps"),
    "one sample lost": (
        "\n".join(line for k, line in enumerate(text_of(strain(50)).split("\n")) if k != 31),
        32, "a gap of 0.004 s", "pieces without gaps",
    ),
    "time back": (lines(r3="0.003,3,1000"), 5, "must increase from line to line", "sort the file by time"),
    "time twice": (lines(r3="0.004,3,1000"), 5, "must increase from line to line", "doubled lines"),
    "another rate": (
        lines() + "\n".join(f"{0.008 + 0.0004 * k:.4f},{k},1000" for k in range(1, 4)), 7, "a step of 0.0004 s", "one file",
    ),
    "empty cell": (lines(r2="0.004,,1000"), 4, "the cell is empty", "not made up"),
    "nan": (lines(r2="0.004,NaN,1000"), 4, "must be a finite number", "not made up"),
    "infinite": (lines(r2="0.004,inf,1000"), 4, "must be a finite number", "not made up"),
    "nan time": (lines(r2="nan,1,1000"), 4, "must be a finite number", "not made up"),
    "text": (lines(r2="0.004,off,1000"), 4, "must be a number", "not made up"),
    "underscore": (lines(r2="0.004,1_000,1000"), 4, "must be a number", "not made up"),
    "short line": (lines(r2="0.004,1"), 4, "2 cells under 3 columns", "one cell for each column"),
    "long line": (lines(r2="0.004,1,1000,7"), 4, "4 cells under 3 columns", "one cell for each column"),
    "decimal commas": (
        "time_s,gauge_1_strain_um_m\n0,000,1,5\n0,002,2,5\n", 2, "4 cells under 2 columns", "decimal comma",
    ),
    "quoted decimal commas": (
        'time_s,gauge_1_strain_um_m\n"0,000","1,5"\n', 2, "4 cells under 2 columns", "decimal comma",
    ),
    "semicolons": (lines().replace(",", ";"), 1, "semicolons", "a comma between them and a point"),
    "tabs": (lines().replace(",", "\t"), 1, "tabs", "a comma between them and a point"),
    "no header": ("\n".join(GOOD), 1, "the first line must name the columns", "time_s,force_kN"),
    "no time": (lines().replace("time_s", "t"), 1, "one column of time", "time_s,force_kN"),
    "time without unit": (lines().replace("time_s", "time"), 1, "one column of time", "rename 'time'"),
    "two times": (lines().replace("drum_speed_rpm", "time_ms"), 1, "one column of time", "time_s,force_kN"),
    "two alike": (
        lines().replace("drum_speed_rpm", "gauge_1_strain_um_m"), 1, "stands twice", "a name of its own",
    ),
    "constant": (text_of(np.full(9, 4.0)), None, "is constant", "check gauge and column"),
    "one sample": (text_of([1.0]), None, "at least two samples", "static load"),
    "header only": (HEADER + "\n", None, "at least two samples", "whole history"),
    "empty": ("", None, "is empty", "a header and samples"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
@pytest.mark.parametrize("rows", [2, 1_000_000])
def test_bad_files_are_refused_with_line_and_way_out(write, name, rows):
    text, line, word, way = BAD[name]
    path = write(text)
    with pytest.raises(FileFault) as fault:
        count_file(path, "gauge_1_strain_um_m", rows=rows)
    (found,) = fault.value.faults
    assert word in found.allowed
    assert way in found.way_out
    assert found.line == line
    assert str(path) in str(fault.value)


def test_absent_column_and_unknown_unit(write):
    path = write(lines())
    with pytest.raises(FileFault) as fault:
        count_file(path, "gauge_2_strain_um_m")
    assert "did you mean 'gauge_1_strain_um_m'" in str(fault.value)
    assert HEADER.replace(",", ", ") in str(fault.value)
    with pytest.raises(FileFault) as fault:
        count_file(path, "time_s")
    assert "not the time" in str(fault.value)
    path = write(lines().replace("gauge_1_strain_um_m", "gauge_1_strain"))
    with pytest.raises(FileFault) as fault:
        count_file(path, "gauge_1_strain")
    assert "must end with its unit: _um_m, " in str(fault.value)
    assert "as in force_kN" in fault.value.faults[0].way_out
    path = write(lines().replace("gauge_1_strain_um_m", "force_kn"))
    with pytest.raises(FileFault, match="did you mean 'force_kN'"):
        count_file(path, "force_kn")
    path = write(lines().replace("gauge_1_strain_um_m", "force_lbf"))
    with pytest.raises(FileFault, match="must end with its unit"):
        count_file(path, "force_lbf")


def test_other_faults(write, tmp_path):
    with pytest.raises(FileFault, match="cannot be read"):
        count_file(tmp_path / "none.csv", "force_N")
    with pytest.raises(InputFault, match="did you mean 'half'"):
        count_file(write(lines()), "drum_speed_rpm", "hal")
    with pytest.raises(InputFault, match="whole number"):
        list(read_blocks(write(lines()), "drum_speed_rpm", rows=0))
    path = tmp_path / "binary.csv"
    path.write_bytes(b"\xff\xfe\x00\x01\n")
    with pytest.raises(FileFault, match="must be text"):
        count_file(path, "force_N")


def test_a_large_gap_in_a_late_block_is_named_by_its_line(write):
    values = strain(3000)
    text = text_of(values).split("\n")
    del text[2500:2510]
    with pytest.raises(FileFault) as fault:
        count_file(write("\n".join(text)), "gauge_1_strain_um_m", rows=100)
    assert fault.value.faults[0].line == 2501
