"""Tables of bolts: threads, strength classes, friction by lubrication, scatter of tightening, embedding. mm, MPa."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ..model.check import Checks
from ..model.clamp import BOLT_CLASSES, PITCHES_MM, bolt_size
from ..provenance import Provenance, memory, standard

__all__ = [
    "CLASSES",
    "EMBEDDING",
    "FRICTION",
    "SCATTER",
    "Friction",
    "Scatter",
    "Thread",
    "embedding_um",
    "proof_yield_MPa",
    "thread",
]

PROFILE: Provenance = standard(
    "ISO 724, basic dimensions of the metric profile", "geometry of the 60 degree profile, recomputed"
)
HEADS: Provenance = memory("bearing diameters of ISO 4014 hexagon heads and clearance holes of ISO 273, medium")
CLASSES: Provenance = standard("ISO 898-1, least Rp0.2", "seen in two secondary reproductions")

# thread diameter -> bearing diameter of the hexagon head, clearance hole (mm)
_HEADS: dict[int, tuple[float, float]] = {
    6: (8.9, 6.6), 8: (11.6, 9.0), 10: (14.6, 11.0), 12: (16.6, 13.5), 14: (19.6, 15.5), 16: (22.5, 17.5),
    18: (25.3, 20.0), 20: (28.2, 22.0), 22: (31.7, 24.0), 24: (33.6, 26.0), 27: (38.0, 30.0), 30: (42.7, 33.0),
    33: (46.5, 36.0), 36: (51.1, 39.0), 39: (55.9, 42.0),
}  # fmt: skip
# least Rp0.2 (MPa) up to 16 mm and above
_YIELD = {"8.8": (640.0, 660.0), "10.9": (940.0, 940.0), "12.9": (1100.0, 1100.0)}


@dataclass(frozen=True)
class Thread:
    """A metric thread: diameter, pitch, pitch and core diameters, head bearing and hole diameters, mm."""

    size: str
    diameter_mm: float
    pitch_mm: float
    pitch_diameter_mm: float
    core_diameter_mm: float
    head_bearing_mm: float
    hole_mm: float

    @property
    def stress_diameter_mm(self) -> float:
        """Mean of pitch and core diameter."""
        return 0.5 * (self.pitch_diameter_mm + self.core_diameter_mm)

    @property
    def stress_area_mm2(self) -> float:
        """Stress area."""
        return 0.25 * math.pi * self.stress_diameter_mm**2

    @property
    def core_area_mm2(self) -> float:
        """Area of the core."""
        return 0.25 * math.pi * self.core_diameter_mm**2

    @property
    def shank_area_mm2(self) -> float:
        """Area of the full diameter."""
        return 0.25 * math.pi * self.diameter_mm**2


def thread(size: str) -> Thread:
    """The thread of a size such as "M16" or "M16x1.5"; d2 = d - 0.6495 P, d3 = d - 1.2269 P. Raises InputFault."""
    found = bolt_size(size)
    if found is None:
        checks = Checks()
        checks.add(
            "size",
            size,
            "must be one of " + ", ".join(f"M{d}" for d in PITCHES_MM),
            "or with a fine pitch as in 'M16x1.5'",
        )
        checks.done()
    assert found is not None
    d, pitch = found
    height = 0.5 * math.sqrt(3) * pitch
    head, hole = _HEADS[d]
    return Thread(size, float(d), pitch, d - 0.75 * height, d - 17 / 12 * height, head, hole)


def proof_yield_MPa(property_class: str, diameter_mm: float) -> float:
    """Least 0.2 % yield strength of a bolt class, MPa: CLASSES. Raises InputFault."""
    checks = Checks()
    checks.one_of("property_class", property_class, BOLT_CLASSES)
    checks.number("diameter_mm", diameter_mm, above=0.0, most=39.0, way_out="the classes are tabled up to M39")
    checks.done()
    small, large = _YIELD[property_class]
    return small if diameter_mm <= 16 else large


@dataclass(frozen=True)
class Friction:
    """Bounds of the coefficient in thread and under the head, and where they are from."""

    low: float
    high: float
    provenance: Provenance


_FRICTION_CLASSES = memory("friction classes of VDI 2230-1, tables on coefficients of friction of bolts")
FRICTION: Mapping[str, Friction] = {
    "solid lubricant": Friction(0.08, 0.16, _FRICTION_CLASSES),
    "oiled": Friction(0.10, 0.18, memory("steel bolts, oiled; between two friction classes of VDI 2230-1")),
    "as delivered": Friction(0.14, 0.24, _FRICTION_CLASSES),
    "dry": Friction(0.20, 0.35, _FRICTION_CLASSES),
}


@dataclass(frozen=True)
class Scatter:
    """Largest over least preload of a way of tightening: range of the table, its source, whether a torque sets it."""

    low: float
    high: float
    by_torque: bool
    provenance: Provenance

    @property
    def factor(self) -> float:
        """The upper end is taken."""
        return self.high


_VDI_1986 = standard(
    "VDI 2230:1986, guide values of the tightening factor", "seen in a table of fastener technology after that edition"
)
SCATTER: Mapping[str, Scatter] = {
    "yield controlled": Scatter(1.1, 1.27, False, _VDI_1986),
    "angle controlled": Scatter(1.1, 1.27, False, _VDI_1986),
    "hydraulic": Scatter(1.2, 1.6, False, _VDI_1986),
    "torque, friction measured": Scatter(1.4, 1.6, True, _VDI_1986),
    "torque, friction estimated": Scatter(
        1.6, 2.0, True,
        standard(
            "VDI 2230, guide values of the tightening factor",
            "worked example of a fastener supplier; the 1986 edition's table ends at 1.8",
        ),
    ),
    "power driver": Scatter(1.7, 2.5, True, _VDI_1986),
    "impact driver": Scatter(2.5, 4.0, True, memory("tightening factor of impact drivers, VDI 2230-1")),
}  # fmt: skip

EMBEDDING: Provenance = memory(
    "guide values of embedding per face, VDI 2230-1 table 5, axial load; order of magnitude supported"
)
# roughness Rz up to (µm) -> thread, head or nut face, each clamped face (µm)
_EMBEDDING = ((10.0, (3.0, 2.5, 1.5)), (40.0, (3.0, 3.0, 2.0)), (160.0, (3.0, 4.0, 3.0)))


def embedding_um(*, interfaces: int, roughness_Rz_um: float, tapped: bool = True) -> float:
    """Flattening of all faces of a bolted joint after tightening, µm: thread, head (and nut), and clamped interfaces.

    Guide values, from memory: EMBEDDING. Raises InputFault.
    """
    checks = Checks()
    checks.whole("interfaces", interfaces, 0, 20)
    checks.number("roughness_Rz_um", roughness_Rz_um, above=0.0, below=160.0, way_out="beyond the table: measure")
    checks.done()
    in_thread, head, inner = next(row for limit, row in _EMBEDDING if roughness_Rz_um < limit)
    return in_thread + head * (1 if tapped else 2) + inner * interfaces
