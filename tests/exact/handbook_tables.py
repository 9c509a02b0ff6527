"""Reads the tables of exact plane values beside this file."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import NamedTuple

from femdrum.handbook.domains import Domain, InfinitePlate, Row, Strip
from femdrum.model.cutout import Circle, Cutout, Ellipse, Slot

DATA = Path(__file__).parent / "handbook_data"

FACTORS = {
    "Sx": (1.0, 0.0, 0.0),
    "Sy": (0.0, 1.0, 0.0),
    "biaxial": (1.0, 1.0, 0.0),
    "hoop_x_2to1": (1.0, 0.5, 0.0),
    "hoop_y_2to1": (0.5, 1.0, 0.0),
    "shear": (0.0, 0.0, 1.0),
}


class Tabulated(NamedTuple):
    """One tabulated peak. place: (x, y) in the first quadrant, same unit as the cutout, or None."""

    name: str
    cutout: Cutout
    domain: Domain
    factors: tuple[float, float, float]
    kt: float
    signed: float | None
    place: tuple[float, float] | None
    error: float


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table, comments left out."""
    with open(DATA / f"{name}.csv", encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def plane_slot() -> list[Tabulated]:
    out = []
    for r in rows("plane_slot_kt"):
        ratio = float(r["a_over_b"])  # tables: 2a along y, 2b along x, lengths in min(a, b)
        a, b = (ratio, 1.0) if ratio >= 1 else (1.0, 1 / ratio)
        cutout = Slot(size_x_mm=2 * b, size_y_mm=2 * a, corner_radius_mm=float(r["r_over_min"]))
        place = (float(r["x_max"]), float(r["y_max"]))
        out.append(
            Tabulated(f"plane a/b={ratio} r={r['r_over_min']} {r['load']}", cutout, InfinitePlate(), FACTORS[r["load"]],
                 float(r["Kt"]), float(r["sigma_signed"]), place, float(r["est_rel_err"]))
        )  # fmt: skip
    return out


def strip_circle() -> list[Tabulated]:
    return [
        Tabulated(f"strip circle d/W={r['d_over_W']}", Circle(diameter_mm=1), Strip(width_mm=1 / float(r["d_over_W"])),
             FACTORS["Sx"], float(r["Ktg"]), float(r["Ktg"]), (0.0, 0.5), float(r["est_rel_err"]))
        for r in rows("strip_circle_kt")
    ]  # fmt: skip


def strip_ellipse() -> list[Tabulated]:
    return [
        Tabulated(f"strip ellipse a/b={r['a_over_b']} 2a/W={r['q_2a_over_W']}",
             Ellipse(size_x_mm=2 / float(r["a_over_b"]), size_y_mm=2), Strip(width_mm=2 / float(r["q_2a_over_W"])),
             FACTORS["Sx"], float(r["Ktg"]), float(r["Ktg"]), (0.0, 1.0), float(r["est_rel_err"]))
        for r in rows("strip_ellipse_kt")
    ]  # fmt: skip


def strip_slot() -> list[Tabulated]:
    out = []
    for r in rows("strip_slot_kt"):
        b = float(r["b_over_a"])
        cutout = Slot(size_x_mm=2 * b, size_y_mm=2, corner_radius_mm=float(r["r_over_min"]) * min(1.0, b))
        out.append(
            Tabulated(f"strip slot 2a/W={r['height_2a_over_W']} b/a={b} r={r['r_over_min']}", cutout,
                 Strip(width_mm=2 / float(r["height_2a_over_W"])), FACTORS["Sx"], float(r["Ktg"]), float(r["Ktg"]),
                 (float(r["x_max"]), float(r["y_max"])), float(r["est_rel_err"]))
        )  # fmt: skip
    return out


def row_circle() -> list[Tabulated]:
    columns = {"Kt_along": "Sx", "Kt_across": "Sy", "Kt_biaxial": "biaxial"}
    return [
        Tabulated(f"row circle d/p={r['d_over_p']} {load}", Circle(diameter_mm=1), Row(pitch_mm=1 / float(r["d_over_p"])),
             FACTORS[load], float(r[column]), None, None, float(r["est_rel_err"]))
        for r in rows("row_circle_kt")
        for column, load in columns.items()
    ]  # fmt: skip


def row_slot() -> list[Tabulated]:
    out = []
    columns = {"Sx": "Sx_along_row", "Sy": "Sy_across_row"} | {n: n for n in ("biaxial", "hoop_x_2to1", "hoop_y_2to1")}
    for r in rows("row_slot_kt"):
        a, b, radius, pitch = (float(r[k]) for k in ("a", "b", "r", "p"))
        cutout = Slot(size_x_mm=2 * b, size_y_mm=2 * a, corner_radius_mm=radius)
        for load, column in columns.items():
            place = (float(r[f"x_{column}"]), float(r[f"y_{column}"]))
            out.append(
                Tabulated(f"row slot a={a} b={b} r={radius} p={pitch} {load}", cutout, Row(pitch_mm=pitch), FACTORS[load],
                     float(r[f"Kt_{column}"]), None, place, float(r["est_rel_err"]))
            )  # fmt: skip
    return out


TABLES = {
    "plane_slot_kt": (plane_slot, 210),
    "strip_circle_kt": (strip_circle, 19),
    "strip_ellipse_kt": (strip_ellipse, 16),
    "strip_slot_kt": (strip_slot, 24),
    "row_circle_kt": (row_circle, 54),
    "row_slot_kt": (row_slot, 25),
}


def every() -> list[Tabulated]:
    """All tabulated peaks."""
    return [row for read, _ in TABLES.values() for row in read()]
