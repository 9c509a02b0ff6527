"""Materials: steels by grade with the standard's minimum values, or own values."""

from __future__ import annotations

import csv
import functools
from dataclasses import dataclass
from pkgutil import get_data

from ..errors import Fault, InputFault, nearest
from ..provenance import Kind, Provenance, common_practice
from .check import Checks

__all__ = ["Material", "grades", "steel"]

# common practice, no source: structural steels differ from these by a few per cent at most
STEEL_YOUNGS_MPA = 206_000.0
STEEL_POISSON = 0.3
STEEL_DENSITY_KG_M3 = 7850.0


@dataclass(frozen=True, kw_only=True)
class Material:
    """Isotropic linear elastic material; strengths are optional here (life needs them)."""

    youngs_modulus_MPa: float
    poissons_ratio: float
    density_kg_m3: float = STEEL_DENSITY_KG_M3
    yield_MPa: float | None = None
    ultimate_MPa: float | None = None
    grade: str = ""
    provenance: Provenance | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("youngs_modulus_MPa", self.youngs_modulus_MPa, above=0.0, most=1e7)
        checks.number("poissons_ratio", self.poissons_ratio, above=0.0, below=0.5, way_out="steel has about 0.3")
        checks.number("density_kg_m3", self.density_kg_m3, above=0.0, most=30_000.0)
        strengths = [
            checks.positive(f, v)
            for f, v in (("yield_MPa", self.yield_MPa), ("ultimate_MPa", self.ultimate_MPa))
            if v is not None
        ]
        if len(strengths) == 2 and all(strengths) and (self.yield_MPa or 0) > (self.ultimate_MPa or 0):
            checks.add("yield_MPa", self.yield_MPa, f"must not exceed ultimate_MPa = {self.ultimate_MPa}")
        checks.done()


@dataclass(frozen=True)
class _Row:
    standard: str
    grade: str
    condition: str
    dim: str
    above_mm: float
    upto_mm: float
    yield_MPa: float
    ultimate_MPa: float
    source: str
    provenance: str


@functools.cache
def _rows() -> tuple[_Row, ...]:
    data = get_data(__package__, "steels.csv")
    assert data is not None
    lines = (line for line in data.decode("utf-8").splitlines() if not line.startswith("#"))
    return tuple(
        _Row(
            r["standard"], r["grade"], r["condition"], r["dim"], float(r["from_mm_excl"]), float(r["to_mm_incl"]),
            float(r["Re_min_MPa"]), float(r["Rm_min_MPa"]), r["source"], r["provenance"],
        )
        for r in csv.DictReader(lines)
    )  # fmt: skip


def grades() -> tuple[str, ...]:
    """Names of the steels that `steel` knows."""
    return tuple(dict.fromkeys(r.grade for r in _rows()))


def steel(grade: str, thickness_mm: float | None = None) -> Material:
    """Steel by grade; with a thickness also the standard's minimum yield and tensile strength for it.

    Raises InputFault for an unknown grade or a thickness outside the standard's range.
    Elastic constants and density are common practice (206,000 MPa, 0.3, 7,850 kg/m3).
    """
    rows = [r for r in _rows() if r.grade == grade]
    if not rows:
        raise InputFault(
            Fault(
                "grade",
                grade,
                f"must be one of {', '.join(grades())}",
                nearest(grade, grades()) or "or give the material's own values",
            )
        )
    elastic = {
        "youngs_modulus_MPa": STEEL_YOUNGS_MPA,
        "poissons_ratio": STEEL_POISSON,
        "density_kg_m3": STEEL_DENSITY_KG_M3,
        "grade": grade,
    }
    if thickness_mm is None:
        return Material(**elastic, provenance=common_practice("elastic constants and density of steel"))  # type: ignore[arg-type]
    for r in rows:
        if r.above_mm < thickness_mm <= r.upto_mm:
            kind = Kind.MEMORY if "from memory" in r.provenance else Kind.STANDARD
            return Material(
                **elastic,  # type: ignore[arg-type]
                yield_MPa=r.yield_MPa,
                ultimate_MPa=r.ultimate_MPa,
                provenance=Provenance(
                    kind, f"{r.source}, {r.condition}, {r.dim} {r.above_mm:g} to {r.upto_mm:g} mm", r.provenance
                ),
            )
    low, high = min(r.above_mm for r in rows), max(r.upto_mm for r in rows)
    raise InputFault(
        Fault(
            "grade",
            grade,
            f"is given by {rows[0].standard} for {rows[0].dim} above {low:g} to {high:g} mm, not {thickness_mm:g} mm",
            "give the material's own values",
        )
    )
