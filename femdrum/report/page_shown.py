"""Figures as they stand in a page: the picture as a data address, and what can be read off it by pointing."""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .page_slim import slim
from .picture import Picture

__all__ = ["Shown", "data_address", "readings", "shown_figures"]

RASTER = ("field", "solid", "rotor-drum-in-space")  # as PNG: an SVG of them only wraps the same pixels


@dataclass(frozen=True)
class Shown:
    """A figure in the page: its picture as a data address, or the sentence that stands in its place.

    points: JSON of what can be read off by pointing, empty where nothing can. tall: higher than wide, wants a page of its own on paper.
    """

    number: int
    name: str
    caption: str
    data: str
    sentence: str
    chapter: str = ""
    points: str = ""
    tall: bool = False


def shown_figures(chosen: Sequence[Picture], done: Sequence[tuple[tuple[Path, ...], str]]) -> list[Shown]:
    """Pictures that were written, numbered in their order. done: for each its files, or none and the reason in a sentence."""
    out = []
    for number, (picture, (paths, sentence)) in enumerate(zip(chosen, done, strict=True), 1):
        wanted = ".png" if picture.name.startswith(RASTER) else ".svg"
        path = next((p for p in paths if p.suffix == wanted), None)
        data, points = ("", "") if path is None else (data_address(path), readings(path))
        wide, high = picture.size_mm
        chapter = getattr(picture, "chapter", "")
        out.append(Shown(number, picture.name, picture.caption, data, sentence, chapter, points, high > 1.1 * wide))
    return out


def data_address(path: Path) -> str:
    """A PNG or SVG as an address that carries it whole: pixels unchanged, an SVG as text with places to a hundredth of a point."""
    if path.suffix == ".png":
        kind, pixels = _packed(path.read_bytes())
        return f"data:image/{kind};base64,{base64.b64encode(pixels).decode('ascii')}"
    text = slim(path.read_text(encoding="utf-8"))
    for sign, code in (("%", "%25"), ("#", "%23"), ("<", "%3C"), (">", "%3E"), ('"', "%22"), ("&", "%26")):
        text = text.replace(sign, code)
    return f"data:image/svg+xml;charset=utf-8,{text}"


def _packed(png: bytes) -> tuple[str, bytes]:
    """The same pixels in the smaller of two formats."""
    from PIL import Image, features

    if not features.check("webp"):
        return "png", png
    with Image.open(io.BytesIO(png)) as picture, io.BytesIO() as out:
        picture.convert("RGB").save(out, format="WEBP", lossless=True, method=2)
        other = out.getvalue()
    return ("webp", other) if len(other) < len(png) else ("png", png)


def readings(path: Path) -> str:
    """What stands beside a picture in `NAME.points.json`, checked and without blanks; empty where there is none to use."""
    beside = path.with_suffix(".points.json")
    if not beside.is_file():
        return ""
    try:
        found: dict[str, Any] = json.loads(beside.read_text(encoding="utf-8"))
        points = [[round(float(p["x"]), 1), round(float(p["y"]), 1), str(p["text"])] for p in found["points"]]
        whole = {"width": float(found["width"]), "height": float(found["height"]), "points": points}
    except (ValueError, KeyError, TypeError):
        return ""
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c") if points else ""
