"""Colours: told apart by everybody, uniform, and no rainbow."""

import colorsys
import re
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from femdrum.report import style

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE Trans. Vis. Comput. Graph. 15(6), 2009: full severity;
# from memory, confirmed only in that grey stays grey (rows add up to one)
BLIND = {
    "none": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def lab(rgb):
    rgb = np.clip(np.asarray(rgb, float), 0, 1)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    m = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    t = linear @ m.T / [0.95047, 1.0, 1.08883]
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


def seen(rgb, matrix):
    rgb = np.asarray(rgb, float)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    out = np.clip(linear @ np.asarray(matrix).T, 0, 1)
    return np.where(out <= 0.0031308, 12.92 * out, 1.055 * out ** (1 / 2.4) - 0.055)


@pytest.mark.parametrize("kind", BLIND)
def test_grey_stays_grey(kind):
    assert np.allclose(np.sum(BLIND[kind], 1), 1.0, atol=2e-3)


@pytest.mark.parametrize("kind", BLIND)
def test_lines_are_told_apart(kind):
    colours = [lab(seen(to_rgb(look.colour), BLIND[kind])) for look in style.LOOKS]
    least = min(np.linalg.norm(a - b) for i, a in enumerate(colours) for b in colours[:i])
    assert least > 18  # a difference of 2 to 3 is just seen


def test_no_two_lines_share_marker_or_dash():
    assert len({look.marker for look in style.LOOKS}) == len(style.LOOKS)
    assert len({str(look.dash) for look in style.LOOKS}) == len(style.LOOKS)
    assert len({look.colour for look in style.LOOKS}) == len(style.LOOKS)


def test_signed_map_is_pale_at_zero_and_even_on_both_sides():
    lightness = lab(style.signed_map()(np.linspace(0, 1, 101))[:, :3])[:, 0]
    assert lightness.argmax() == pytest.approx(50, abs=1)
    assert lightness[50] > 93
    assert np.all(np.diff(lightness[:50]) > 0)
    assert np.all(np.diff(lightness[51:]) < 0)
    assert np.abs(lightness - lightness[::-1]).max() < 4


def test_signed_map_steps_are_uniform():
    steps = np.linalg.norm(np.diff(lab(style.signed_map()(np.linspace(0, 1, 65))[:, :3]), axis=0), axis=1)
    assert steps.max() / np.median(steps) < 1.4


def test_magnitude_map_grows_lighter_all_the_way():
    lightness = lab(style.magnitude_map()(np.linspace(0, 1, 101))[:, :3])[:, 0]
    assert np.all(np.diff(lightness) > 0)


@pytest.mark.parametrize("colours", [style.signed_map(), style.magnitude_map()])
def test_no_rainbow(colours):
    rgb = colours(np.linspace(0, 1, 65))[:, :3]
    hues = {round(6 * colorsys.rgb_to_hsv(*c)[0]) for c in rgb if colorsys.rgb_to_hsv(*c)[1] > 0.35}
    assert len(hues) <= 3


def test_scale_is_centred_on_zero_only_where_signs_differ():
    _, both = style.scale_for(-20.0, 60.0)
    _, pull = style.scale_for(-0.1, 60.0)
    _, push = style.scale_for(-60.0, 0.0)
    assert (both.vmin, both.vmax) == (-60.0, 60.0)
    assert (pull.vmin, pull.vmax) == (0.0, 60.0)
    assert (push.vmin, push.vmax) == (-60.0, 0.0)


def test_colours_of_figures_stand_in_the_one_style_file():
    home = Path(style.__file__).parent
    files = [
        f
        for kind in ("*_picture", "life_*", "rotor_*", "retention_*", "balance_*", "grey", "retouch", "saving")
        for f in home.glob(f"{kind}.py")
    ]
    assert len(files) > 25
    for file in files:
        assert not re.findall(r"\"#[0-9a-fA-F]{3,8}\"", file.read_text(encoding="utf-8")), file.name
