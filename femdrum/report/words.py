"""Numbers and names as people read them in figures and in the report."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable
from typing import Any

from ..quantity import Quantity, Verdict, rounded
from ..study import StoredVariant
from ..study.answers import StoredAnswer
from ..units import label, unit_of

__all__ = [
    "axis_value",
    "bare",
    "file_name",
    "kind_word",
    "name_of",
    "percent",
    "plain",
    "short_source",
    "signed",
    "variant_name",
    "with_unit",
    "wrapped",
]


def bare(quantity: Quantity) -> str:
    """`66.7 ± 0.6`; the unit stands elsewhere. Without a number: the verdict."""
    if quantity.value is None:
        return quantity.verdict.value
    return _value_and_band(Quantity(quantity.value, "", quantity.band, quantity.verdict))


def with_unit(quantity: Quantity) -> str:
    """`66.7 ± 0.6 MPa`. Without a number: `no number, unbounded`."""
    return str(quantity) if quantity.value is None else _value_and_band(quantity)


def _value_and_band(quantity: Quantity) -> str:
    return signed(str(quantity).removesuffix(f", {quantity.verdict.value}"))


def signed(text: str) -> str:
    """A leading hyphen as the minus sign it stands for."""
    return f"\u2212{text[1:]}" if text.startswith("-") else text


def percent(share: float | None, band: float | None = None) -> str:
    """`+0.12 %`, with as many digits as the band (a share too) leaves meaningful."""
    if share is None:
        return ""
    value = rounded(100 * share, max(100 * band, 1e-3)) if band else f"{100 * share:.2g}"
    return f"{'' if value.startswith('-') else '+'}{value} %".replace("-", "\u2212")


def plain(value: Any) -> str:
    """A value of an input as read."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, (list, tuple)):
        return ", ".join(plain(v) for v in value)
    return str(value)


_NAMES = {
    "youngs_modulus_MPa": "Young's modulus",
    "poissons_ratio": "Poisson's ratio",
    "yield_MPa": "yield strength",
    "ultimate_MPa": "tensile strength",
    "error": "wanted half width of the band, relative",
    "most_unknowns": "most unknowns",
    "most_seconds": "most seconds",
}


def name_of(column: str) -> str:
    """`corner_radius_mm` -> `corner radius`."""
    if column in _NAMES:
        return _NAMES[column]
    text = label(column)
    unit = unit_of(column)
    return text.removesuffix(f" ({unit})") if unit else text


def axis_value(column: str, value: Any) -> str:
    """`corner radius 8 mm`."""
    unit = unit_of(column) if isinstance(value, (int, float)) and not isinstance(value, bool) else ""
    return f"{name_of(column)} {plain(value)}{' ' + unit if unit else ''}"


def variant_name(variant: StoredVariant, leave_out: Iterable[str] = ()) -> str:
    """What tells a variant from the others: `corner radius 8 mm, wall 40 mm`."""
    parts = [axis_value(c, v) for c, v in variant.axes.items() if v is not None and c not in set(leave_out)]
    return ", ".join(parts)


def short_source(text: str, most: int = 70) -> str:
    """A source, shortened for a legend; the report carries it whole."""
    return textwrap.shorten(text, most, placeholder=" ...")


def wrapped(text: str, width: int) -> str:
    """A text broken into lines of this many letters."""
    return "\n".join(textwrap.wrap(text, width))


def kind_word(answer: StoredAnswer) -> str:
    """What an answer is about, at the beginning of a sentence."""
    return "Condition" if answer.case_kind == "condition" else "Load"


def file_name(text: str) -> str:
    """A text as part of a file's name."""
    return re.sub(r"[^A-Za-z0-9.]+", "_", text).strip("_") or "x"


def is_number(verdict: Verdict) -> bool:
    """True where there is a number to show."""
    return verdict in (Verdict.SETTLED, Verdict.NOT_SETTLED, Verdict.EXACT)
