"""Every row of the reference tables as a plate or a row of holes for finite elements: (part, factors, Kt).

The tables are for infinite plates, long strips and infinite rows; the parts are large enough for that to make
no difference (below 1e-5). Source of the values: see the headers of the tables.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import femdrum as fd

DATA = Path(__file__).parent / "handbook_data"

Row = tuple[object, tuple[float, float, float], float]

# load -> factors on tension_x, tension_y, shear
LOADS = {
    "Sx": (1.0, 0.0, 0.0),
    "Sy": (0.0, 1.0, 0.0),
    "biaxial": (1.0, 1.0, 0.0),
    "hoop_x_2to1": (1.0, 0.5, 0.0),
    "hoop_y_2to1": (0.5, 1.0, 0.0),
    "shear": (0.0, 0.0, 1.0),
}


def _rows(name: str) -> list[dict[str, str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def _slot(a: float, b: float, r: float) -> fd.Slot:
    return fd.Slot(size_x_mm=2 * b, size_y_mm=2 * a, corner_radius_mm=r)


def table_rows() -> Iterator[Row]:
    """All rows of the six tables."""
    for r in _rows("plane_slot_kt.csv"):
        a, b = float(r["a_over_b"]), 1.0
        size = 800 * max(a, b)
        cutout = _slot(a, b, float(r["r_over_min"]) * min(a, b))
        part = fd.Plate(length_mm=size, width_mm=size, thickness_mm=1, cutout=cutout)
        yield part, LOADS[r["load"]], float(r["Kt"])
    for r in _rows("strip_circle_kt.csv"):
        width = 2 / float(r["d_over_W"])
        part = fd.Plate(length_mm=12 * width, width_mm=width, thickness_mm=1, cutout=fd.Circle(diameter_mm=2))
        yield part, LOADS["Sx"], float(r["Ktg"])
    for r in _rows("strip_slot_kt.csv"):
        b = float(r["b_over_a"])
        width = 2 / float(r["height_2a_over_W"])
        cutout = _slot(1.0, b, float(r["r_over_min"]) * min(1.0, b))
        part = fd.Plate(length_mm=12 * width + 2 * b, width_mm=width, thickness_mm=1, cutout=cutout)
        yield part, LOADS["Sx"], float(r["Ktg"])
    for r in _rows("strip_ellipse_kt.csv"):
        a = float(r["a_over_b"])
        width = 2 * a / float(r["q_2a_over_W"])
        ellipse = fd.Ellipse(size_x_mm=2, size_y_mm=2 * a)
        part = fd.Plate(length_mm=12 * width, width_mm=width, thickness_mm=1, cutout=ellipse)
        yield part, LOADS["Sx"], float(r["Ktg"])
    for r in _rows("row_circle_kt.csv"):
        pitch = 2 / float(r["d_over_p"])
        row = fd.PlateRow(pitch_mm=pitch, width_mm=3e5, thickness_mm=1, cutout=fd.Circle(diameter_mm=2))
        for load, column in (("Sx", "Kt_along"), ("Sy", "Kt_across"), ("biaxial", "Kt_biaxial")):
            yield row, LOADS[load], float(r[column])
    for r in _rows("row_slot_kt.csv"):
        cutout = _slot(float(r["a"]), float(r["b"]), float(r["r"]))
        row = fd.PlateRow(pitch_mm=float(r["p"]), width_mm=3e5, thickness_mm=1, cutout=cutout)
        for load, column in (
            ("Sx", "Kt_Sx_along_row"),
            ("Sy", "Kt_Sy_across_row"),
            ("biaxial", "Kt_biaxial"),
            ("hoop_x_2to1", "Kt_hoop_x_2to1"),
            ("hoop_y_2to1", "Kt_hoop_y_2to1"),
        ):
            yield row, LOADS[load], float(r[column])
