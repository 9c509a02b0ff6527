"""The columns of the results, what each means, and the rows of a variant."""

from __future__ import annotations

from typing import Any

from ..units import unit_of
from .study import Axis

__all__ = ["DEFINITIONS", "PROVENANCE", "RESULT_COLUMNS", "axis_definition", "rows_of"]

DEFINITIONS = {
    "variant": "key of the variant: the name of its folder under variants/, a hash of its inputs",
    "case": "name of the load, or of the condition: a named state in which several loads act",
    "case_kind": "kind of the load; condition for a named state",
    "nominal_MPa": "gross nominal stress that the stress concentration is referred to; which one is said with each answer",
    "kt_gross": "|peak| over |gross nominal stress|",
    "kt_net": "|peak| over |net nominal stress|; empty where no net section is defined",
    "kt_band": "half width of the error band of kt_gross",
    "peak_MPa": "principal stress of largest magnitude on the slot's flanks and rims and the surfaces near them, signed, tension positive",
    "peak_band_MPa": "half width of the error band of peak_MPa",
    "tension_MPa": "largest principal tension there",
    "compression_MPa": "largest principal compression there, negative",
    "verdict": "settled: the band is no wider than asked; not settled: it is wider; unbounded: theory has no finite value; "
    "failed: no solution",
    "x_mm": "place of the peak on the unrolled part, around the drum (plates: along the length)",
    "y_mm": "place of the peak along the drum's axis (plates: along the width)",
    "depth_mm": "place of the peak from the outer surface inward",
    "adding_maxima_MPa": "what adding the peaks of a condition's loads would have given: no stress of any place, only to compare; empty for a load",
    "shares": "what each load of a condition gives to its peak, at the peak's place, as a fraction; empty for a load",
    "unknowns": "unknowns of the finest mesh",
    "seconds": "time for the variant's solution",
    "message": "what else is to be said: why there is no number, why the band is wide",
}

RESULT_COLUMNS = tuple(DEFINITIONS)

PROVENANCE = {
    "peaks, stress concentrations, places": "computed: finite elements on a ladder of meshes; the mesh, the solver and the notes stand with each answer",
    "bands": (
        "computed: from the change between the last meshes; the factor of plates was fixed on one half of the known cases "
        "and judged on the other, that of rings on 100 random rings and judged on 100 others; "
        "for meshes from files see the model's notes"
    ),
    "loads reckoned from the machine": "each derived number stands with its formula and its provenance with the answer",
    "comparisons": "each names its own source",
    "material": "stands with the inputs of each variant",
}


def axis_definition(axis: Axis) -> str:
    """What an axis's column holds."""
    unit = unit_of(axis.column)
    return f"varied by the study: {axis.key}" + (f", in {unit}" if unit else "")


def rows_of(record: dict[str, Any]) -> list[dict[str, Any]]:
    """Result rows of one stored variant (without its axes), a row per answer."""
    rows = []
    for answer in record["answers"]:
        at = answer["at"] or {}
        rows.append(
            {
                "variant": record["key"],
                "case": answer["case"],
                "case_kind": answer["case_kind"],
                "nominal_MPa": answer["nominal"]["gross_MPa"],
                "kt_gross": answer["kt_gross"]["value"],
                "kt_net": answer["kt_net"]["value"],
                "kt_band": answer["kt_gross"]["band"],
                "peak_MPa": answer["peak"]["value"],
                "peak_band_MPa": answer["peak"]["band"],
                "tension_MPa": answer["tension"]["value"],
                "compression_MPa": answer["compression"]["value"],
                "verdict": answer["verdict"],
                "x_mm": at.get("x_mm"),
                "y_mm": at.get("y_mm"),
                "depth_mm": at.get("depth_mm"),
                "adding_maxima_MPa": answer["adding_maxima_MPa"],
                "shares": "; ".join(f"{s['load']} {s['fraction']:.4f}" for s in answer["shares"]),
                "unknowns": answer["unknowns"],
                "seconds": answer["seconds"],
                "message": answer["message"],
            }
        )
    return rows
