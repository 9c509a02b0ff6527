"""A running state of the drum, and the forces that it puts on the rotor, cause by cause."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..errors import MISSING
from ..model.check import Checks
from ..model.drum import Drum, slots
from ..model.material import Material
from ..units import omega_rad_s
from .bodies import Bodies, HammerState, bodies
from .span import SpanForces, SpanTorques

__all__ = ["FRAMES", "GRAVITY_M_S2", "Cause", "RestUnbalance", "Running", "TipHit", "causes"]

Array = NDArray[np.float64]
# conventional value of free fall
GRAVITY_M_S2 = 9.80665
# stands still in space, so the drum turns through it; or turns with the drum
FRAMES = ("space", "drum")


@dataclass(frozen=True, kw_only=True)
class TipHit:
    """A force at one tip: force_kN against the rotation (positive holds the drum back), radial_kN towards the axis."""

    slot: int
    force_kN: float
    radial_kN: float = 0.0


@dataclass(frozen=True, kw_only=True)
class RestUnbalance:
    """Unbalance that balancing has left: amount, where it points (from the first slot of row 0), and where along the drum."""

    amount_g_mm: float
    angle_deg: float
    z_mm: float


@dataclass(frozen=True, kw_only=True)
class Running:
    """One state of the running drum.

    power_kW at speed_rpm: of the drive; it is cut away evenly by cutting_rows (all unless given). cut_direction_deg: where
    the tips meet the material, from straight down in the sense of rotation, needed with a power. radial_share: mean force
    towards the axis over the mean force around it. hits: further forces at single tips; what they hold back slows the drum
    down. hammers: missing, broken, worn ones. unbalance: what balancing left. thrust_kN along the axis. weight: whether it
    counts.
    """

    speed_rpm: float
    power_kW: float = 0.0
    cut_direction_deg: float | None = None
    radial_share: float = 0.0
    cutting_rows: tuple[int, ...] | None = None
    hits: tuple[TipHit, ...] = ()
    hammers: HammerState = field(default_factory=HammerState)
    unbalance: tuple[RestUnbalance, ...] = ()
    thrust_kN: float = 0.0
    weight: bool = True
    name: str = "running"

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("speed_rpm", self.speed_rpm, least=0.0, most=100_000.0, way_out="revolutions a minute")
        if checks.number("power_kW", self.power_kW, least=0.0) and self.power_kW:
            value: object = MISSING if self.cut_direction_deg is None else self.cut_direction_deg
            way = "where the tips meet the material, from straight down in the sense of rotation"
            checks.number("cut_direction_deg", value, least=-360.0, most=360.0, way_out=way)
            if self.speed_rpm == 0:
                checks.add(
                    "speed_rpm", self.speed_rpm, "must be above 0 with a power", "power at no speed has no torque"
                )
        checks.number("radial_share", self.radial_share, least=-5.0, most=5.0)
        checks.number("thrust_kN", self.thrust_kN)
        checks.truth("weight", self.weight)
        checks.text("name", self.name)
        for name in ("hits", "unbalance"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        for i, hit in enumerate(self.hits):
            checks.number(f"hits[{i}].force_kN", hit.force_kN)
            checks.number(f"hits[{i}].radial_kN", hit.radial_kN)
        for i, rest in enumerate(self.unbalance):
            checks.number(f"unbalance[{i}].amount_g_mm", rest.amount_g_mm, least=0.0)
            checks.number(f"unbalance[{i}].angle_deg", rest.angle_deg, least=-360.0, most=360.0)
            checks.number(f"unbalance[{i}].z_mm", rest.z_mm)
        checks.done()

    def check(self, drum: Drum) -> None:
        """Raise InputFault with all that does not fit the drum."""
        checks = Checks()
        if drum.hammer is None and (self.power_kW or self.hits):
            field_name = "power_kW" if self.power_kW else "hits"
            checks.add(field_name, getattr(self, field_name), "needs tips that cut, and the drum has no hammers")
        for i, hit in enumerate(self.hits):
            checks.whole(f"hits[{i}].slot", hit.slot, 0, drum.slots_total - 1, "a slot's number, from 0")
        for row in self.cutting_rows or ():
            checks.whole("cutting_rows", row, 0, drum.rows_total - 1, "a row's number, from 0 at the drive end")
        if self.cutting_rows is not None and not self.cutting_rows:
            checks.add("cutting_rows", [], "must name at least one row", "leave it out for all rows")
        low, high = -drum.drive_end.beyond_mm, drum.bearing_span_mm + drum.other_end.beyond_mm
        for i, rest in enumerate(self.unbalance):
            way = "from the drive bearing's middle towards the free end"
            checks.number(f"unbalance[{i}].z_mm", rest.z_mm, least=low, most=high, way_out=way)
        checks.done()

    @property
    def torque_Nmm(self) -> float:
        """Torque of the drive."""
        return 1e6 * self.power_kW / omega_rad_s(self.speed_rpm) if self.power_kW else 0.0


@dataclass(frozen=True)
class Cause:
    """What one cause puts on the rotor. frame: "space" (directions from straight down) or "drum" (from the first slot of
    row 0), both in the sense of rotation. steady: lasts for as long as the drum runs so; False for hits.
    """

    name: str
    frame: str
    forces: SpanForces
    torques: SpanTorques | None = None
    steady: bool = True


def _at(force: NDArray[np.complex128], z: Array, span: float) -> SpanForces:
    return SpanForces(np.asarray(force, dtype=complex), z, z, span)


def causes(drum: Drum, running: Running, material: Material | None = None) -> tuple[Cause, ...]:
    """All that acts on the rotor in a running state: weight, belts, drive with cutting, unbalance, hits. Raises InputFault."""
    running.check(drum)
    heap = bodies(drum, material, state=running.hammers)
    span = drum.bearing_span_mm
    out = []
    if running.weight:
        weight = GRAVITY_M_S2 * heap.mass_kg
        out.append(Cause("weight", "space", SpanForces(weight.astype(complex), heap.from_mm, heap.to_mm, span)))
    if running.power_kW:
        out += _driven(drum, running, span)
    turning = _unbalance(heap, running, span)
    if turning is not None:
        out.append(turning)
    if running.hits:
        out.append(_hits(drum, running, heap, span))
    return tuple(out)


def _driven(drum: Drum, running: Running, span: float) -> list[Cause]:
    """Belts and cutting: the drive's torque comes in at the sheave and goes out at the tips."""
    assert drum.hammer is not None
    assert running.cut_direction_deg is not None
    torque, drive = running.torque_Nmm, drum.drive
    out = []
    where = -drive.sheave_overhang_mm if drive is not None else -drum.drive_end.beyond_mm
    if drive is not None:
        pull = drive.shaft_factor * 2 * torque / drive.sheave_diameter_mm
        force = np.array([pull * np.exp(1j * math.radians(drive.belt_direction_deg))])
        out.append(Cause("belts", "space", _at(force, np.array([where]), span)))
    rows = running.cutting_rows or tuple(range(drum.rows_total))
    z = np.array([drum.row_z_mm(row) for row in rows])
    each = torque / drum.hammer.outer_radius_mm / len(rows)
    meet = np.exp(1j * math.radians(running.cut_direction_deg))
    # at the tips' meeting place the material pushes back against the motion, and towards the axis
    force = np.full(len(rows), each * meet * (-1j - running.radial_share))
    torques = SpanTorques(
        np.array([torque, *np.full(len(rows), -torque / len(rows))]), np.array([where, *z]), np.array([where, *z])
    )
    out.append(Cause("cutting", "space", _at(force, z, span), torques))
    return out


def _unbalance(heap: Bodies, running: Running, span: float) -> Cause | None:
    square = omega_rad_s(running.speed_rpm) ** 2
    if not square:
        return None
    force = 1e-3 * square * heap.offset_kg_mm()
    off = np.abs(heap.offset_kg_mm()) > 0
    rest = [1e-6 * square * u.amount_g_mm * np.exp(1j * math.radians(u.angle_deg)) for u in running.unbalance]
    z = np.array([u.z_mm for u in running.unbalance])
    forces = SpanForces(force[off], heap.from_mm[off], heap.to_mm[off], span)
    return Cause("unbalance", "drum", forces.plus(_at(np.array(rest, dtype=complex), z, span)))


def _hits(drum: Drum, running: Running, heap: Bodies, span: float) -> Cause:
    """Forces at single tips; the drum's own inertia takes their torque, the bearings their force."""
    assert drum.hammer is not None
    places = slots(drum)
    z = np.array([places[hit.slot].z_mm for hit in running.hits])
    turn = np.exp(1j * np.radians([places[hit.slot].angle_deg for hit in running.hits]))
    around = 1e3 * np.array([hit.force_kN for hit in running.hits])
    inward = 1e3 * np.array([hit.radial_kN for hit in running.hits])
    held = around * drum.hammer.outer_radius_mm
    polar = heap.polar_kg_mm2()
    torques = SpanTorques(
        np.concatenate([-held, held.sum() * polar / polar.sum()]),
        np.concatenate([z, heap.from_mm]), np.concatenate([z, heap.to_mm]),
    )  # fmt: skip
    return Cause("hits", "drum", _at(turn * (-1j * around - inward), z, span), torques, steady=False)
