"""Units. Inside femdrum: N, mm, MPa, t (tonne), s. Conversion happens only at the door.

N/mm2 = MPa and t = N s2/mm, so density is t/mm3 (steel 7.85e-9) and rho * omega^2 * r^2 is in MPa.
"""

from __future__ import annotations

import math

__all__ = ["LABELS", "density_t_mm3", "label", "omega_rad_s", "unit_of"]

# suffix of a field's or column's name -> what people read
LABELS = {
    "_kN_mm": "kN/mm",
    "_mm_s": "mm/s",
    "_m_s": "m/s",
    "_kg_m3": "kg/m³",
    "_kg_m2": "kg·m²",
    "_g_mm": "g·mm",
    "_GPa": "GPa",
    "_MPa": "MPa",
    "_mm2": "mm²",
    "_mm": "mm",
    "_kNm": "kN·m",
    "_Nm_rad": "N·m/rad",
    "_Nm": "N·m",
    "_kN": "kN",
    "_N": "N",
    "_kW": "kW",
    "_kg": "kg",
    "_rpm": "rpm",
    "_deg": "°",
    "_um": "µm",
    "_pct": "%",
    "_h": "h",
    "_Hz": "Hz",
    "_s": "s",
    "_J": "J",
}


def unit_of(name: str) -> str:
    """Unit of a field from its suffix, as people read it; empty where the name carries none."""
    for suffix, text in LABELS.items():
        if name.endswith(suffix):
            return text
    return ""


def label(name: str) -> str:
    """`corner_radius_mm` -> `corner radius (mm)`."""
    for suffix, text in LABELS.items():
        if name.endswith(suffix):
            return f"{name[: -len(suffix)].replace('_', ' ')} ({text})"
    return name.replace("_", " ")


def omega_rad_s(speed_rpm: float) -> float:
    """Angular speed in rad/s from revolutions per minute."""
    return 2.0 * math.pi * speed_rpm / 60.0


def density_t_mm3(density_kg_m3: float) -> float:
    """Density in t/mm3 from kg/m3."""
    return density_kg_m3 * 1e-12
