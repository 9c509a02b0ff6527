"""What a solved part says about one load: peak, band, verdict, stress concentration, and how it was got."""

from __future__ import annotations

from dataclasses import dataclass

from ..edge import EdgeStress, Peaks, Spot, SurfaceStress
from ..figure import Figure
from ..model.condition import Condition
from ..model.load import Load
from ..model.material import Material
from ..quantity import Quantity, Verdict

__all__ = ["Answer", "Comparison", "LadderStep", "Nominal", "ProbeValue", "Share"]


@dataclass(frozen=True)
class LadderStep:
    """One mesh of the ladder, coarse to fine. peak_MPa is signed; None on the way to an unbounded peak.

    cells_per_arc: cells per 90 degrees of a corner arc; for a mesh from a file, cells along an edge of one of its cells.
    """

    level: int
    unknowns: int
    order: int
    cells_per_arc: int
    seconds: float
    peak_MPa: float | None


@dataclass(frozen=True)
class Nominal:
    """The stress that Kt is referred to. gross_MPa None: this load has no nominal. net_fraction None: no net Kt."""

    gross_MPa: float | None
    definition: str
    net_fraction: float | None = None
    net_definition: str = ""


@dataclass(frozen=True)
class Comparison:
    """One value from elsewhere beside ours. value None: refused, `note` says why."""

    quantity: str
    ours: float | None
    band: float | None
    value: float | None
    source: str
    note: str = ""

    @property
    def difference(self) -> float | None:
        """Ours over theirs minus one."""
        if self.ours is None or self.value is None or self.value == 0:
            return None
        return self.ours / self.value - 1


@dataclass(frozen=True)
class ProbeValue:
    """Stress at a probe of a mesh, MPa: components in the mesh's axes, and the principal of largest magnitude."""

    name: str
    x_mm: float
    y_mm: float
    z_mm: float
    xx: Quantity
    yy: Quantity
    zz: Quantity
    xy: Quantity
    yz: Quantity
    xz: Quantity
    principal: Quantity


@dataclass(frozen=True)
class Share:
    """What one load of a condition gives to the condition's peak, at its place and along its direction.

    share: of the load in the condition. stress_MPa: with that share, signed. fraction: of the peak; they add up to 1.
    """

    load: str
    share: float
    stress_MPa: float
    fraction: float


@dataclass(frozen=True)
class Answer:
    """The answer for one load, or one condition, on one part.

    turning [3, case]: the state at an angle phi of the drum is turning[0] + cos(phi) turning[1] + sin(phi) turning[2]; factors
    are those of its worst angle. figures: the load's derived numbers with formula and provenance; warnings: what may make the load another one than
    was meant; unbalanced: what of it is balanced by the drum's inertia, in words. Of a condition: shares, and what adding
    the loads' own peaks would have given, adding_maxima_MPa.
    """

    part: object
    load: Load | Condition
    material: Material
    nominal: Nominal
    peaks: Peaks | None  # None where the peak is unbounded
    verdict: Verdict
    message: str
    ladder: tuple[LadderStep, ...]
    edge: EdgeStress | None
    surface: SurfaceStress | None
    factors: tuple[float, ...]
    unknowns: int
    seconds: float
    solver: str
    notes: tuple[str, ...]  # what was modelled and what was not, in sentences
    singularity: tuple[tuple[str, float], ...] = ()  # confirming fit at a sharp corner: (what, value)
    probes: tuple[ProbeValue, ...] = ()  # stress at the probes of a mesh from a file
    shares: tuple[Share, ...] = ()
    adding_maxima_MPa: float | None = None
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    unbalanced: str = ""
    turning: tuple[tuple[float, ...], ...] = ()

    def _none(self, definition: str) -> Quantity:
        return Quantity(None, "", None, self.verdict, definition)

    @property
    def peak(self) -> Quantity:
        """Principal stress of largest magnitude, signed, MPa."""
        return self.peaks.peak if self.peaks else self._none("peak stress")

    @property
    def tension(self) -> Quantity:
        """Largest principal tension, MPa."""
        return self.peaks.tension if self.peaks else self._none("largest tension")

    @property
    def compression(self) -> Quantity:
        """Largest principal compression, MPa, negative."""
        return self.peaks.compression if self.peaks else self._none("largest compression")

    @property
    def at(self) -> Spot | None:
        """Place of the peak."""
        return self.peaks.at if self.peaks else None

    @property
    def kt_gross(self) -> Quantity:
        """|peak| over |gross nominal|."""
        return self._kt(1.0, self.nominal.definition)

    @property
    def kt_net(self) -> Quantity:
        """|peak| over |net nominal|; no number where no net section is defined."""
        return self._kt(self.nominal.net_fraction, self.nominal.net_definition)

    def _kt(self, fraction: float | None, definition: str) -> Quantity:
        gross, peak = self.nominal.gross_MPa, self.peak
        text = f"Kt = |peak| / |{definition}|"
        if gross is None or fraction is None or peak.value is None or peak.band is None:
            return self._none(text)
        scale = fraction / abs(gross)
        return Quantity(abs(peak.value) * scale, "", peak.band * scale, peak.verdict, text)

    def probe(self, name: str) -> ProbeValue:
        """The stress at the probe of this name."""
        for value in self.probes:
            if value.name == name:
                return value
        raise KeyError(f"no probe {name!r}; known: {', '.join(p.name for p in self.probes) or 'none'}")

    def against_handbook(self) -> tuple[Comparison, ...]:
        """This answer beside the exact plane solution and the published fits, with their sources."""
        from .compare import against_handbook

        return against_handbook(self)
