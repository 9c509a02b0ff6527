"""The plane's best corner radius tried on the ring itself, as a solid, at a few radii and with error bands."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..edge import Spot
from ..errors import NoNumber
from ..model.accuracy import Accuracy
from ..model.check import Checks
from ..model.cutout import Slot
from ..model.load import Load
from ..model.machine import Machine
from ..model.material import Material
from ..model.ring import Ring
from ..quantity import Quantity, Verdict
from .answer import Answer
from .best_radius import BestRadius
from .solve import solve_all

__all__ = ["RingCheck", "RingRadius", "confirm_on_ring", "radii_around"]

NO_DIFFERENCE = "no difference proven"


@dataclass(frozen=True)
class RingRadius:
    """The ring at one corner radius.

    peak: principal stress of largest magnitude over all loads, with its sign; load: the one that has it, at: its place.
    peaks: of each load.
    """

    radius_mm: float
    peak: Quantity
    load: str
    at: Spot | None
    peaks: tuple[tuple[str, Quantity], ...]

    @property
    def low_MPa(self) -> float:
        """Lower end of the peak's band, as a magnitude."""
        return abs(float(self.peak)) - (self.peak.band or 0.0)

    @property
    def high_MPa(self) -> float:
        """Upper end of the peak's band, as a magnitude."""
        return abs(float(self.peak)) + (self.peak.band or 0.0)

    def against(self, other: RingRadius) -> str:
        """ "lower", "higher", or that no difference is proven because the bands overlap."""
        if self.high_MPa < other.low_MPa:
            return "lower"
        return "higher" if self.low_MPa > other.high_MPa else NO_DIFFERENCE


@dataclass(frozen=True)
class RingCheck:
    """What the ring says about the plane's best radius.

    rows: rising in radius. confirmed: False where a radius lies below the plane's best beyond the bands; True where
    none does and the plane's best lies beyond the bands below the full round (where it is the full round: below
    another radius); None where the bands leave it open. text: the same in sentences.
    """

    ring: Ring
    plane_best_mm: float
    rows: tuple[RingRadius, ...]
    confirmed: bool | None
    text: tuple[str, ...]

    def at(self, radius_mm: float) -> RingRadius:
        """The row of this radius."""
        return min(self.rows, key=lambda r: abs(r.radius_mm - radius_mm))

    @property
    def plane_best(self) -> RingRadius:
        """The ring at the plane's best radius."""
        return self.at(self.plane_best_mm)

    @property
    def full_round(self) -> RingRadius:
        """The ring at full round."""
        return self.rows[-1]

    @property
    def own_best(self) -> RingRadius:
        """The lowest peak among the radii that were solved."""
        return min(self.rows, key=lambda r: abs(float(r.peak)))


def radii_around(best_mm: float, full_mm: float) -> tuple[float, ...]:
    """Five radii: the best, the full round, two below and one between; below only where the best is the full round."""
    if best_mm >= full_mm * (1 - 1e-6):
        return (*(round(share * full_mm, 6) for share in (0.6, 0.75, 0.85, 0.93)), full_mm)
    return 0.75 * best_mm, 0.88 * best_mm, best_mm, 0.5 * (best_mm + full_mm), full_mm


def confirm_on_ring(
    ring: Ring,
    loads: Sequence[Load],
    material: Material,
    plane_best: BestRadius | float,
    *,
    radii_mm: Sequence[float] | None = None,
    accuracy: Accuracy | None = None,
    machine: Machine | None = None,
    on_event: Callable[[str], None] | None = None,
) -> RingCheck:
    """Solve the ring at the plane's best radius, at full round and at radii around, and compare the worst peaks.

    Each load is a state of its own; the worst peak over the loads is compared. plane_best: a result, whose slot sizes
    the ring then takes, or a radius in mm. radii_mm: what to solve besides best and full round; without it
    `radii_around`. machine: for loads that need one, as in `solve_all`.
    Raises InputFault, and NoNumber where a peak has none.
    """
    slot = _slot(ring, plane_best)
    full = min(slot.half_x_mm, slot.half_y_mm)
    best = plane_best.best.radius_mm if isinstance(plane_best, BestRadius) else float(plane_best)
    around = radii_around(best, full) if radii_mm is None else radii_mm
    checks = Checks()
    for radius in around:
        checks.number("radii_mm", radius, above=0.0, most=full, way_out="radii of real corners up to the full round")
    checks.done()
    accuracy = accuracy or Accuracy()
    rows = []
    for radius in sorted({*map(float, around), best, full}):
        if on_event:
            on_event(f"corner radius {radius:.4g} mm")
        part = dataclasses.replace(ring, cutout=dataclasses.replace(slot, corner_radius_mm=radius))
        rows.append(
            _worst(radius, solve_all(part, loads, material, accuracy, machine=machine, on_event=on_event).answers)
        )
    return _judged(
        dataclasses.replace(ring, cutout=dataclasses.replace(slot, corner_radius_mm=best)), best, tuple(rows)
    )


def _slot(ring: Ring, plane_best: BestRadius | float) -> Slot:
    checks = Checks()
    if not isinstance(ring.cutout, Slot):
        checks.add("ring.cutout", ring.cutout.shape, "must be a slot", "only a slot has a corner radius to choose")
        checks.done()
    assert isinstance(ring.cutout, Slot)
    if not isinstance(plane_best, BestRadius):
        full = min(ring.cutout.half_x_mm, ring.cutout.half_y_mm)
        checks.number("plane_best", plane_best, above=0.0, most=full, way_out=f"the full round is {full:g} mm")
        checks.done()
        return ring.cutout
    slot = plane_best.full_round.slot
    for name in ("size_x_mm", "size_y_mm"):
        ours, theirs = getattr(ring.cutout, name), getattr(slot, name)
        if abs(ours - theirs) > 1e-9 * ours:
            checks.add(
                f"ring.cutout.{name}", ours, f"differs from the plane's slot, {theirs:g} mm", "ask both for one slot"
            )
    checks.done()
    return plane_best.best.slot


def _worst(radius: float, answers: Sequence[Answer]) -> RingRadius:
    """The worst of all loads; its band covers every load that may be the worst."""
    for a in answers:
        if a.peak.value is None or a.peak.band is None:
            raise NoNumber(f"corner radius {radius:g} mm, {a.load.name}: no number, {a.verdict.value}")
    top = max(answers, key=lambda a: abs(float(a.peak)))
    value = float(top.peak)
    high = max(abs(float(a.peak)) + (a.peak.band or 0.0) for a in answers)
    low = max(abs(float(a.peak)) - (a.peak.band or 0.0) for a in answers)
    band = max(high - abs(value), abs(value) - low)
    settled = all(a.peak.verdict is Verdict.SETTLED for a in answers)
    what = "principal stress of largest magnitude on the slot's edge and near surfaces, worst of all loads"
    peak = Quantity(value, "MPa", band, Verdict.SETTLED if settled else Verdict.NOT_SETTLED, what)
    return RingRadius(radius, peak, top.load.name, top.at, tuple((a.load.name, a.peak) for a in answers))


def _judged(ring: Ring, best: float, rows: tuple[RingRadius, ...]) -> RingCheck:
    check = RingCheck(ring, best, rows, None, ())
    plane, own, full = check.plane_best, check.own_best, check.full_round
    beaten = [r for r in rows if r.against(plane) == "lower"]
    text = [f"Worst peak of the ring at the plane's best radius, {best:.4g} mm: {plane.peak}, under {plane.load}."]
    if own is plane:
        text.append("The ring's own best among the radii solved is the same.")
    else:
        text.append(
            f"The ring's own best among the radii solved is {own.radius_mm:.4g} mm: {own.peak}, "
            f"{_share(plane, own)} lower; {'beyond the bands' if own in beaten else NO_DIFFERENCE}."
        )
    if plane is not full:
        said = plane.against(full)
        by = "" if said == NO_DIFFERENCE else f" by {_share(full, plane).lstrip('-')}"
        text.append(f"Against the full round, {full.peak}: {said}{by}.")
    rivals = [full] if plane is not full else [r for r in rows if r is not plane]
    confirmed: bool | None = None
    if beaten:
        confirmed = False
    elif any(plane.against(r) == "lower" for r in rivals):
        confirmed = True
    text.append(
        {
            True: "The plane's best is confirmed within the bands.",
            False: "The plane's best is not confirmed: another radius is lower beyond the bands.",
            None: "Confirmed or not is left open by the bands: no difference proven.",
        }[confirmed]
    )
    return RingCheck(ring, best, rows, confirmed, tuple(text))


def _share(of: RingRadius, less: RingRadius) -> str:
    """By how much `less` is lower than `of`."""
    return f"{100 * (1 - abs(float(less.peak)) / abs(float(of.peak))):.2g} %"
