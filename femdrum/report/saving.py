"""Writing figures: SVG, PDF and PNG that are the same file each time, at any magnification; small PNGs of shaded pictures."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from .style import DPI, INK, looks

if TYPE_CHECKING:
    from matplotlib.colors import Colormap
    from matplotlib.figure import Figure

__all__ = ["save"]

MAP_STEPS = 128  # of a colour map, of the 256 colours of a small PNG


def save(figure: Figure, path: Path, *, scale: float = 1.0, palette: bool = False) -> Path:
    """Write a figure as SVG, PDF or PNG; the ending says which. No date inside: the same figure gives the same file.

    scale: magnifies the whole figure, letters and all. palette: a PNG of 256 colours, for pictures that are full of shades.
    """
    kind = path.suffix.lower()
    with looks():
        if kind == ".svg":
            figure.savefig(path, format="svg", metadata={"Date": None})
            if scale != 1.0:
                _magnify(path, scale)
        elif kind == ".pdf":
            _save_pdf(figure, path, scale)
        else:
            figure.savefig(path, dpi=DPI * scale)
            if palette and kind == ".png":
                _to_palette(path, _maps_of(figure))
    return path


def _magnify(path: Path, scale: float) -> None:
    """An SVG's outer size; its inner coordinates stay."""
    text = path.read_text(encoding="utf-8")
    head, tag, rest = text.partition("<svg ")
    outer, end, body = rest.partition(">")
    outer = re.sub(r'(width|height)="([\d.]+)pt"', lambda m: f'{m[1]}="{float(m[2]) * scale:.6g}pt"', outer)
    path.write_text(f"{head}{tag}{outer}{end}{body}", encoding="utf-8")


def _save_pdf(figure: Figure, path: Path, scale: float) -> None:
    """A PDF page, everything on it magnified; words stay words, in an embedded font."""
    from matplotlib.backends.backend_pdf import Op, PdfFile, PdfPages

    base: Any = PdfFile

    class Page(base):  # type: ignore[misc]
        def newPage(self, width: float, height: float) -> None:
            super().newPage(width * scale, height * scale)
            self.output(scale, 0, 0, scale, 0, 0, Op.concat_matrix)

    class Pages(PdfPages):
        def _ensure_file(self) -> Any:
            if self._file is None:
                self._file = Page(path, metadata={"CreationDate": None})
            return self._file

    from matplotlib import rc_context

    with rc_context({"pdf.fonttype": 42}), Pages(path) as pages:
        figure.savefig(pages, format="pdf")


def _maps_of(figure: Figure) -> list[Colormap]:
    """Colour maps that are in use."""
    from matplotlib.collections import Collection

    meshes: list[Any] = [c for c in figure.findobj(Collection) if c.get_array() is not None]
    return list({c.get_cmap().name: c.get_cmap() for c in meshes}.values())


def _to_palette(path: Path, maps: list[Colormap]) -> None:
    """The PNG with 256 colours chosen for it: a third of the size, and no bands to be seen.

    A part of them are the steps of the colour maps, so that their bars stay even; the rest are found in the picture. Colours count by the square root of their pixels, so that the few pixels of a peak keep their own shades; white and ink stay exact.
    """
    from PIL import Image

    with Image.open(path) as image:
        whole = image.convert("RGB")
    steps = [np.round(255 * m(np.linspace(0, 1, MAP_STEPS))[:, :3]) for m in maps[:1]] or [np.zeros((0, 3))]
    pixels: Any = np.asarray(whole).reshape(-1, 3).astype(np.int64)
    keys, place, counts = np.unique(pixels @ [65536, 256, 1], return_inverse=True, return_counts=True)
    colours = np.stack([keys >> 16, keys >> 8 & 255, keys & 255], -1)
    many = np.repeat(colours, np.sqrt(counts).astype(int), axis=0).astype(np.uint8)
    found = Image.fromarray(many[None]).quantize(254 - sum(map(len, steps)), method=Image.Quantize.MEDIANCUT, kmeans=1)
    chosen = np.array(
        [*(found.getpalette() or []), *np.concatenate(steps).ravel(), 255, 255, 255, *bytes.fromhex(INK[1:])], float
    ).reshape(-1, 3)
    # the nearest by |a - b|^2, less |a|^2, which is the same for all b
    nearest = np.argmin((chosen**2).sum(1) - 2.0 * colours @ chosen.T, axis=1)
    small = Image.fromarray(nearest[place].reshape(whole.height, whole.width).astype(np.uint8), mode="P")
    small.putpalette([int(v) for v in chosen.ravel()])
    small.save(path, optimize=True, dpi=(DPI, DPI))
