"""A line of the drawing table, and the words with which results speak of a place."""

from __future__ import annotations

from dataclasses import dataclass

from ..provenance import Provenance, common_practice
from .handover_facts import Facts, utilisation
from .life_result import PlaceLife
from .life_words import hours

__all__ = [
    "OPEN",
    "CallOut",
    "chance",
    "joined",
    "lever_words",
    "map_words",
    "peak_words",
    "signed",
    "study",
    "used",
    "used_of",
    "worst_of",
]

FROM_STUDY = "from the study"
OPEN = "the drawing office decides: no value follows from these results"


@dataclass(frozen=True)
class CallOut:
    """A line of the drawing table.

    feature, ask: what of the drum, and what is asked of it. limit: "at least", "at most", "as solved", "" for words alone. value: the
    number in `unit`, None where there is none. words: how the line is read on the drawing. reason: which number of the results
    makes it so. declared: the value stands in the study file; else provenance says where it is from. open: nothing in the results
    supports a value.
    """

    feature: str
    ask: str
    limit: str
    value: float | None
    unit: str
    words: str
    reason: str
    provenance: Provenance
    declared: bool = False
    open: bool = False

    @property
    def basis(self) -> str:
        """`computed`, `from the study`, `common practice, no source`, `from memory, not confirmed`, or another kind of provenance."""
        return FROM_STUDY if self.declared else self.provenance.kind.value

    @property
    def origin(self) -> str:
        """The basis with what it rests on."""
        return f"{FROM_STUDY}: {self.provenance.source}" if self.declared else str(self.provenance)


def study(key: str) -> Provenance:
    """A value that the study file declares, under this key."""
    return common_practice(key)


def signed(value: float) -> str:
    """A number with the minus sign it stands for."""
    return f"{value:g}".replace("-", "\u2212")


def chance(value: float) -> str:
    """A probability as people read it: small ones as one in so many."""
    return (
        f"{value:.2g}"
        if value >= 1e-3
        else "none found"
        if value <= 0.0
        else f"1 in {1 / value:,.0f}"
        if value > 1e-6
        else "below 1 in a million"
    )


def worst_of(facts: Facts, *parts: str) -> PlaceLife | None:
    """The most used place whose name holds one of these words."""
    found = [] if facts.life is None else [p for p in facts.life.places if any(w in p.name for w in parts)]
    return max(found, key=lambda p: utilisation(p.safety) or 0.0, default=None)


def used(facts: Facts, *parts: str) -> str:
    """`utilisation 0.50 at the corner ..., life ...`, or what stands in its place."""
    place = worst_of(facts, *parts)
    if place is None:
        return "" if facts.life is None else "the life names no place there"
    much = utilisation(place.safety)
    return f"nothing cycles at the {place.name}" if much is None else (
        f"utilisation {much:.2f} at the {place.name}, life {hours(place.life_h)}"
    )  # fmt: skip


def joined(*texts: str) -> str:
    """With a semicolon between what is not empty."""
    return "; ".join(t for t in texts if t)


def map_words(facts: Facts) -> str:
    """What the map says of the most used slot; empty without one."""
    if facts.life is None or facts.life.map is None:
        return ""
    worst = facts.life.map.slots[0]
    return f"on the map {worst.utilisation:.2f} at slot {worst.number}"


def peak_words(facts: Facts) -> str:
    """The largest peak and where it is."""
    if not facts.peaks:
        return ""
    top = facts.peaks[0]
    band = "" if top.band_MPa is None else f" \u00b1 {top.band_MPa:.2g}"
    return f"largest peak {top.peak_MPa:.4g}{band} MPa under \u201c{top.case}\u201d, {top.place}"


def used_of(place: PlaceLife) -> str:
    """`utilisation 0.31 on the leading flank`."""
    much = utilisation(place.safety)
    return f"{'nothing cycles' if much is None else f'utilisation {much:.2f}'} on the {place.name.split(',')[0]}"


def lever_words(facts: Facts, word: str = "edge dressed") -> str:
    """What a change that was looked at does to the life; empty where it was not."""
    found = next((v for v in (facts.life.levers if facts.life else ()) if v.what.startswith(word)), None)
    if found is None:
        return ""
    much = "endless" if found.life_factor is None else f"{found.life_factor:.3g} times as long"
    return f"{found.what}: life {much}"
