"""From a balancing record to a plan for the workshop: which hammers move, which plates go where, what is left."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, FileFault, InputFault
from ..figure import Figure
from ..model.balance_input import BalanceInput
from ..model.check import Checks
from .balance_planes import PlaneTolerances, plane_tolerances, split_many
from .balance_record import BalanceRecord
from .hammer_placement import Placement, place_hammers
from .influence import Correction, correction, influence
from .mass_bolts import MassHold, hold_mass
from .mass_positions import MassPlan, best_masses
from .position_reach import Reach, reach
from .unbalance import hammer_unbalance, permissible_figures, permissible_unbalance_g_mm, polar
from .vibration import CasingVibration, casing_vibration

__all__ = ["PLAN_COLUMNS", "BalancePlan", "PlanRow", "balance_plan", "before_run", "tolerances", "write_plan"]

Vectors = NDArray[np.complex128]

# a run at another speed than this share of the service speed is worth a word
NEAR_SPEED = 0.1


@dataclass(frozen=True)
class PlanRow:
    """One line of the plan; what a kind does not need is None.

    kind: "move" (a hammer into another slot), "mass" (plates on a position), "result" (what is left in a plane; beside
    it reading_error_g_mm, which 95 of 100 measurements keep to).
    """

    step: int
    kind: str
    does: str
    plane: int | None = None
    position: int | None = None
    slot: int | None = None
    from_slot: int | None = None
    angle_deg: float | None = None
    plates: int | None = None
    mass_g: float | None = None
    radius_mm: float | None = None
    bolts: str | None = None
    torque_Nm: float | None = None
    pull_N: float | None = None
    overspeed_pull_N: float | None = None
    held: str | None = None
    before_g_mm: float | None = None
    before_deg: float | None = None
    after_g_mm: float | None = None
    after_deg: float | None = None
    reading_error_g_mm: float | None = None
    permissible_g_mm: float | None = None
    share_pct: float | None = None


PLAN_COLUMNS = tuple(f.name for f in fields(PlanRow))


@dataclass(frozen=True)
class BalancePlan:
    """The plan and what it was reckoned from.

    rows: in the order of work. tolerances: by grade and planes, g mm. reach: what the positions of each plane can do at
    all, known before any run. placement, correction: None where the record has no hammers, or no readings. masses:
    plates by position. holds: for each row of kind "mass". bearing_share: worst bearing, with true phases. casing: of
    what is left.
    """

    rows: tuple[PlanRow, ...]
    tolerances: PlaneTolerances
    reach: tuple[Reach, ...]
    placement: Placement | None
    correction: Correction | None
    masses: MassPlan
    holds: tuple[MassHold, ...]
    bearing_share: float
    casing: CasingVibration | None
    condition: str
    source: str
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    figures: tuple[Figure, ...]

    @property
    def within(self) -> bool:
        """Every plane is within its permissible unbalance."""
        return self.masses.share <= 1

    @property
    def held(self) -> bool:
        """No mass fails a check of what holds it; what was not checked is in the notes."""
        return all(hold.holds for hold in self.holds)


def tolerances(given: BalanceInput) -> PlaneTolerances:
    """Permissible unbalance by grade, as far as this balancing may use it up, of bearings and correction planes."""
    whole = permissible_unbalance_g_mm(
        grade_mm_s=given.grade_mm_s, mass_kg=given.rotor_mass_kg, speed_rpm=given.speed_rpm
    )  # fmt: skip
    return plane_tolerances(
        given.budget_share * whole, bearings_mm=given.bearings_mm, cg_mm=given.centre_mm,
        planes_mm=[plane.z_mm for plane in given.planes],
    )  # fmt: skip


def before_run(given: BalanceInput, *, seed: int = 1) -> tuple[Reach, ...]:
    """What the positions of each plane can reach, whatever will be measured; warnings where plates are too coarse."""
    allowed = tolerances(given).planes_g_mm
    return tuple(reach(plane, u, seed=seed) for plane, u in zip(given.planes, allowed, strict=True))


def _measured(record: BalanceRecord, given: BalanceInput) -> Correction | None:
    """Masses by the readings; None without readings."""
    if not record.readings:
        return None
    checks = Checks()
    way = "readings need it: the instrument's manual says whether phases lead or lag"
    checks.one_of("phase_sense", given.phase_sense, ("lead", "lag"), way)
    checks.done()
    sense = str(given.phase_sense)
    initial, runs = record.initial(sense), record.runs(sense)
    if len(initial) < 2:
        checks.add("probe", record.probes, "must be at least two probes for two planes", "one near each bearing")
        checks.done()
    return correction(influence(initial, runs), initial, runs=runs)


def balance_plan(record: BalanceRecord, given: BalanceInput, *, seed: int = 1) -> BalancePlan:
    """Plan of one balancing.

    With readings the unbalance is the measured one; without, it is that of the weighed hammers alone, and the plan says
    so. With place_hammers the hammers are reordered first, so that they cancel what is measured besides them as well.
    Plates are then chosen for what is left, proven. Raises InputFault: a record with neither hammers nor readings,
    readings and no phase sense, fewer than two probes, runs that do not tell the planes apart.
    """
    if not record.seats and not record.readings:
        raise InputFault(
            Fault("record", record.path, "holds neither hammers nor readings", "weigh the hammers or run the drum")
        )
    limits = tolerances(given)
    planes_mm, allowed = limits.planes_mm, limits.planes_g_mm
    ahead = before_run(given, seed=seed)
    warnings = [f"Plane {n}: {text}" for n, r in enumerate(ahead, 1) for text in r.warnings]
    notes = [f"The permissible unbalance holds for this condition: {given.condition}."]
    found = _measured(record, given)
    listed = np.zeros(2, complex)
    if record.seats:
        hammers = hammer_unbalance(record.seats, record.masses_g, about_mm=given.centre_mm)
        listed = np.array(split_many(hammers.vectors_g_mm, hammers.z_mm, planes_mm))
    now = listed if found is None else found.unbalance
    source = "weighed hammers alone" if found is None else f"measured, {record.amplitude}"
    if found is None:
        notes.append(
            "No readings: the unbalance is that of the weighed hammers; that of shell, discs and shafts is not in it."
        )
    else:
        warnings += found.warnings
        notes.append("Take all trial masses off first, those that were left in too: the plan counts from run 0.")
        if abs(record.speed_rpm - given.speed_rpm) > NEAR_SPEED * given.speed_rpm:
            notes.append(
                f"Measured at {record.speed_rpm:.0f} rpm, service speed {given.speed_rpm:.0f} rpm: holds for a rigid "
                "rotor."
            )
        notes.append("Run again with the masses in: what errors of reading leave is in reading_error_g_mm (P95).")
        for plane, (spread, u) in enumerate(zip(found.scatter or (), allowed, strict=False), 1):
            if spread > u:
                warnings.append(
                    f"Plane {plane}: errors of reading alone leave up to {spread:.0f} g·mm, the permissible is "
                    f"{u:.0f} g·mm."
                )
    placement = None
    if len(record.seats) >= 2:
        placement = place_hammers(
            record.masses_g, record.seats, planes_mm=planes_mm, permissible_g_mm=allowed,
            besides_g_mm=list(now - listed), seed=seed,
        )  # fmt: skip
        if not given.place_hammers and placement.share < placement.share_before:
            notes.append(_advice(placement))
    elif given.place_hammers:
        notes.append("place_hammers was asked for, but the record has no two weighed hammers.")
    moved = given.place_hammers and placement is not None
    existing = np.array(placement.after) if moved and placement is not None else now
    masses = best_masses(list(existing), given.planes, allowed, enough_share=given.enough_share)
    warnings += masses.warnings
    rows, holds = _rows(given, placement if moved else None, masses, now, found.scatter if found else None)
    for hold, row in zip(holds, [r for r in rows if r.kind == "mass"], strict=False):
        warnings += [f"Plane {row.plane}, position {row.position}: {fault}." for fault in hold.faults]
    notes += list(dict.fromkeys(f"Masses: {note}." for hold in holds for note in hold.notes))
    if given.bolts is None:
        notes.append("Not checked: what holds the masses; give bolts.")
    left = [plane.residual_g_mm for plane in masses.planes]
    casing = None
    if given.total_mass_kg is not None:
        casing = casing_vibration(
            unbalance_g_mm=abs(sum(left)), speed_rpm=given.speed_rpm, total_mass_kg=given.total_mass_kg,
            limits_mm_s=given.zone_limits_mm_s,
        )  # fmt: skip
        notes.append(casing.note)
    figures = (
        *permissible_figures(given.grade_mm_s, given.rotor_mass_kg, given.speed_rpm), *limits.figures,
        *(f for r in ahead for f in r.figures), *(found.figures if found else ()),
        *(placement.figures if placement else ()),
        *masses.figures, *(casing.figures if casing else ()),
    )  # fmt: skip
    return BalancePlan(
        tuple(rows), limits, ahead, placement, found, masses, tuple(holds), limits.bearing_share(left), casing,
        given.condition,
        source, tuple(warnings), tuple(notes), figures,
    )  # fmt: skip


def _advice(placement: Placement) -> str:
    """What another order of the hammers would bring, in one sentence or two."""
    text = (
        "Hammers stay where they are. Placed anew they would take the worst plane from "
        f"{100 * placement.share_before:.0f} % to {100 * placement.share:.1f} % of its permissible before any plate: place_hammers = true."
    )
    if few := placement.exchanges[:3]:
        slots = ", ".join(f"{a} with {b}" for a, b, _ in few)
        text += f" The exchange of slots {slots} alone would take it to {100 * few[-1][2]:.0f} %."
    return text


def _rows(
    given: BalanceInput,
    placement: Placement | None,
    masses: MassPlan,
    now: Vectors,
    scatter: tuple[float, ...] | None,
) -> tuple[list[PlanRow], list[MassHold]]:
    rows: list[PlanRow] = []
    holds: list[MassHold] = []
    for slot, come_from, mass in placement.moves if placement else ():
        does = f"hammer of {mass:.0f} g from slot {come_from} into slot {slot}"
        rows.append(PlanRow(len(rows) + 1, "move", does, slot=slot, from_slot=come_from, mass_g=mass))
    for number, plane in enumerate(masses.planes, 1):
        where = plane.positions
        for position, (plates, angle) in enumerate(zip(plane.plates, where.angles_deg, strict=True), 1):
            if plates:
                row, hold = _mass_row(given, number, position, plates, angle % 360.0, where.plate_g, where.radius_mm)
                rows.append(PlanRow(len(rows) + 1, **row))  # type: ignore[arg-type]
                holds += [hold] if hold else []
    for number, (plane, first) in enumerate(zip(masses.planes, now, strict=True), 1):
        (before, before_deg), (after, after_deg) = polar(complex(first)), polar(plane.residual_g_mm)
        verdict = "within" if plane.share <= 1 else "ABOVE"
        how = "proven to be the least" if plane.proven else "not proven to be the least"
        how += "" if given.enough_share == 0 or plane.share <= plane.bound + 1e-6 else " for so few plates"
        rows.append(PlanRow(
            len(rows) + 1, "result", f"plane {number}: {100 * plane.share:.1f} % of the permissible, {verdict}; {how}",
            plane=number, mass_g=plane.mass_g, before_g_mm=before, before_deg=before_deg,
            after_g_mm=after, after_deg=after_deg,
            reading_error_g_mm=scatter[number - 1] if scatter else None,
            permissible_g_mm=plane.permissible_g_mm, share_pct=100 * plane.share,
        ))  # fmt: skip
    return rows, holds


def _mass_row(
    given: BalanceInput, plane: int, position: int, plates: int, angle_deg: float, plate_g: float, radius_mm: float
) -> tuple[dict[str, object], MassHold | None]:
    mass, bolts = plates * plate_g, given.bolts
    stack = "1 plate" if plates == 1 else f"{plates} plates"
    row: dict[str, object] = {
        "kind": "mass", "plane": plane, "position": position, "angle_deg": angle_deg, "plates": plates, "mass_g": mass,
        "radius_mm": radius_mm,
        "does": f"{stack} on position {position}: {mass * radius_mm:.0f} g·mm towards {angle_deg:.1f}°",
    }  # fmt: skip
    if bolts is None:
        return row, None
    hold = hold_mass(
        bolts, mass_g=mass, radius_mm=radius_mm, speed_rpm=given.speed_rpm, overspeed_ratio=given.overspeed_ratio,
        plates=plates,
    )  # fmt: skip
    part = f", part {bolts.part}" if bolts.part else ""
    row |= {
        "bolts": f"{bolts.bolts} x {bolts.size} {bolts.grade}{part}", "torque_Nm": bolts.torque_Nm, "pull_N": hold.pull_N,
        "overspeed_pull_N": hold.overspeed_N, "held": f"by {hold.by}" if hold.holds else "DOES NOT HOLD",
    }  # fmt: skip
    return row, hold


def write_plan(plan: BalancePlan | Sequence[PlanRow], path: str | Path) -> None:
    """Write the plan's rows as CSV: comma, decimal point, empty where a column does not apply. Raises FileFault."""
    rows = plan.rows if isinstance(plan, BalancePlan) else plan
    try:
        with Path(path).open("w", encoding="utf-8", newline="") as file:
            out = csv.writer(file, lineterminator="\n")
            out.writerow(PLAN_COLUMNS)
            for row in rows:
                out.writerow([_cell(v) for v in asdict(row).values()])
    except OSError as fault:
        raise FileFault(Fault("file", str(path), f"cannot be written: {fault.strerror}", "check the path")) from None


def _cell(value: object) -> str:
    if value is None:
        return ""
    return f"{value:.6g}" if isinstance(value, float) else str(value)
