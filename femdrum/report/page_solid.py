"""The stress of the chosen variant in space, to be turned with the mouse: its data, and the script of a plotting library."""

from __future__ import annotations

import base64
import gzip
import json
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from ..study import Results, StoredVariant
from .page_skin import skin_of
from .picture import NoData
from .solid_picture import SolidPicture
from .style import scale_for
from .vtu import read_field
from .words import kind_word, with_unit

__all__ = ["Turned", "plotting_script", "turned"]

STEPS = 33  # colours of the map that are told to the script
AROUND = 2.4  # half width of what is shown, times half the slot's longer side
MOST_BYTES = 1_200_000  # of the body's data in the page
MISSING = "The plotting library is not installed, so the body cannot be turned here: pip install 'plotly>=6,<8'"


@dataclass(frozen=True)
class Turned:
    """What the page needs to turn a body. data: JSON; script: the library's own, compressed and in base64.

    still: name of the figure that shows the same without a script. sentence: why there is nothing to turn, else empty.
    """

    caption: str
    data: str
    script: str
    version: str
    still: str
    sentence: str = ""


@cache
def plotting_script() -> tuple[str, str]:
    """The library's bundled script, compressed, in base64, and its version; two empty texts where it is not installed."""
    try:
        script = files("plotly").joinpath("package_data", "plotly.min.js").read_bytes()
    except (ModuleNotFoundError, FileNotFoundError):
        return "", ""
    told = re.search(rb"plotly\.js v([\d.]+)", script[:400])  # the script's own version, not that of its wheel
    return base64.b64encode(gzip.compress(script, 9, mtime=0)).decode("ascii"), told[1].decode() if told else ""


def turned(results: Results, variant: StoredVariant | None, case: str) -> Turned | None:
    """The body of a variant under one load or condition; None where it has no solid field. A sentence where a part is missing."""
    if variant is None or not case:
        return None
    try:
        picture = SolidPicture(results, variant, case)
        data = _data(picture)
    except (NoData, KeyError, OSError):
        return None
    script, version = plotting_script()
    caption = (
        f"{kind_word(picture.answer)} {picture.who}: signed principal stress of largest magnitude on the shell, tension positive. "
        f"Largest tension {with_unit(picture.answer.tension)}, largest compression {with_unit(picture.answer.compression)}. "
        "The drum's axis points up; cut faces at the border are cuts, not ends of the drum. Colours are nodal means for "
        "orientation; the results are the numbers with their bands."
    )
    if not script:
        return Turned(caption, "", "", "", picture.name, MISSING)
    if len(data) > MOST_BYTES:
        return Turned(
            caption, "", "", "", picture.name, "The body's skin is too large to stand in this page; its figure shows it"
        )
    return Turned(caption, data, script, version, picture.name)


def _data(picture: SolidPicture) -> str:
    """Everything the script draws: numbers as little-endian arrays in base64, lengths in mm, stresses in MPa."""
    copies = picture._copies()
    cutout = picture.part.cutout
    skin = skin_of(
        read_field(picture.path), picture.case, cell=not picture.whole, turn=copies[0] if picture.whole else None,
        most_turn_rad=AROUND * max(cutout.half_x_mm, cutout.half_y_mm) / picture.part.outer_radius_mm,
    )  # fmt: skip
    colours, norm = scale_for(*picture._limits())
    at = np.linspace(0.0, 1.0, STEPS)
    rgb = np.round(255 * np.asarray(colours(at))[:, :3]).astype(int)
    job = picture.job()
    focus = job.views[0].focus
    eyes = [[round(p - f, 3) for p, f in zip(view.position, focus, strict=True)] for view in job.views]
    # of equal places the one on the far side of the slot: its wall faces the eye
    marks = [
        {
            "at": [round(v, 2) for v in min(picture._places(spot), key=lambda p: float(np.dot(p, eyes[0])))],
            "text": f"largest {which} {with_unit(quantity)}",
        }
        for which, quantity, spot in picture._extremes()
    ]
    told: dict[str, Any] = {
        "points": _packed(skin.points, "<f4"),
        "triangles": _packed(skin.triangles, "<u4"),
        "values": _packed(skin.values, "<f4"),
        "rims": _packed(skin.rims, "<u4"),
        "copies": [[round(float(v), 9) for v in m.ravel()] for m in copies],
        "colours": [[round(float(t), 4), "rgb({},{},{})".format(*c)] for t, c in zip(at, rgb, strict=True)],
        "least": float(norm.vmin or 0.0),
        "most": float(norm.vmax or 0.0),
        "marks": marks,
        "eyes": eyes,
        "ink": job.ink,
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")


def _packed(values: Any, kind: str) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype=kind).tobytes()).decode("ascii")
