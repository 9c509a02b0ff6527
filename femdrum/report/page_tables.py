"""Rows of the report's tables: answers, inputs, nominals, comparisons, materials, meshes."""

from __future__ import annotations

from typing import Any

from ..provenance import common_practice
from ..study import Results, StoredVariant
from ..units import unit_of
from .parts import axis_number
from .words import bare, name_of, percent, plain, signed, variant_name

__all__ = [
    "answer_row", "column", "comparison_rows", "fit_sources", "inputs", "ladder_rows", "material_rows", "nominal_rows", "notes", "probe_rows",
]  # fmt: skip


def column(name: str) -> tuple[str, str]:
    """Name and unit of a column of the table."""
    return name_of(name), unit_of(name)


def answer_row(results: Results, variant: StoredVariant, answer: Any) -> dict[str, Any]:
    """A row of the table of all numbers, in words."""
    at = answer.at
    return {
        "axes": [_axis_cell(variant, a.column) for a in results.axes],
        "case": answer.case,
        "peak": bare(answer.peak) if answer.peak.value is not None else "no number",
        "kt_gross": bare(answer.kt_gross) if answer.kt_gross.value is not None else "",
        "kt_net": bare(answer.kt_net) if answer.kt_net.value is not None else "",
        "tension": bare(answer.tension) if answer.tension.value is not None else "",
        "compression": bare(answer.compression) if answer.compression.value is not None else "",
        "place": [] if at is None else [_place(at.x_mm), _place(at.y_mm), _place(at.depth_mm)],
        "slot": "" if at is None else str(at.slot),
        "verdict": answer.verdict.value,
    }


def _axis_cell(variant: StoredVariant, column: str) -> str:
    """A value of an axis; a full round with its radius."""
    value = variant.axes.get(column)
    if value == "full" and (radius := axis_number(variant, column)) is not None:
        return f"full ({radius:g})"
    return "" if value is None else plain(value)


def _place(value: float) -> str:
    return signed(f"{value if abs(value) >= 0.05 else 0.0:.1f}")


def _flat(inputs: dict[str, Any]) -> dict[str, Any]:
    """Inputs as `part.cutout.around_mm` -> value; loads by their name."""
    out: dict[str, Any] = {}

    def walk(prefix: str, value: Any) -> None:
        if prefix.startswith("condition.") and prefix.endswith(".loads"):
            out[prefix] = ", ".join(f"{load} {plain(share)}" for load, share in value.items())
        elif isinstance(value, dict):
            for key, inner in value.items():
                if key == "kind" and prefix.partition(".")[0] in ("condition", "machine"):
                    continue  # says the table's own name
                walk(f"{prefix}.{key}" if prefix else key, inner)
        elif isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            for n, inner in enumerate(value, 1):
                walk(f"{prefix}.{inner.get('name', n)}", {k: v for k, v in inner.items() if k != "name"})
        else:
            out[prefix] = value

    walk("", inputs)
    return out


def inputs(results: Results) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """Inputs that all variants share, and the ones that differ, each with its unit."""
    flats = [_flat(v.inputs) for v in results.variants]
    keys = list(dict.fromkeys(key for flat in flats for key in flat))
    common, varied = [], []
    for key in keys:
        if key.startswith("material.provenance"):
            continue
        values = list(dict.fromkeys(plain(flat[key]) if key in flat else "-" for flat in flats))
        *where, last = key.split(".")
        entry = {
            "where": ", ".join(where).replace("_", " "),
            "what": name_of(last),
            "value": values[0],
            "unit": unit_of(last),
            "key": key,
        }
        if len(values) == 1:
            common.append(entry)
        else:
            text = ", ".join(values[:12]) + (f" and {len(values) - 12} more" if len(values) > 12 else "")
            varied.append({**entry, "value": text})
    return common, varied


def nominal_rows(results: Results) -> list[dict[str, str]]:
    """Each load's nominal, gross and net, with its values."""
    out: dict[tuple[str, str, str], list[float]] = {}
    for variant in results.variants:
        for answer in variant.answers:
            nominal = answer.nominal
            if nominal.definition:
                key = (
                    "every condition" if answer.case_kind == "condition" else answer.case,
                    nominal.definition,
                    nominal.net_definition if nominal.net_fraction is not None else "",
                )
                out.setdefault(key, [])
                if nominal.gross_MPa is not None:
                    out[key].append(nominal.gross_MPa)
    rows = []
    for (case, gross, net), values in out.items():
        low, high = (min(values), max(values)) if values else (0.0, 0.0)
        value = (
            ""
            if not values
            else signed(f"{low:.4g}")
            if low == high
            else f"{signed(f'{low:.4g}')} to {signed(f'{high:.4g}')}"
        )
        rows.append(
            {
                "case": case,
                "gross": gross,
                "net": net or "not defined for this load and part: no net Kt is given",
                "value": value,
            }
        )
    return rows


def notes(results: Results) -> list[tuple[str, str]]:
    """Each note of the model once, with the loads it is about where not all share it."""
    found: dict[str, list[str]] = {}
    cases = {a.case for v in results.variants for a in v.answers if a.notes}
    for variant in results.variants:
        for answer in variant.answers:
            for note in answer.notes:
                about = found.setdefault(note, [])
                if answer.case not in about:
                    about.append(answer.case)
    parts = {a.case: {s.load for s in a.shares} for v in results.variants for a in v.answers}
    # a condition repeats what is said of its loads
    return [
        (note, "" if set(about) == cases else ", ".join(a for a in about if not parts[a] & set(about)))
        for note, about in found.items()
    ]


def comparison_rows(results: Results) -> list[dict[str, Any]]:
    """Our Kt beside every value from elsewhere, with the difference and whether it lies in our band."""
    rows = []
    for variant in results.variants:
        for answer in variant.answers:
            for c in answer.comparisons:
                inside = ""
                if c.ours is not None and c.band is not None and c.value is not None:
                    inside = "yes" if abs(c.ours - c.value) <= c.band else "no"
                relative = c.band / abs(c.ours) if c.band and c.ours else None
                rows.append(
                    {
                        "variant": variant_name(variant) or "this part",
                        "case": answer.case,
                        "quantity": c.quantity,
                        "ours": bare(answer.kt_gross)
                        if answer.kt_gross.value is not None and c.ours == answer.kt_gross.value
                        else ""
                        if c.ours is None
                        else f"{c.ours:.4g}",
                        "theirs": "refused" if c.value is None else f"{c.value:.4f}",
                        "difference": percent(c.difference, relative).removesuffix(" %"),
                        "inside": inside,
                        "note": c.note,
                        "source": c.source,
                    }
                )
    return rows


def probe_rows(results: Results) -> list[dict[str, Any]]:
    """Stress at the probes of a mesh from a file."""
    return [
        {
            "variant": variant_name(variant) or "this part",
            "case": answer.case,
            "name": probe.name,
            "place": [_place(probe.x_mm), _place(probe.y_mm), _place(probe.z_mm)],
            "values": [bare(getattr(probe, what)) for what in ("xx", "yy", "zz", "xy", "yz", "xz", "principal")],
            "verdict": probe.principal.verdict.value,
        }
        for variant in results.variants
        for answer in variant.answers
        for probe in getattr(answer, "probes", ())
    ]


def fit_sources(results: Results) -> list[tuple[str, str, int]]:
    """Every comparison's source in full, once, with a number to refer to."""
    sources: dict[tuple[str, str], int] = {}
    for row in comparison_rows(results):
        sources.setdefault((row["quantity"], row["source"]), len(sources) + 1)
    return [(quantity, source, number) for (quantity, source), number in sources.items()]


def material_rows(results: Results) -> list[dict[str, str]]:
    """Material values with where each comes from."""
    rows: dict[tuple[str, ...], dict[str, str]] = {}
    for variant in results.variants:
        material = variant.inputs["material"]
        grade = material.get("grade", "")
        source = material.get("provenance", "")
        for key, value in material.items():
            if key in ("grade", "provenance"):
                continue
            if not grade:
                origin = source or "as given in the study file; no source stated"
            elif key in ("yield_MPa", "ultimate_MPa"):
                origin = f"minimum of the grade; {source}"
            else:
                origin = str(common_practice("elastic constants and density of structural steel"))
            row = {"what": name_of(key), "value": plain(value), "unit": unit_of(key), "grade": grade, "origin": origin}
            rows.setdefault(tuple(row.values()), row)
    return list(rows.values())


def ladder_rows(results: Results) -> list[dict[str, str]]:
    """Every mesh of every load: its size, its peak, and how far that is from the result."""
    rows = []
    for variant in results.variants:
        for answer in variant.answers:
            for step in answer.ladder:
                final = answer.peak.value
                change = None if final is None or step.peak_MPa is None or final == 0 else step.peak_MPa / final - 1
                rows.append(
                    {
                        "variant": variant_name(variant) or "this part",
                        "case": answer.case,
                        "level": str(step.level),
                        "order": str(step.order),
                        "cells": str(step.cells_per_arc),
                        "unknowns": f"{step.unknowns:,}",
                        "peak": "" if step.peak_MPa is None else signed(f"{step.peak_MPa:.5g}"),
                        "change": percent(change).removesuffix(" %") if change else ("0" if change == 0 else ""),
                        "seconds": f"{step.seconds:.2g}",
                    }
                )
    return rows
