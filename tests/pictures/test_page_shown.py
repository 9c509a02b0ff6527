"""Pictures in the page: the same drawing in fewer letters, the same pixels, and read-outs only where they are sound."""

import base64
import io
import json
import re
from urllib.parse import unquote

import numpy as np
import pytest
from PIL import Image

from femdrum.report.page_shown import data_address, readings
from femdrum.report.page_slim import slim

SVG = """<?xml version="1.0" encoding="utf-8"?>
<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x.dtd">
<svg viewBox="0 0 100 50" xmlns="http://www.w3.org/2000/svg">
 <!-- a note -->
 <path d="M 10.123456 20.654321
L 30.000001 20.654321
C 31 22 33.5 24.25 34 26
z
M 1 2
L 0.5 1.75
" style="fill: none"/>
 <path d="M 1 2 A 3 3 0 1 0 7 8"/>
 <g id="nobody"><use id="kept" href="#kept"/></g>
 <text style="font-size: 7.5px; font-family: 'DejaVu Sans', 'Arial', sans-serif" x="12.345678" y="3">a  #1 &lt; 50 % "b" 1.23456</text>
</svg>
"""


def ends(path):
    """All places of a path, absolute, whatever its letters."""
    at, begun, out = np.zeros(2), np.zeros(2), []
    for letter, told in re.findall(r"([A-Za-z])([^A-Za-z]*)", path):
        numbers = np.array([float(n) for n in re.findall(r"-?\d*\.?\d+", told)]).reshape(-1, 2)
        if letter in "zZ":
            at = begun
            continue
        placed = numbers + at if letter.islower() else numbers
        at = placed[-1]
        begun = at if letter in "Mm" else begun
        out.extend(placed)
    return np.array(out)


def test_a_slim_drawing_has_the_same_places_and_words():
    after = slim(SVG)
    old = re.findall(r' d="([^"]*)"', SVG)
    new = re.findall(r" d='([^']*)'", after)
    assert np.abs(ends(old[0]) - ends(new[0])).max() <= 0.0051
    assert re.sub(r"\s", "", new[1]) == re.sub(r"\s", "", old[1])  # an arc is left as it is
    assert 'a  #1 &lt; 50 % "b" 1.23456</text>' in after
    assert "note" not in after
    assert "Arial" not in after
    assert "nobody" not in after
    assert "id='kept'" in after
    assert "font-size:7.5px;font-family:DejaVu Sans,sans-serif" in after
    assert len(after) < 0.75 * len(SVG)


def test_rounding_does_not_add_up_along_a_path():
    rng = np.random.default_rng(7)
    places = np.cumsum(rng.normal(size=(4000, 2)) * 0.0173, axis=0) + 50
    path = "M " + " L ".join(f"{x:.6f} {y:.6f}" for x, y in places)
    (new,) = re.findall(r" d='([^']*)'", slim(f'<svg><path d="{path}"/></svg>'))
    assert np.abs(ends(new) - places).max() <= 0.0051
    assert len(new) < 0.5 * len(path)


def circle(x, y, r):
    """A circle of eight cubic curves, as the plotting library draws one."""
    k = 4 / 3 * np.tan(np.pi / 16)
    out = [f"M {x + r} {y}"]
    for n in range(8):
        a, b = n * np.pi / 4, (n + 1) * np.pi / 4
        p, q = (np.array([np.cos(t), np.sin(t)]) for t in (a, b))
        s, t = np.array([-p[1], p[0]]), np.array([-q[1], q[0]])
        places = [p + k * s, q - k * t, q]
        out.append("C " + " ".join(f"{x + r * c[0]:.6f} {y + r * c[1]:.6f}" for c in places))
    return " ".join([*out, "z"])


def test_circles_become_two_arcs_about_the_same_middle():
    path = f"{circle(10, 20, 1.5)} {circle(30.25, 5.5, 1.5)} M 1 1 L 2 2"
    (new,) = re.findall(r" d='([^']*)'", slim(f'<svg><path d="{path}"/></svg>'))
    assert (
        new
        == "M11.5 20a1.5 1.5 0 1 1 -3 0a1.5 1.5 0 1 1 3 0zm20.25-14.5a1.5 1.5 0 1 1 -3 0a1.5 1.5 0 1 1 3 0zm-30.75-4.5l1 1"
    )
    egg = circle(10, 20, 1.5).replace("11.060660", "11.160660")
    assert "a" not in slim(f'<svg><path d="{egg}"/></svg>').replace("path", "")


def test_the_address_of_a_chart_carries_it_whole(tmp_path):
    path = tmp_path / "x.svg"
    path.write_text(SVG, encoding="utf-8")
    head, _, body = data_address(path).partition(",")
    assert head == "data:image/svg+xml;charset=utf-8"
    assert not set('"<>#&') & set(body)
    assert unquote(body) == slim(SVG)


def test_pixels_are_not_changed(tmp_path):
    path = tmp_path / "x.png"
    rng = np.random.default_rng(3)
    pixels = np.repeat(np.repeat(rng.integers(0, 255, (20, 30, 3), dtype=np.uint8), 8, 0), 8, 1)
    Image.fromarray(pixels).save(path)
    head, _, body = data_address(path).partition(",")
    assert head in ("data:image/webp;base64", "data:image/png;base64")
    with Image.open(io.BytesIO(base64.b64decode(body))) as back:
        assert (np.asarray(back.convert("RGB")) == pixels).all()
    assert len(base64.b64decode(body)) <= path.stat().st_size


def test_readings_are_taken_beside_the_picture(tmp_path):
    beside = tmp_path / "kt.points.json"
    told = {"width": 200, "height": 100, "points": [{"x": 10.123, "y": 20, "text": "Kt 3.21 </script> \u00b1 0.02"}]}
    beside.write_text(json.dumps(told), encoding="utf-8")
    found = readings(tmp_path / "kt.svg")
    assert "</script>" not in found
    assert json.loads(found)["points"] == [[10.1, 20.0, "Kt 3.21 </script> \u00b1 0.02"]]


@pytest.mark.parametrize(
    "text", ["{", "{}", '{"width": 1, "height": 1, "points": []}', '{"width": "a", "height": 1, "points": [1]}']
)
def test_what_cannot_be_read_leaves_a_picture(tmp_path, text):
    (tmp_path / "kt.points.json").write_text(text, encoding="utf-8")
    assert readings(tmp_path / "kt.svg") == ""
    assert readings(tmp_path / "other.svg") == ""
