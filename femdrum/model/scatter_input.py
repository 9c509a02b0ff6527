"""What scatters from drum to drum, and by how much: radius, wall, roughness, loads, strength, life."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..provenance import Provenance, common_practice
from .check import Checks

__all__ = ["DISTRIBUTIONS", "LENGTH_DISTRIBUTIONS", "ScatterInput", "Varied"]

DISTRIBUTIONS = ("lognormal", "normal", "uniform")
LENGTH_DISTRIBUTIONS = ("uniform", "normal")
MOST_SAMPLES = 2**20


@dataclass(frozen=True)
class Varied:
    """One input of the scatter.

    field: its name in ScatterInput. sample: its key among the samples. how: "added" (a deviation in mm), "times" (a
    factor, median 1) or "log10" (added to the decimal logarithm of life). spread: what the distribution's width is.
    words: for tables.
    """

    field: str
    sample: str
    how: str
    distribution: str
    spread: float
    words: str


@dataclass(frozen=True, kw_only=True)
class ScatterInput:
    """Spread of each input; 0: it does not vary.

    One number a field, read by its distribution: "uniform", plus or minus this; "normal", the standard deviation, cut
    at three of them (beyond that the part is rejected); "lognormal", the standard deviation of the natural logarithm,
    close to the coefficient of variation, median at the nominal value.

    corner_radius_mm, wall_mm: deviation from the drawing (uniform: the tolerance). roughness_share, load_share,
    strength_share: of the nominal value. peak_share: what is not known of the computed peak, a share of it; the stated
    error of the response surface belongs here. life_scatter: standard deviation of log10 of the life at a given
    stress. seed, samples (a power of two): the same pair gives the same numbers.
    The defaults are common practice, without a source.
    """

    seed: int = 1
    samples: int = 4096
    corner_radius_mm: float = 1.0
    wall_mm: float = 0.5
    roughness_share: float = 0.25
    load_share: float = 0.2
    strength_share: float = 0.06
    peak_share: float = 0.0
    life_scatter: float = 0.2
    corner_radius_distribution: str = "uniform"
    wall_distribution: str = "uniform"
    roughness_distribution: str = "lognormal"
    load_distribution: str = "lognormal"
    strength_distribution: str = "lognormal"

    provenance: ClassVar[Provenance] = common_practice(
        "radius ± 1 mm, wall ± 0.5 mm, roughness 25 %, load 15 to 30 %, strength 6 %, life 0.2 in log10"
    )

    def __post_init__(self) -> None:
        checks = Checks()
        checks.whole("seed", self.seed, 0, 2**31 - 1, "any whole number; the same seed gives the same samples")
        good = checks.whole("samples", self.samples, 256, MOST_SAMPLES, "4096 is enough for P10 to P90")
        if good and self.samples & (self.samples - 1):
            low = 1 << (self.samples.bit_length() - 1)
            checks.add(
                "samples", self.samples, "must be a power of two", f"{low} or {2 * low}: the points fill space evenly"
            )
        for field in ("corner_radius", "wall"):
            checks.number(f"{field}_mm", getattr(self, f"{field}_mm"), least=0.0, most=50.0, way_out="0: not varied")
            kind = f"{field}_distribution"
            checks.one_of(kind, getattr(self, kind), LENGTH_DISTRIBUTIONS)
        for field in ("roughness", "load", "strength"):
            kind = f"{field}_distribution"
            known = checks.one_of(kind, getattr(self, kind), DISTRIBUTIONS)
            # three standard deviations below must leave something over
            most = {"normal": 0.33, "uniform": 0.99}.get(getattr(self, kind), 1.0) if known else 1.0
            way = "0.2 is 20 %; wider than this only 'lognormal' stays positive" if most < 1 else "0.2 is 20 %"
            checks.number(f"{field}_share", getattr(self, f"{field}_share"), least=0.0, most=most, way_out=way)
        checks.number("peak_share", self.peak_share, least=0.0, most=1.0, way_out="0.02 is 2 %")
        checks.number(
            "life_scatter", self.life_scatter, least=0.0, most=1.0, way_out="standard deviation of log10 of life, 0.2"
        )
        if not checks.faults and not self.varied:
            checks.add("scatter", 0, "nothing varies", "give at least one spread above 0, or leave the scatter out")
        checks.done()

    @property
    def every(self) -> tuple[Varied, ...]:
        """All inputs in their fixed order, those that do not vary with spread 0."""
        return (
            Varied(
                "corner_radius_mm", "corner_radius_deviation_mm", "added", self.corner_radius_distribution,
                self.corner_radius_mm, "corner radius",
            ),
            Varied("wall_mm", "wall_deviation_mm", "added", self.wall_distribution, self.wall_mm, "wall"),
            Varied(
                "roughness_share", "roughness_factor", "times", self.roughness_distribution, self.roughness_share,
                "roughness",
            ),
            Varied("load_share", "load_factor", "times", self.load_distribution, self.load_share, "loads"),
            Varied(
                "strength_share", "strength_factor", "times", self.strength_distribution, self.strength_share, "strength"
            ),
            Varied("peak_share", "peak_factor", "times", "lognormal", self.peak_share, "computed peak"),
            Varied("life_scatter", "life_log10", "log10", "normal", self.life_scatter, "life at a given stress"),
        )  # fmt: skip

    @property
    def varied(self) -> tuple[Varied, ...]:
        """The inputs that vary."""
        return tuple(v for v in self.every if v.spread > 0)
