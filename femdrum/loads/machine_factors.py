"""Factors of the loads that are reckoned from the machine, and the numbers on the way there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..errors import Fault, InputFault
from ..figure import Figure, figure
from ..model.load import BeltPull, DriveTorque, Jam, Overspeed, Reversal, Rotation, SelfWeight, Unbalance
from ..model.ring import Ring
from ..provenance import computed
from ..units import omega_rad_s
from . import rotating
from .result import Factors, fixed, steady, turning

if TYPE_CHECKING:  # what only some loads need is loaded by them
    from ..model.machine import Machine
    from .jam import Jam as Stop
    from .weak_links import Link

__all__ = ["MAKERS", "speed_of", "spin", "tip_overhang_mm"]


def speed_of(load: Any, machine: Machine | None) -> float:
    """Speed of a load, its own or the machine's, rpm."""
    speed = getattr(load, "speed_rpm", None)
    if speed is None and machine is not None:
        speed = machine.speed_rpm
    assert speed is not None
    return float(speed)


def tip_overhang_mm(ring: Ring, machine: Machine) -> float:
    """How far the tips stand above the shell. Raises InputFault where they do not."""
    assert machine.tip_diameter_mm is not None
    overhang = 0.5 * machine.tip_diameter_mm - ring.outer_radius_mm
    if overhang < 0:
        allowed = f"must be at least the shell's outer diameter, {ring.outer_diameter_mm:g} mm"
        raise InputFault(Fault("machine.tip_diameter_mm", machine.tip_diameter_mm, allowed, "the circle of the tips"))
    return overhang


def spin(speed_rpm: float, hung_mass_kg: float = 0.0, hung_radius_mm: float | None = None) -> Factors:
    """The shell at a speed, and what hangs in its slots."""
    terms = {"rotation": omega_rad_s(speed_rpm) ** 2}
    figures = []
    if hung_mass_kg:
        assert hung_radius_mm is not None
        pull = rotating.centrifugal_force_N(mass_kg=hung_mass_kg, radius_mm=hung_radius_mm, speed_rpm=speed_rpm)
        terms["hung"] = pull
        figures = [
            figure(rotating.centrifugal_force_N, pull, "pull of what hangs in each slot"),
            figure(rotating.acceleration_g, rotating.acceleration_g(speed_rpm=speed_rpm, radius_mm=hung_radius_mm)),
        ]
    return Factors(steady(**terms), tuple(figures))


def _rotation(ring: Ring, load: Rotation, machine: Machine | None, material: Any) -> Factors:
    return spin(load.speed_rpm, load.hung_mass_kg, load.hung_radius_mm)


def _overspeed(ring: Ring, load: Overspeed, machine: Machine, material: Any) -> Factors:
    assert machine.speed_rpm is not None
    made = spin(load.ratio * machine.speed_rpm, load.hung_mass_kg, load.hung_radius_mm)
    over = figure(rotating.overspeed_factor, rotating.overspeed_factor(ratio=load.ratio))
    return Factors(made.terms, (over, *made.figures))


def _drive_torque(ring: Ring, load: DriveTorque, machine: Machine, material: Any) -> Factors:
    from . import drive

    assert machine.power_kW is not None
    assert machine.speed_rpm is not None
    rated = drive.drive_torque_Nmm(power_kW=machine.power_kW, speed_rpm=machine.speed_rpm)
    figures = [figure(drive.drive_torque_Nmm, rated)]
    torque = rated
    if load.start_factor != 1:
        torque = drive.start_torque_Nmm(
            power_kW=machine.power_kW, speed_rpm=machine.speed_rpm, start_factor=load.start_factor
        )
        figures.append(figure(drive.start_torque_Nmm, torque))
    note = (
        "The whole torque passes through this row: the drive is at its -y side, what takes the torque at its +y side."
    )
    return Factors(steady(torsion=-torque), tuple(figures), notes=(note,))


def _self_weight(ring: Ring, load: SelfWeight, machine: Machine, material: Any) -> Factors:
    from . import shaft

    assert machine.rotor_mass_kg is not None
    assert machine.bearing_span_mm is not None
    mass, span = machine.rotor_mass_kg, machine.bearing_span_mm
    moment = shaft.self_weight_moment_Nmm(mass_kg=mass, span_mm=span)
    weight = figure(shaft.weight_N, shaft.weight_N(mass_kg=mass), "weight of the rotor")
    note = (
        "The weight is spread evenly from bearing to bearing; its moment is that at mid-span, where there is no shear."
    )
    return Factors(
        turning("bending", moment, 0.0), (weight, figure(shaft.self_weight_moment_Nmm, moment)), notes=(note,)
    )


def _belt_pull(ring: Ring, load: BeltPull, machine: Machine, material: Any) -> Factors:
    from . import drive, shaft

    sheave, overhang = machine.sheave_diameter_mm, machine.sheave_overhang_mm
    span, where = machine.bearing_span_mm, machine.belt_direction_deg
    assert machine.power_kW is not None
    assert machine.speed_rpm is not None
    assert sheave is not None
    assert overhang is not None
    assert span is not None
    assert where is not None
    if load.distance_mm > span:
        allowed = f"must be at most bearing_span_mm = {span:g}"
        raise InputFault(Fault("distance_mm", load.distance_mm, allowed, "distance of the row from the drive bearing"))
    torque = drive.drive_torque_Nmm(power_kW=machine.power_kW, speed_rpm=machine.speed_rpm)
    pull = drive.belt_pull(
        torque_Nmm=torque, sheave_diameter_mm=sheave, shaft_factor=load.shaft_factor, overhang_mm=overhang
    )
    beam = shaft.overhung_force(load.distance_mm, force_N=pull.shaft_N, overhang_mm=overhang, span_mm=span)
    moment, shear = float(beam.moment_Nmm), float(beam.shear_N)
    note = "The belt pull stands still in space, so the drum turns through its bending once a revolution."
    return Factors(
        turning("bending", moment, where) + turning("transverse", shear, where),
        (figure(drive.drive_torque_Nmm, torque), *pull.figures),
        notes=(note, "The rotor is a beam on two bearings; the drive bearing is at the -y side."),
    )


def _unbalance(ring: Ring, load: Unbalance, machine: Machine, material: Any) -> Factors:
    from . import shaft

    assert machine.speed_rpm is not None
    assert machine.bearing_span_mm is not None
    figures = []
    if load.grade_mm_s is not None:
        assert machine.rotor_mass_kg is not None
        amount = rotating.permissible_unbalance_g_mm(
            grade_mm_s=load.grade_mm_s, mass_kg=machine.rotor_mass_kg, speed_rpm=machine.speed_rpm
        )
        figures.append(figure(rotating.permissible_unbalance_g_mm, amount))
    else:
        assert load.unbalance_g_mm is not None
        amount = load.unbalance_g_mm
    force = rotating.unbalance_force_N(unbalance_g_mm=amount, speed_rpm=machine.speed_rpm)
    figures.append(figure(rotating.unbalance_force_N, force))
    middle = 0.5 * machine.bearing_span_mm
    beam = shaft.point_force(middle, force_N=force, position_mm=middle, span_mm=machine.bearing_span_mm)
    note = (
        "The unbalance sits at mid-span and turns with the drum; its moment is that at mid-span. Vibration near a critical "
        "speed is not in it."
    )
    return Factors(fixed("bending", float(beam.moment_Nmm), load.direction_deg), tuple(figures), notes=(note,))


def _links(ring: Ring, machine: Machine) -> list[Link]:
    """The declared limits, and the bar's bending where its yield is given."""
    from .weak_links import Link, bar_yield_tip_force_N

    links = [
        Link(
            name=limit.name,
            torque_Nmm=None if limit.torque_Nm is None else 1e3 * limit.torque_Nm,
            tip_force_N=None if limit.tip_force_kN is None else 1e3 * limit.tip_force_kN,
            carries=limit.carries,
        )
        for limit in machine.limits
    ]
    bar, overhang = machine.bar, tip_overhang_mm(ring, machine)
    if bar is not None and bar.yield_MPa is not None and overhang > 0:
        force = bar_yield_tip_force_N(
            yield_MPa=bar.yield_MPa, width_mm=bar.width_mm, depth_mm=bar.depth_mm, overhang_mm=overhang, plastic=True
        )
        links.append(Link(name="the bar, fully plastic at the shell", tip_force_N=force))
    return links


def _stop(ring: Ring, load: Jam | Reversal, machine: Machine) -> Stop:
    from .jam import jam

    assert machine.inertia_kg_m2 is not None
    assert machine.tip_diameter_mm is not None
    return jam(
        inertia_kg_m2=machine.inertia_kg_m2,
        speed_rpm=speed_of(load, machine),
        stop_angle_deg=load.stop_angle_deg,
        tip_radius_mm=0.5 * machine.tip_diameter_mm,
        links=_links(ring, machine),
        tips=load.tips,
    )


_LOCAL = "Only the torque in the shell is in it; the force at the tip that is held is a load of its own, tip_force."


def _at_row(load: Jam | Reversal, machine: Machine, stop: Stop) -> tuple[float, tuple[Figure, ...], str]:
    """Torque in the shell at the row about +Z on the face looking to +Z, the drum turning forwards."""
    if load.jam_mm is None or load.row_mm is None or machine.rotor_parts is None:
        share = 1.0 if load.inertia_share is None else load.inertia_share
        note = f"{100 * share:g} % of the rotor's inertia pushes through this row; the jam is at its +y side."
        return -share * stop.torque_Nmm, (), note
    from .torque_along import torque_along

    along = torque_along([load.row_mm], torque_Nmm=stop.torque_Nmm, jam_mm=load.jam_mm, inertias=machine.rotor_parts)
    torque = float(along.torque_Nmm[0])
    if abs(torque) <= 1e-9 * stop.torque_Nmm:
        text = f"carries nothing of a jam at {load.jam_mm:g} mm: no inertia lies beyond it"
        raise InputFault(Fault("row_mm", load.row_mm, text, "give a row between the jam and some part of the rotor"))
    how = computed("statics of a rigid drum that slows down evenly, inertia by place along the axis")
    figures = tuple(
        Figure(what, 1e-6 * value, "kN·m", "inertia passed x slowing down, less the jam's torque beyond it", how)
        for what, value in (
            (f"torque in the shell at {load.row_mm:g} mm", torque),
            ("torque in the shell before the jam", along.before_jam_Nmm),
            ("torque in the shell beyond the jam", along.after_jam_Nmm),
        )
    )
    given = sum(part.inertia_kg_m2 for part in machine.rotor_parts)
    note = (
        f"The jam sits {load.jam_mm:g} mm from the drive end, the row at {load.row_mm:g} mm; the parts given hold "
        f"{given:g} kg m2, by which the torque is spread along the drum."
    )
    return torque, figures, note


def _jam(ring: Ring, load: Jam, machine: Machine, material: Any) -> Factors:
    stop = _stop(ring, load, machine)
    torque, figures, note = _at_row(load, machine, stop)
    return Factors(steady(torsion=torque), (*stop.figures, *figures), warnings=stop.warnings, notes=(note, _LOCAL))


def _reversal(ring: Ring, load: Reversal, machine: Machine, material: Any) -> Factors:
    stop = _stop(ring, load, machine)
    torque, figures, note = _at_row(load, machine, stop)
    return Factors(
        steady(torsion=-torque), (*stop.figures, *figures), warnings=stop.warnings,
        notes=("The drum is turned backwards when it is stopped.", note, _LOCAL),
    )  # fmt: skip


MAKERS: dict[type, Any] = {
    Rotation: _rotation,
    Overspeed: _overspeed,
    DriveTorque: _drive_torque,
    SelfWeight: _self_weight,
    BeltPull: _belt_pull,
    Unbalance: _unbalance,
    Jam: _jam,
    Reversal: _reversal,
}
