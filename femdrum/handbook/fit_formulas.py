"""Published Kt fits as objects: formula, range, nominal, provenance.

Sizes: `across` is the cutout's full size across the pull, `along` its full size along the pull. The sources call
the half sizes a (across) and b (along).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ..errors import Fault, OutsideRange
from ..provenance import Provenance, common_practice, memory, published

__all__ = ["FITS", "Fit", "Limit", "curvature_parameter", "fit"]


@dataclass(frozen=True)
class Limit:
    """Range of one argument or ratio: `least` <= value <= `most`, or strictly inside where `open` says so."""

    least: float
    most: float
    open: bool = False

    def holds(self, value: float) -> bool:
        """True inside the range; a ratio on its very edge is not thrown out by rounding."""
        slack = 1e-9 * max(1.0, abs(self.most) if math.isfinite(self.most) else abs(self.least))
        if not math.isfinite(value):
            return False
        if self.open:
            return self.least < value < self.most
        return self.least - slack <= value <= self.most + slack

    def __str__(self) -> str:
        if not math.isfinite(self.most):
            return f"must be {'above' if self.open else 'at least'} {self.least:g}"
        if self.open:
            return f"must be above {self.least:g} and below {self.most:g}"
        return f"must be from {self.least:g} to {self.most:g}"


@dataclass(frozen=True)
class Fit:
    """A Kt formula from outside.

    label: short words for a chart. nominal: "gross" or "net", the stress its value multiplies. limits: range of each argument it was given for.
    formula takes the arguments by name and returns Kt on that nominal; `gross` and `net` convert.
    net_fraction: net over gross section from the same arguments (None: gross and net are the same).
    note: what is known of its deviation from computed values.
    """

    name: str
    label: str
    case: str
    nominal: str
    formula: Callable[..., float]
    limits: Mapping[str, Limit]
    provenance: Provenance
    net_fraction: Callable[..., float] | None = None
    note: str = ""

    def check(self, **arguments: float) -> None:
        """Raise OutsideRange with every argument that is outside the published range."""
        faults = [
            Fault(name, arguments[name], f"{limit} for {self.name}", "use the computed value")
            for name, limit in self.limits.items()
            if not limit.holds(arguments[name])
        ]
        if faults:
            raise OutsideRange(faults)

    def kt(self, **arguments: float) -> float:
        """Kt on the fit's own nominal. Raises OutsideRange outside the published range."""
        unknown = set(arguments) ^ set(self.limits)
        if unknown:
            raise TypeError(f"{self.name} takes {', '.join(self.limits)}; at odds: {', '.join(sorted(unknown))}")
        self.check(**arguments)
        return self.formula(**arguments)

    def gross(self, **arguments: float) -> float:
        """Kt on the gross section."""
        value = self.kt(**arguments)
        return value if self.nominal == "gross" else value / self._fraction(arguments)

    def net(self, **arguments: float) -> float:
        """Kt on the net section."""
        value = self.kt(**arguments)
        return value if self.nominal == "net" else value * self._fraction(arguments)

    def _fraction(self, arguments: Mapping[str, float]) -> float:
        return 1.0 if self.net_fraction is None else self.net_fraction(**arguments)


def _circle_cubic_net(*, d_over_w: float) -> float:
    c = 1 - d_over_w
    return 2 + 0.284 * c - 0.600 * c**2 + 1.32 * c**3


def _circle_cubic_ratio(*, d_over_w: float) -> float:
    q = d_over_w
    return 3 - 3.13 * q + 3.66 * q**2 - 1.53 * q**3


def _circle_cubic_older(*, d_over_w: float) -> float:
    q = d_over_w
    return 3 - 3.14 * q + 3.667 * q**2 - 1.527 * q**3


def _circle_short(*, d_over_w: float) -> float:
    return 2 + (1 - d_over_w) ** 3


def _circle_fraction(*, d_over_w: float) -> float:
    return 1 - d_over_w


def _ellipse_strip(*, across_over_along: float, across_over_w: float) -> float:
    k, q = across_over_along, across_over_w
    s = math.sqrt(k)
    c1 = 1.109 - 0.188 * s + 2.086 * k
    c2 = -0.486 + 0.213 * s - 2.588 * k
    c3 = 3.816 - 5.510 * s + 4.638 * k
    c4 = -2.438 + 5.485 * s - 4.126 * k
    return c1 + c2 * q + c3 * q**2 + c4 * q**3


def _ellipse_fraction(*, across_over_along: float, across_over_w: float) -> float:
    return 1 - across_over_w


def _ellipse_infinite(*, across_over_along: float) -> float:
    return 1 + 2 * across_over_along


def _rounded_rectangle(*, r_over_half_along: float, along_over_across: float) -> float:
    r, ratio = r_over_half_along, along_over_across
    s = math.sqrt(r)
    c1 = 14.815 - 15.774 * s + 8.149 * r
    c2 = -11.201 - 9.750 * s + 9.600 * r
    c3 = 0.202 + 38.662 * s - 27.374 * r
    c4 = 3.232 - 23.002 * s + 15.482 * r
    return c1 + c2 * ratio + c3 * ratio**2 + c4 * ratio**3


def _equivalent_ellipse(*, half_across_over_r: float) -> float:
    return 1 + 2 * math.sqrt(half_across_over_r)


def curvature_parameter(
    *, hole_radius_mm: float, mid_radius_mm: float, wall_mm: float, poissons_ratio: float = 0.3
) -> float:
    """B = [3 (1 - nu^2)]^(1/4) / 2 times a / sqrt(R h), for a circular hole in a thin cylinder."""
    return math.pow(3 * (1 - poissons_ratio**2), 0.25) / 2 * hole_radius_mm / math.sqrt(mid_radius_mm * wall_mm)


def _shell_axial(*, curvature: float, wall_over_radius: float) -> float:
    b, x = curvature, wall_over_radius
    c1 = 2.9127 - 3.4614 * x + 277.38 * x**2
    c2 = 1.3633 - 1.9581 * x - 1124.24 * x**2
    c3 = 1.3365 - 174.54 * x + 21452.3 * x**2 - 683125 * x**3
    c4 = -0.5115 + 13.918 * x - 335.338 * x**2
    c5 = 0.06154 - 1.707 * x + 34.614 * x**2
    return c1 + c2 * b + c3 * b**2 + c4 * b**3 + c5 * b**4


def _shell_fraction(*, curvature: float, wall_over_radius: float) -> float:
    """1 - d / (2 pi R) with nu = 0.3: a / R = B 2 / [3 (1 - nu^2)]^(1/4) sqrt(h / R)."""
    a_over_r = 2 * curvature / math.pow(3 * (1 - 0.3**2), 0.25) * math.sqrt(wall_over_radius)
    return 1 - a_over_r / math.pi


SEEN = "seen in a secondary reproduction"
STRIP = {"d_over_w": Limit(0.0, 1.0, open=True)}

FITS: dict[str, Fit] = {
    f.name: f
    for f in (
        Fit(
            "circle_strip_chart",
            "long strip, Peterson chart 4.1",
            "circular hole in a long strip, pull along the strip",
            "net",
            _circle_cubic_net,
            STRIP,
            published("Peterson's Stress Concentration Factors, chart 4.1", SEEN),
            _circle_fraction,
            "-1.4 % at d/W = 0.70, within that for d/W 0.05 to 0.8",
        ),
        Fit(
            "circle_strip_table",
            "long strip, Roark table 17.1",
            "circular hole in a long strip, pull along the strip",
            "net",
            _circle_cubic_ratio,
            STRIP,
            published("Roark's Formulas for Stress and Strain, table 17.1", SEEN),
            _circle_fraction,
            "-0.9 % at d/W = 0.65, within that for d/W 0.05 to 0.8",
        ),
        Fit(
            "circle_strip_older",
            "long strip, older texts",
            "circular hole in a long strip, pull along the strip",
            "net",
            _circle_cubic_older,
            STRIP,
            memory("machine design texts, an older edition of Roark"),
            _circle_fraction,
            "-1.0 % at d/W = 0.65, within that for d/W 0.05 to 0.8",
        ),
        Fit(
            "circle_strip_short",
            "long strip, 2 + (1 - d/W)^3",
            "circular hole in a long strip, pull along the strip",
            "net",
            _circle_short,
            STRIP,
            memory("Heywood's form"),
            _circle_fraction,
            "-3.3 % at d/W = 0.70",
        ),
        Fit(
            "ellipse_strip",
            "long strip, Peterson chart 4.51",
            "elliptical hole in a long strip, pull along the strip",
            "net",
            _ellipse_strip,
            {"across_over_along": Limit(1.0, 8.0), "across_over_w": Limit(0.0, 1.0, open=True)},
            published("Peterson's Stress Concentration Factors, 3rd ed., chart 4.51", SEEN),
            _ellipse_fraction,
            "within 2 % for axes up to 2 : 1, +6.6 % at 8 : 1",
        ),
        Fit(
            "ellipse_infinite",
            "infinite plate, Inglis",
            "elliptical hole in an infinite plate, plain pull",
            "gross",
            _ellipse_infinite,
            {"across_over_along": Limit(0.0, math.inf, open=True)},
            published("C. E. Inglis, 1913", "the original was not open; agrees with computed values"),
            None,
            "exact for the infinite plate",
        ),
        Fit(
            "rounded_rectangle",
            "infinite plate, Peterson chart 4.62",
            "rectangular hole with round corners in an infinite plate, plain pull",
            "gross",
            _rounded_rectangle,
            {"r_over_half_along": Limit(0.2, 1.0), "along_over_across": Limit(0.3, 1.0)},
            published("Peterson's Stress Concentration Factors, chart 4.62", SEEN),
            None,
            "+2.8 % at worst in its range; which of a and b is across was settled by comparison with computed values",
        ),
        Fit(
            "equivalent_ellipse",
            "equivalent-ellipse rule",
            "any rounded hole in an infinite plate, taken as the ellipse of the same size across and the same radius",
            "gross",
            _equivalent_ellipse,
            {"half_across_over_r": Limit(0.0, math.inf, open=True)},
            common_practice("equivalent-ellipse rule"),
            None,
            "good for slots long across the pull with full-round ends (-0.9 % at 2 : 1); up to +58 % otherwise",
        ),
        Fit(
            "circle_shell_axial",
            "thin cylinder, Peterson chart 4.4",
            "circular hole in a thin cylinder, axial pull, membrane and bending together",
            "net",
            _shell_axial,
            {"curvature": Limit(0.0, 4.0), "wall_over_radius": Limit(0.0, 0.02)},
            published("Peterson's Stress Concentration Factors, 3rd ed., chart 4.4", SEEN),
            _shell_fraction,
            "within 5 % of shallow-shell theory for B up to 1; beyond, up to 17 % low or 70 % high depending on h/R",
        ),
    )
}


def fit(name: str) -> Fit:
    """The fit with this name."""
    if name not in FITS:
        raise KeyError(f"no fit {name!r}; known: {', '.join(FITS)}")
    return FITS[name]
