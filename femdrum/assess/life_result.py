"""What a life is made of, place by place, for people and for the store: plain values only."""

from __future__ import annotations

from dataclasses import dataclass

from ..figure import Figure

__all__ = [
    "CrackLife",
    "Cycle",
    "DrumMap",
    "DutyShare",
    "EdgeLine",
    "EndLife",
    "FreshPeak",
    "Input",
    "Lever",
    "MapRow",
    "MapSlot",
    "PlaceLife",
    "RuleLife",
    "ScatterLife",
    "StaticRow",
    "TurnLine",
    "VariantLife",
    "WeldSaid",
]


@dataclass(frozen=True)
class DutyShare:
    """What a row of the duty gives to a damage, as a fraction."""

    name: str
    fraction: float


@dataclass(frozen=True)
class Lever:
    """A change, and by what the life is multiplied; None where the life becomes endless."""

    what: str
    life_factor: float | None


@dataclass(frozen=True)
class RuleLife:
    """Life by one rule of mean stress, h; None: endless."""

    rule: str
    life_h: float | None


@dataclass(frozen=True)
class Cycle:
    """One kind of cycle at a place: amplitude (half the range) and mean, MPa, how often in 1,000 h, and its damage there.

    equivalent_MPa: fully reversed amplitude of equal damage; cycles: to failure at it, None: endless. peak, valley: rows of
    the duty that make its two ends.
    """

    peak: str
    valley: str
    amplitude_MPa: float
    mean_MPa: float
    per_1000_h: float
    equivalent_MPa: float
    cycles: float | None
    damage_per_1000_h: float


@dataclass(frozen=True)
class PlaceLife:
    """Life of base metal at one place of a slot; the worst of all places of its name.

    life_h: at the stated survival, by the main rule and the S-N curve beyond its knee that was asked; None: endless.
    safety: factor on all stresses at which the life would be the target, None where nothing cycles. criterion: "normal stress" on a plane square to the
    surface, or "shear with normal stress" (Findley). direction_deg: of that plane's normal from along the edge.
    most_MPa, least_MPa: largest and smallest elastic stress there. plastic: what yielding changes, in words, or empty.
    """

    name: str
    slot: int
    s_mm: float
    x_mm: float
    y_mm: float
    depth_mm: float
    criterion: str
    direction_deg: float
    damage_per_1000_h: float
    life_h: float | None
    life_elementary_h: float | None
    life_median_h: float | None
    safety: float | None
    shares: tuple[DutyShare, ...]
    most_MPa: float
    least_MPa: float
    residual_MPa: float
    plastic: str

    @property
    def governs(self) -> str:
        """The row of the duty with the largest share in the damage; empty where there is none."""
        return max(self.shares, key=lambda s: s.fraction).name if self.shares else ""


@dataclass(frozen=True)
class EdgeLine:
    """Damage in 1,000 h along the edge of the worst slot, at both rims and as the most through the wall between them."""

    slot: int
    s_mm: tuple[float, ...]
    outer: tuple[float, ...]
    wall: tuple[float, ...]
    bore: tuple[float, ...]


@dataclass(frozen=True)
class StaticRow:
    """Static proof of one condition.

    net_share: von Mises stress of the net section over yield. collapse_least, collapse_most: bracket of the factor on all loads at
    which the shell collapses, None where nothing of the kind acts; mode: how. peak_MPa: elastic, local, signed.
    """

    condition: str
    net_share: float
    collapse_least: float | None
    collapse_most: float | None
    mode: str
    peak_MPa: float
    yields_locally: bool
    words: str

    @property
    def holds(self) -> bool:
        """The net section stays below yield and the loads below collapse."""
        return self.net_share < 1.0 and (self.collapse_least is None or self.collapse_least > 1.0)


@dataclass(frozen=True)
class TurnLine:
    """What comes at every turn, or about as often, against the threshold: ranges of K in MPa sqrt(m), and words."""

    name: str
    delta_k_start_MPa_sqrt_m: float
    reached_mm: float | None
    grows: bool
    words: str


@dataclass(frozen=True)
class CrackLife:
    """A crack from one place. depth_mm, hours: its course under all rows from the initial depth.

    life_h: to the critical depth, None: it does not get there. once_a_turn and inspection: the two scales of load apart.
    interval_h: between looks, None where no interval helps or none is needed.
    """

    place: str
    initial_mm: float
    detectable_mm: float
    critical_mm: float
    ends_by: str
    depth_mm: tuple[float, ...]
    hours: tuple[float, ...]
    life_h: float | None
    interval_h: float | None
    once_a_turn: tuple[TurnLine, ...]
    inspection: str
    figures: tuple[Figure, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class WeldSaid:
    """A weld by its class. life_h: hours to the damage limit, 97.7 % survival, None: endless. ranges by `shares` of the duty.

    clear: it stands far enough from slots. where: the toe or throat that governs. range_MPa: the largest range there.
    """

    name: str
    detail: str
    method: str
    where: str
    fat_MPa: float
    range_MPa: float
    life_h: float | None
    shares: tuple[DutyShare, ...]
    clear: bool
    verdict: str
    words: str
    figures: tuple[Figure, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class MapSlot:
    """One slot of the drum. number, row, around count from 1, from the drive end and from the row's first slot on.

    utilisation: stress over the stress at which it lives just the target; above 1 it does not.
    """

    number: int
    row: int
    around: int
    z_mm: float
    along_mm: float
    x_mm: float
    place: str
    damage_per_1000_h: float
    life_h: float | None
    utilisation: float


@dataclass(frozen=True)
class MapRow:
    """What a row carries in a condition, its largest values: bending moment, shear, torque, pull of one hammer."""

    condition: str
    row: int
    z_mm: float
    to_disc_mm: float
    moment_Nm: float
    shear_kN: float
    torque_Nm: float
    hammer_pull_kN: float


@dataclass(frozen=True)
class FreshPeak:
    """A condition of the worst row solved afresh with the row's own loads, beside what the map combined."""

    condition: str
    map_MPa: float
    fresh_MPa: float
    band_MPa: float

    @property
    def agrees(self) -> bool:
        """Within the two bands together."""
        return abs(self.map_MPa - self.fresh_MPa) <= self.band_MPa


@dataclass(frozen=True)
class DrumMap:
    """The map of one variant. slots: the most used first. words: which that is, and how many live long enough."""

    words: str
    slots: tuple[MapSlot, ...]
    rows: tuple[MapRow, ...]
    fresh: tuple[FreshPeak, ...]
    influence: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class EndLife:
    """The drum's end under the duty: the stub's fillet as base metal, and the welds.

    peak_MPa, band_MPa: largest principal stress at the fillet over all states, signed. kt: each load's stress concentration there,
    as text with its band.
    """

    words: str
    verdict: str
    peak_MPa: float
    band_MPa: float
    settled: bool
    life_h: float | None
    life_elementary_h: float | None
    life_median_h: float | None
    safety: float | None
    place: str
    shares: tuple[DutyShare, ...]
    kt: tuple[tuple[str, str], ...]
    welds: tuple[WeldSaid, ...]
    figures: tuple[Figure, ...]
    comparisons: tuple[str, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class VariantLife:
    """The life of one variant. places: worst first. cycles, rules, levers: of the worst place.

    damage_stress_MPa: fully reversed amplitude that does the duty's damage in as many cycles as the S-N curve's knee has, in
    1,000 h, along the line without knee. median_life_h over scale: life of half of the drums if all stresses are so many times as
    large.
    """

    key: str
    target_h: float
    survival: float
    verdict: str
    words: str
    places: tuple[PlaceLife, ...]
    cycles: tuple[Cycle, ...]
    rules: tuple[RuleLife, ...]
    levers: tuple[Lever, ...]
    edge: EdgeLine | None
    knee_amplitude_MPa: float
    knee_cycles: float
    slope: float
    beyond: str
    stressed_area_mm2: float
    equal_places: float
    damage_stress_MPa: float
    scale: tuple[float, ...]
    median_life_h: tuple[float | None, ...]
    static: tuple[StaticRow, ...]
    cracks: tuple[CrackLife, ...]
    welds: tuple[WeldSaid, ...]
    map: DrumMap | None
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    not_checked: tuple[str, ...]

    @property
    def life_h(self) -> float | None:
        """Shortest life of base metal; None: endless."""
        return self.places[0].life_h if self.places else None


@dataclass(frozen=True)
class Input:
    """What one scattering input does: share of the variance of log life, alone and in all; log10 life at its P10 and P90."""

    name: str
    first: float
    total: float
    at_p10: float | None
    at_p90: float | None


@dataclass(frozen=True)
class ScatterLife:
    """Lives of a variant when its inputs scatter, h, by the share that has failed; None: no failure at that share.

    failure: probability that the target is missed, with its standard error. surface: how the stress follows the sizes, with its
    error in per cent.
    """

    key: str
    p10_h: float | None
    p50_h: float | None
    p90_h: float | None
    shares: tuple[float, ...]
    life_h: tuple[float | None, ...]
    failure: float
    failure_error: float
    inputs: tuple[Input, ...]
    surface: str
    surface_error_pct: float
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
