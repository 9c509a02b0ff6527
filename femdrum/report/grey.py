"""Figures without colour: which grey stands for a colour, for a line, for a colour map."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .style import LOOKS, rgb_of

if TYPE_CHECKING:
    from matplotlib.colors import Colormap

__all__ = ["GREYS", "grey_map", "grey_of", "grey_pixels"]

# CIELAB lightness of the lines of LOOKS: neighbours far apart, all of 3 : 1 or more against white
GREYS = (8.0, 38.0, 61.0, 23.0, 53.0, 30.0, 15.0, 46.0)


def grey_of(colour: Any) -> tuple[float, float, float, float]:
    """The grey of a colour's lightness, its transparency kept; for the colours of `LOOKS` one of `GREYS`."""
    from matplotlib.colors import to_hex, to_rgba

    r, g, b, a = to_rgba(colour)
    shade = _shades().get(to_hex((r, g, b)))
    if shade is None:
        shade = float(grey_pixels(np.array([[[r, g, b]]]))[0, 0, 0])
    return shade, shade, shade, a


@cache
def _shades() -> dict[str, float]:
    return {
        look.colour: float(rgb_of(np.array([[light, 0.0, 0.0]]))[0].mean())
        for look, light in zip(LOOKS, GREYS, strict=True)
    }


def grey_pixels(rgb: NDArray[Any]) -> NDArray[Any]:
    """Pixels [height, width, 3 or 4], of 0 to 1 or 0 to 255, as greys of the same luminance."""
    whole = rgb.dtype.kind in "ui"
    v = np.asarray(rgb[..., :3], float) / (255.0 if whole else 1.0)
    linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    y = linear @ [0.2126, 0.7152, 0.0722]
    shade = np.clip(np.where(y <= 0.0031308, 12.92 * y, 1.055 * y ** (1 / 2.4) - 0.055), 0.0, 1.0)
    out = rgb.copy()
    out[..., :3] = (np.round(255 * shade).astype(rgb.dtype) if whole else shade)[..., None]
    return out


def grey_map(colours: Colormap) -> Colormap:
    """A map without colour. The signed one becomes a ramp from dark (compression) to light (tension): its two dark ends would read alike."""
    from matplotlib.colors import ListedColormap

    if colours.name.startswith("femdrum_signed"):
        lab = np.zeros((257, 3))
        lab[:, 0] = np.linspace(12.0, 97.0, 257)
        return ListedColormap(rgb_of(lab), name="femdrum_grey_ramp")
    if colours.name.startswith("femdrum_grey"):
        return colours
    shades = colours(np.linspace(0, 1, 256))
    return ListedColormap(grey_pixels(shades[None, :, :3])[0], name="femdrum_grey")
