"""Every row of the reference tables as a plate or a row of holes for finite elements.

The tables are for infinite plates, long strips and infinite rows; the parts are large enough for that to make
no difference (below 1e-5 of Kt).
"""

from __future__ import annotations

from handbook_tables import Tabulated, every

import femdrum as fd
from femdrum.handbook.domains import Row, Strip

__all__ = ["by_part"]


def _part(row: Tabulated) -> fd.Plate | fd.PlateRow:
    cutout, domain = row.cutout, row.domain
    size = 2 * max(cutout.half_x_mm, cutout.half_y_mm)
    if isinstance(domain, Strip):
        length = 12 * domain.width_mm + 2 * cutout.half_x_mm
        return fd.Plate(length_mm=length, width_mm=domain.width_mm, thickness_mm=1, cutout=cutout)
    if isinstance(domain, Row):
        return fd.PlateRow(pitch_mm=domain.pitch_mm, width_mm=1e5 * size, thickness_mm=1, cutout=cutout)
    return fd.Plate(length_mm=400 * size, width_mm=400 * size, thickness_mm=1, cutout=cutout)


def by_part() -> dict[fd.Plate | fd.PlateRow, list[Tabulated]]:
    """All rows, those of one part together."""
    out: dict[fd.Plate | fd.PlateRow, list[Tabulated]] = {}
    for row in every():
        out.setdefault(_part(row), []).append(row)
    return out
