"""Writing a field as VTU, the open XML format for cells in space: binary, zlib in blocks.

Written here, as the library that reads such files also loads the readers of all its other formats, which costs more
time than the writing.
"""

from __future__ import annotations

import base64
import sys
import zlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["write_cells"]

# VTK's number of each kind of cell that is written
_VTK = {"triangle": 5, "quad": 9, "tetra": 10, "hexahedron": 12, "wedge": 13, "pyramid": 14}
# VTK turns the triangles of a wedge the other way round than the corners are numbered here
_ORDER = {"wedge": [0, 2, 1, 3, 5, 4]}
_BLOCK = 32768  # bytes that are compressed at once
_LEVEL = 1  # of zlib: floating-point numbers get no more than some per cent smaller by a higher one, in twice the time


def write_cells(
    path: Path,
    points: NDArray[np.float64],
    cells: Sequence[tuple[str, NDArray[np.intp]]],
    point_data: Mapping[str, NDArray[np.float64]],
) -> None:
    """Write points [n, 3], blocks of cells (kind, corners [c, k]) and arrays [n] or [n, 3 or 6] at the points.

    Raises KeyError for a kind of cell that is not first-order, ValueError for an array of another length.
    """
    wrong = [name for name, values in point_data.items() if len(values) != len(points)]
    if wrong:
        raise ValueError(f"{wrong[0]!r} holds {len(point_data[wrong[0]])} values for {len(points)} points")
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(_lines(points, cells, point_data))


def _lines(
    points: NDArray[np.float64],
    cells: Sequence[tuple[str, NDArray[np.intp]]],
    point_data: Mapping[str, NDArray[np.float64]],
) -> Iterator[str]:
    corners = [block[:, _ORDER.get(kind, slice(None))] for kind, block in cells]
    per_cell = np.concatenate([np.full(len(block), block.shape[1]) for block in corners])
    kinds = np.concatenate([np.full(len(block), _VTK[kind]) for kind, block in cells])
    yield '<?xml version="1.0"?>\n'
    yield f'<VTKFile type="UnstructuredGrid" version="0.1" byte_order="{sys.byteorder.title()}Endian" '
    yield 'compressor="vtkZLibDataCompressor">\n<UnstructuredGrid>\n'
    yield f'<Piece NumberOfPoints="{len(points)}" NumberOfCells="{len(kinds)}">\n'
    yield "<Points>\n"
    yield from _array("Points", points)
    yield "</Points>\n<Cells>\n"
    yield from _array("connectivity", np.concatenate([block.reshape(-1) for block in corners]))
    yield from _array("offsets", np.cumsum(per_cell))
    yield from _array("types", kinds)
    yield "</Cells>\n<PointData>\n"
    for name, values in point_data.items():
        yield from _array(name, values)
    yield "</PointData>\n</Piece>\n</UnstructuredGrid>\n</VTKFile>\n"


def _array(name: str, values: NDArray[Any]) -> Iterator[str]:
    kind = "Float64" if values.dtype.kind == "f" else "Int64"
    values = values.astype(float if kind == "Float64" else np.int64, copy=False)
    for sign, word in (("&", "&amp;"), ("<", "&lt;"), ('"', "&quot;")):  # a load may bear any name
        name = name.replace(sign, word)
    columns = f' NumberOfComponents="{values.shape[1]}"' if values.ndim == 2 else ""
    yield f'<DataArray type="{kind}" Name="{name}"{columns} format="binary">\n'
    data = values.tobytes()
    blocks = [data[at : at + _BLOCK] for at in range(0, len(data), _BLOCK)]
    packed = [zlib.compress(block, _LEVEL) for block in blocks]
    last = len(blocks[-1]) if blocks else 0
    head = np.array([len(blocks), _BLOCK, last, *map(len, packed)], np.uint32)
    yield base64.b64encode(head.tobytes()).decode()
    yield base64.b64encode(b"".join(packed)).decode()
    yield "\n</DataArray>\n"
