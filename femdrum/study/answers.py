"""An answer as plain values for the store, and back."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, fields
from typing import Any

from ..assess.answer import Answer, Comparison, LadderStep, Nominal, ProbeValue, Share
from ..edge import Spot
from ..figure import Figure
from ..provenance import Kind, Provenance
from ..quantity import Quantity, Verdict
from .study import inputs_of

__all__ = ["StoredAnswer", "answer_record", "failed_record"]


@dataclass(frozen=True)
class StoredAnswer:
    """An answer read back from the store; fields as in assess.Answer. The edge stress stands beside it."""

    case: str
    case_kind: str
    load: dict[str, Any]
    verdict: Verdict
    message: str
    nominal: Nominal
    peak: Quantity
    tension: Quantity
    compression: Quantity
    kt_gross: Quantity
    kt_net: Quantity
    at: Spot | None
    tension_at: Spot | None
    compression_at: Spot | None
    factors: tuple[float, ...]
    ladder: tuple[LadderStep, ...]
    comparisons: tuple[Comparison, ...]
    notes: tuple[str, ...]
    singularity: tuple[tuple[str, float], ...]
    probes: tuple[ProbeValue, ...]
    solver: str
    unknowns: int | None
    seconds: float | None
    shares: tuple[Share, ...] = ()
    adding_maxima_MPa: float | None = None
    figures: tuple[Figure, ...] = ()
    warnings: tuple[str, ...] = ()
    unbalanced: str = ""
    turning: tuple[tuple[float, ...], ...] = ()

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> StoredAnswer:
        """From the plain values of `answer_record`."""
        return cls(
            case=record["case"],
            case_kind=record["case_kind"],
            load=record["load"],
            verdict=Verdict(record["verdict"]),
            message=record["message"],
            nominal=Nominal(**record["nominal"]),
            peak=_quantity(record["peak"]),
            tension=_quantity(record["tension"]),
            compression=_quantity(record["compression"]),
            kt_gross=_quantity(record["kt_gross"]),
            kt_net=_quantity(record["kt_net"]),
            at=_spot(record["at"]),
            tension_at=_spot(record["tension_at"]),
            compression_at=_spot(record["compression_at"]),
            factors=tuple(record["factors"]),
            ladder=tuple(LadderStep(**step) for step in record["ladder"]),
            comparisons=tuple(
                Comparison(**{k: v for k, v in c.items() if k != "difference"}) for c in record["comparisons"]
            ),
            notes=tuple(record["notes"]),
            singularity=tuple((str(what), float(value)) for what, value in record["singularity"]),
            probes=tuple(_probe(p) for p in record["probes"]),
            solver=record["solver"],
            unknowns=record["unknowns"],
            seconds=record["seconds"],
            shares=tuple(Share(**share) for share in record["shares"]),
            adding_maxima_MPa=record["adding_maxima_MPa"],
            figures=tuple(_figure(figure) for figure in record["figures"]),
            warnings=tuple(record["warnings"]),
            unbalanced=record["unbalanced"],
            turning=tuple(tuple(row) for row in record["turning"]),
        )


_QUANTITIES = ("peak", "tension", "compression", "kt_gross", "kt_net")
_SPOTS = ("at", "tension_at", "compression_at")


def answer_record(answer: Answer, comparisons: tuple[Comparison, ...]) -> dict[str, Any]:
    """Plain values of an answer; numbers in full, what is not finite as None."""
    record = {
        "case": answer.load.name,
        "case_kind": answer.load.kind,
        "load": inputs_of(answer.load),
        "verdict": answer.verdict.value,
        "message": answer.message,
        "nominal": asdict(answer.nominal),
        **{name: _values(getattr(answer, name)) for name in _QUANTITIES},
        "at": asdict(answer.at) if answer.at else None,
        "tension_at": asdict(answer.peaks.tension_at) if answer.peaks and answer.peaks.tension_at else None,
        "compression_at": asdict(answer.peaks.compression_at) if answer.peaks and answer.peaks.compression_at else None,
        "factors": list(answer.factors),
        "ladder": [asdict(step) for step in answer.ladder],
        "comparisons": [{**asdict(c), "difference": c.difference} for c in comparisons],
        "notes": list(answer.notes),
        "singularity": [list(item) for item in answer.singularity],
        "probes": [_probe_record(p) for p in answer.probes],
        "solver": answer.solver,
        "unknowns": answer.unknowns,
        "seconds": answer.seconds,
        "shares": [asdict(share) for share in answer.shares],
        "adding_maxima_MPa": answer.adding_maxima_MPa,
        "figures": [_figure_record(figure) for figure in answer.figures],
        "warnings": list(answer.warnings),
        "unbalanced": answer.unbalanced,
        "turning": [list(row) for row in answer.turning],
    }
    return {key: finite(value) for key, value in record.items()}


def failed_record(load: Any, message: str) -> dict[str, Any]:
    """The record of a load for which there is no solution."""
    nothing = {"value": None, "unit": "", "band": None, "verdict": Verdict.FAILED.value, "definition": ""}
    return {
        "case": load.name,
        "case_kind": load.kind,
        "load": inputs_of(load),
        "verdict": Verdict.FAILED.value,
        "message": message,
        "nominal": {"gross_MPa": None, "definition": ""},
        **{name: nothing for name in _QUANTITIES},
        **{name: None for name in _SPOTS},
        "factors": [],
        "ladder": [],
        "comparisons": [],
        "notes": [],
        "singularity": [],
        "probes": [],
        "solver": "",
        "unknowns": None,
        "seconds": None,
        "shares": [],
        "adding_maxima_MPa": None,
        "figures": [],
        "warnings": [],
        "unbalanced": "",
        "turning": [],
    }


def _values(quantity: Quantity) -> dict[str, Any]:
    return {**asdict(quantity), "verdict": quantity.verdict.value}


def _probe_record(probe: ProbeValue) -> dict[str, Any]:
    values = {f.name: getattr(probe, f.name) for f in fields(probe)}
    return {name: _values(v) if isinstance(v, Quantity) else v for name, v in values.items()}


def _probe(record: dict[str, Any]) -> ProbeValue:
    values: dict[str, Any] = {name: _quantity(v) if isinstance(v, dict) else v for name, v in record.items()}
    return ProbeValue(**values)


def _figure_record(figure: Figure) -> dict[str, Any]:
    provenance = {**asdict(figure.provenance), "kind": figure.provenance.kind.value}
    return {**asdict(figure), "provenance": provenance}


def _figure(record: dict[str, Any]) -> Figure:
    provenance = Provenance(**{**record["provenance"], "kind": Kind(record["provenance"]["kind"])})
    return Figure(**{**record, "provenance": provenance})


def _quantity(record: dict[str, Any]) -> Quantity:
    return Quantity(**{**record, "verdict": Verdict(record["verdict"])})


def _spot(record: dict[str, Any] | None) -> Spot | None:
    return Spot(**record) if record else None


def finite(value: Any) -> Any:
    """Plain Python values that JSON can carry: numpy scalars unpacked, NaN and infinity as None."""
    if isinstance(value, dict):
        return {str(k): finite(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [finite(v) for v in value]
    if hasattr(value, "item") and not isinstance(value, (str, bytes)):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
