"""Factors of what a bar does to its slots: at speed, and under a force at its tip, given or reckoned."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ..errors import Fault, InputFault
from ..figure import Figure, figure
from ..model.check import Checks
from ..model.flank import default_patch, flank_height_mm, flank_length_mm
from ..model.load import Cutting, Impact, ThroughBar, TipForce
from ..model.machine import Bar, Machine
from ..model.material import Material
from ..model.ring import Ring
from . import cutting, impact
from .dynamic import dynamic_factor
from .machine_factors import speed_of, spin, tip_overhang_mm
from .result import Factors, Strut, Term
from .ring_factors import opposite, slot_number
from .rotating import tip_speed_m_s
from .through_bar import bar_on_slots, bar_strut, clamp_needed_N, friction_capacity_N
from .tip_force import bar_bending_MPa, edge_pressure_MPa, tip_reaction

__all__ = ["MAKERS"]

# safety against slip in ordinary running; common practice
SLIP_SAFETY = 1.3


def _fits(ring: Ring, bar: Bar) -> None:
    """A bar that does not go through the slot, or does not reach both walls, is a fault."""
    checks = Checks()
    around, along = 2 * ring.cutout.half_x_mm, 2 * ring.cutout.half_y_mm
    for field, size, room, what in (
        ("depth_mm", bar.depth_mm, around, "around the drum"),
        ("width_mm", bar.width_mm, along, "along the axis"),
    ):
        if size > room:
            checks.add(f"machine.bar.{field}", size, f"must be at most the slot's size {what}, {room:g} mm")
    if bar.length_mm < ring.outer_diameter_mm:
        checks.add(
            "machine.bar.length_mm", bar.length_mm,
            f"must be at least the shell's outer diameter, {ring.outer_diameter_mm:g} mm", "a bar goes through both walls",
        )  # fmt: skip
    checks.done()


# the drum at speed with its bars


def _through_bar(ring: Ring, load: ThroughBar, machine: Machine, material: Any) -> Factors:
    bar = machine.bar
    assert bar is not None
    slot_number(ring, load.slot)
    _fits(ring, bar)
    speed = speed_of(load, machine)
    pulls = bar_on_slots(
        path=bar.path,
        half_mass_kg=bar.half_mass_kg,
        half_radius_mm=bar.half_radius_mm + bar.cg_offset_mm,
        other_half_mass_kg=bar.half_mass_kg,
        other_half_radius_mm=bar.half_radius_mm - bar.cg_offset_mm,
        speed_rpm=speed,
    )
    held = None
    if bar.clamp_force_kN is not None and bar.friction is not None:
        held = friction_capacity_N(clamp_N=1e3 * bar.clamp_force_kN, friction=bar.friction)
    base = Factors(spin(speed).terms, pulls.figures, notes=(pulls.sentence,))
    if bar.path == "halves":
        return _halves(ring, load, bar, base, pulls.slot_N, pulls.opposite_N, held)
    across = opposite(ring, load.slot)
    lone = _lone(ring, load.slot)
    if bar.path == "one":
        terms = _outward(ring, load.slot, pulls.slot_N)
        return replace(
            base,
            terms=base.terms + terms,
            figures=base.figures + _capacity(held),
            warnings=lone + _slip(held, abs(pulls.slot_N), "the bar's net force"),
        )
    made = bar_strut(
        speed_rpm=speed,
        youngs_modulus_MPa=bar.youngs_modulus_MPa,
        area_mm2=bar.section_mm2,
        mass_per_length_kg_m=1e3 * bar.mass_kg / bar.length_mm,
        seat_radius_mm=ring.mid_radius_mm,
        end_radius_mm=0.5 * bar.length_mm,
        tip_mass_kg=bar.tip_mass_kg,
        tip_radius_mm=0.5 * bar.length_mm,
        clamp_N=None if held is None or bar.clamp_force_kN is None else 1e3 * bar.clamp_force_kN,
        friction=None if held is None else bar.friction,
    )
    terms = _outward(ring, load.slot, pulls.slot_N) + _outward(ring, across, pulls.opposite_N)
    default_patch(ring, load.slot, "leading", "shear_wall")
    return replace(
        base,
        terms=base.terms + terms,
        figures=base.figures + made.figures,
        warnings=lone if held is not None else (*lone, _UNKNOWN),
        strut=Strut(
            min(load.slot, across),
            made.stiffness_N_mm,
            made.pull_N,
            made.own_stretch_mm,
            held,
            pulls.mid_tension_N,
            0.5 * abs(pulls.net_N),
        ),
    )


_UNKNOWN = (
    "whether friction holds the bar in its seats was not checked: clamp_force_kN and friction of the bar are not given"
)


def _lone(ring: Ring, slot: int) -> tuple[str, ...]:
    if ring.slots_around == 2:
        return ()
    pair = sorted((slot, opposite(ring, slot)))
    return (
        f"only slots {pair[0]} and {pair[1]} of each row hold a bar, the other {ring.slots_around - 2} are empty: bars that go "
        "through cannot pass the axis at the same place",
    )


def _capacity(held: float | None) -> tuple[Figure, ...]:
    return () if held is None else (figure(friction_capacity_N, held),)


def _slip(held: float | None, pull_N: float, what: str) -> tuple[str, ...]:
    if pull_N == 0:
        return ()
    if held is None:
        return (_UNKNOWN,)
    if held < SLIP_SAFETY * pull_N:
        return (
            f"friction holds {1e-3 * held:.4g} kN in a slot, less than {SLIP_SAFETY:g} times {what}, {1e-3 * pull_N:.4g} kN: "
            "a positive stop must hold it",
        )
    return ()


def _halves(
    ring: Ring, load: ThroughBar, bar: Bar, base: Factors, slot_N: float, opposite_N: float, held: float | None
) -> Factors:
    """Every slot holds a half; an offset makes the two of one pair differ."""
    mean = 0.5 * (slot_N + opposite_N)
    terms: tuple[Term, ...] = _outward(ring, None, mean)
    if bar.cg_offset_mm:
        across = opposite(ring, load.slot, "machine.bar.cg_offset_mm", bar.cg_offset_mm)
        terms += _outward(ring, load.slot, slot_N - mean) + _outward(ring, across, opposite_N - mean)
    figures = base.figures + _capacity(held)
    if bar.friction is not None:
        needed = clamp_needed_N(force_N=max(slot_N, opposite_N), safety=SLIP_SAFETY, faces=2, friction=bar.friction)
        figures += (figure(clamp_needed_N, needed, "clamp force that would hold a half by friction alone"),)
    stop = "a half must not be held by friction alone: a positive stop has to carry it"
    warnings = (stop, *_slip(held, max(slot_N, opposite_N), "the pull of a half"))
    return replace(base, terms=base.terms + terms, figures=figures, warnings=warnings)


def _outward(ring: Ring, slot: int | None, force_N: float) -> tuple[Term, ...]:
    """A force outward on a slot (None: on every one), as shear on its leading and trailing flanks."""
    if not force_N:
        return ()
    patches = [default_patch(ring, slot, flank, "shear_wall") for flank in ("leading", "trailing")]
    return tuple(Term(p.name, 0.5 * force_N / p.force_N(ring)) for p in patches)


# forces at a tip


def _tip_force(ring: Ring, load: TipForce, machine: Machine | None, material: Any) -> Factors:
    return _at_tip(ring, load, machine, 1e3 * load.force_kN, (), ())


def _at_tip(
    ring: Ring,
    load: Any,
    machine: Machine | None,
    force_N: float,
    figures: tuple[Figure, ...],
    warnings: tuple[str, ...],
) -> Factors:
    """A force at the tip as pressure on the flanks of its slot, and of the opposite one where that one helps."""
    slot_number(ring, load.slot)
    across = opposite(ring, load.slot) if load.walls == "two" else None
    bar = machine.bar if machine is not None else None
    if bar is not None:
        _fits(ring, bar)
    if load.overhang_mm is not None:
        overhang = float(load.overhang_mm)
    else:
        assert machine is not None
        overhang = tip_overhang_mm(ring, machine)
    flat = flank_length_mm(ring, "trailing")
    extent = load.extent_mm
    if extent is None and bar is not None and flat:
        extent = min(bar.width_mm, flat)
    shape = default_patch(ring, load.slot, "trailing", "pressure", "uniform", extent)
    height = flank_height_mm(ring, "trailing")
    held = tip_reaction(
        force_N=force_N,
        overhang_mm=max(0.0, overhang + 0.5 * (ring.wall_mm - height)),
        wall_mm=height,
        width_mm=shape.extent_mm - shape.taper_mm,
        walls=load.walls,
        spacing_mm=2 * ring.mid_radius_mm,
        clearance_mm=float(load.clearance_mm),
        turning_stiffness_Nmm_rad=None
        if load.turning_stiffness_Nm_rad is None
        else 1e3 * load.turning_stiffness_Nm_rad,
    )
    terms = []
    for part in held.loads:
        where = load.slot if part.slot == "near" else across
        for profile, value in (("uniform", part.uniform_MPa), ("linear", part.linear_MPa)):
            if value:
                place = default_patch(ring, where, part.flank, "pressure", profile, shape.extent_mm)
                terms.append(Term(place.name, value))
    figures += held.figures
    if load.walls == "two":
        alone = edge_pressure_MPa(force_N=abs(force_N), overhang_mm=overhang, wall_mm=height, width_mm=shape.extent_mm)
        figures += (figure(edge_pressure_MPa, alone, "edge pressure, were the near wall alone to hold"),)
    if bar is not None:
        sizes = {"width_mm": bar.width_mm, "depth_mm": bar.depth_mm}
        bending = bar_bending_MPa(force_N=abs(force_N), overhang_mm=overhang, **sizes)
        figures += (figure(bar_bending_MPa, bending),)
    note = (
        f"The bar leans on {shape.extent_mm:g} mm of the flank, with {shape.taper_mm:g} mm at each end over which the pressure "
        "falls to zero."
    )
    return Factors(tuple(terms), figures, warnings + held.warnings, (note,))


def _cutting(ring: Ring, load: Cutting, machine: Machine | None, material: Any) -> Factors:
    figures: tuple[Figure, ...]
    warnings: tuple[str, ...] = ("no published force spectrum of such grinders is known: measure, where you can",)
    if load.method == "crushing":
        assert load.chip_width_mm is not None
        assert load.chip_depth_mm is not None
        known = None if load.wood is None else cutting.wood(load.wood)
        strength = load.crush_strength_MPa if known is None else known.crushing_MPa
        assert strength is not None
        rate = 1.0 if load.rate_factor is None else load.rate_factor
        force = cutting.crushing_force_N(
            crushing_MPa=strength, width_mm=load.chip_width_mm, depth_mm=load.chip_depth_mm, rate_factor=rate
        )
        figures = (figure(cutting.crushing_force_N, force),)
        if known is not None:
            figures = (Figure(known.what, known.crushing_MPa, "MPa", "crushing strength", known.provenance), *figures)
        if load.rate_factor is None:
            warnings += (
                "rate_factor is not given: the wood's strength is that of a slow test, a hit meets 1.5 to 2 times that",
            )
    else:
        assert machine is not None
        assert machine.speed_rpm is not None
        assert machine.tip_diameter_mm is not None
        if load.method == "power":
            assert machine.power_kW is not None
            assert machine.tips_total is not None
            assert load.cutting_share is not None
            assert load.contact_path_mm is not None
            one = cutting.hit(
                power_kW=machine.power_kW,
                speed_rpm=machine.speed_rpm,
                tip_diameter_mm=machine.tip_diameter_mm,
                tips=machine.tips_total,
                share_cutting=load.cutting_share,
                contact_path_mm=load.contact_path_mm,
            )
            force, figures = one.force_N, one.figures
        else:
            assert load.piece_mass_kg is not None
            assert load.restitution is not None
            assert load.duration_s is not None
            mass, figures = _reduced(load.piece_mass_kg, machine, "rotor")
            speed = tip_speed_m_s(speed_rpm=machine.speed_rpm, tip_diameter_mm=machine.tip_diameter_mm)
            push = impact.impulse_impact(
                reduced_mass_kg=mass, speed_m_s=speed, restitution=load.restitution, duration_s=load.duration_s
            )
            force, figures = push.peak_N, (figure(tip_speed_m_s, speed), *figures, *push.figures)
    return _at_tip(ring, load, machine, force, figures, warnings)


def _reduced(mass_kg: float, machine: Machine | None, behind: str) -> tuple[float, tuple[Figure, ...]]:
    """Reduced mass of a piece and of what answers behind the tip, kg."""
    assert machine is not None
    if behind == "bar":
        assert machine.bar is not None
        other = machine.bar.total_mass_kg
        figures: tuple[Figure, ...] = ()
    else:
        assert machine.inertia_kg_m2 is not None
        assert machine.tip_diameter_mm is not None
        radius = 0.5 * machine.tip_diameter_mm
        other = impact.effective_tip_mass_kg(inertia_kg_m2=machine.inertia_kg_m2, tip_radius_mm=radius)
        figures = (figure(impact.effective_tip_mass_kg, other),)
    mass = impact.reduced_mass_kg(mass_kg=mass_kg, other_mass_kg=other)
    return mass, (*figures, figure(impact.reduced_mass_kg, mass))


def _impact(ring: Ring, load: Impact, machine: Machine | None, material: Material | None) -> Factors:
    mass, figures = _reduced(load.mass_kg, machine, load.behind)
    speed = load.speed_m_s
    if speed is None:
        assert machine is not None
        assert machine.speed_rpm is not None
        assert machine.tip_diameter_mm is not None
        speed = tip_speed_m_s(speed_rpm=machine.speed_rpm, tip_diameter_mm=machine.tip_diameter_mm)
        figures = (figure(tip_speed_m_s, speed), *figures)
    hit, warnings = _contact(load, mass, speed, material)
    figures += hit.figures
    force = hit.peak_N
    if load.dynamic_factor:
        factor = dynamic_factor(duration_s=hit.duration_s, first_frequency_Hz=load.first_frequency_Hz)
        force *= factor.factor
        equivalent = Figure(
            "equivalent static force", 1e-3 * force, "kN", "peak force times dynamic factor", hit.provenance
        )
        figures += (*factor.figures, equivalent)
    else:
        warnings += (
            "the peak force stands as a static one: no dynamic factor, between 0 and 1.77 for a half-sine push",
        )
    return _at_tip(ring, load, machine, force, figures, warnings)


def _contact(
    load: Impact, mass_kg: float, speed_m_s: float, material: Material | None
) -> tuple[impact.Impact, tuple[str, ...]]:
    common = {"reduced_mass_kg": mass_kg, "speed_m_s": speed_m_s}
    if load.method == "impulse":
        assert load.duration_s is not None
        rebound = 0.0 if load.restitution is None else load.restitution
        return impact.impulse_impact(**common, restitution=rebound, duration_s=load.duration_s), ()
    if load.method == "spring":
        assert load.stiffness_kN_mm is not None
        return impact.spring_impact(**common, stiffness_N_mm=1e3 * load.stiffness_kN_mm), ()
    assert load.radius_mm is not None
    limit = load.yield_MPa if load.yield_MPa is not None else material.yield_MPa if material is not None else None
    dented = None if limit is None else impact.plastic_impact(**common, radius_mm=load.radius_mm, yield_MPa=limit)
    if load.method == "plastic":
        if dented is None:
            raise InputFault(
                Fault(
                    "yield_MPa", load.yield_MPa, "must be given: neither the load nor the material has a yield stress"
                )
            )
        return dented, ()
    assert material is not None
    modulus = impact.contact_modulus_MPa(
        youngs_modulus_MPa=material.youngs_modulus_MPa, poissons_ratio=material.poissons_ratio
    )
    elastic = impact.hertz_impact(**common, radius_mm=load.radius_mm, contact_modulus_MPa=modulus)
    if dented is not None and dented.peak_N < elastic.peak_N:
        said = (
            f"the contact would yield: at a pressure of three times {limit:g} MPa the force is {1e-3 * dented.peak_N:.4g} kN, "
            "the elastic one is an upper bound"
        )
        return elastic, (said,)
    return elastic, ()


MAKERS: dict[type, Any] = {ThroughBar: _through_bar, TipForce: _tip_force, Cutting: _cutting, Impact: _impact}
