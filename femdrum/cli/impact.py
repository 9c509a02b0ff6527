"""`femdrum impact`: what a hit of a study does when it comes and goes, against its peak force as a static one."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault, nearest
from .common import CAUTION, DONE, NUMBER_MISSING, Command, number_or_text, say, width, write_json, write_lines

if TYPE_CHECKING:
    from ..assess.transient import ImpactResponse
    from ..fem.transient import Extreme
    from ..study import Study, Variant

__all__ = ["add"]

# frequencies that are printed; JSON has all
MOST_TONES = 8


def add(command: Command) -> None:
    """Enter the command."""
    hit = command(
        "impact", _impact, "dynamic factor at the slots of a load that comes and goes, by the ring's own modes"
    )
    hit.add_argument("file", metavar="FILE", help="study file (TOML)")
    hit.add_argument(
        "--load", metavar="NAME", help="name of a load that stands on slots' flanks (default: the only impact)"
    )
    hit.add_argument("--pulse-s", metavar="SECONDS", help="duration of the force (default: that of the impact itself)")
    hit.add_argument("--shape", default="half_sine", metavar="SHAPE", help="half_sine (default), rectangle or triangle")
    hit.add_argument("--variant", default="1", metavar="N", help="which of the study's variants, from 1 (default: 1)")
    hit.add_argument(
        "--order", metavar="ORDER", help="order of the cells, 2 to 6 (default: raised until it no longer matters)"
    )
    hit.add_argument(
        "--periods",
        default="3",
        metavar="COUNT",
        help="search goes on for so many periods of the lowest mode (default: 3)",
    )


def _impact(args: argparse.Namespace) -> int:
    from ..assess.transient import impact_response
    from ..fem.cell import Fineness
    from ..fem.pulse import Pulse
    from ..model.check import Checks
    from ..study import read_study

    study = read_study(args.file)
    checks = Checks()
    options = {name: number_or_text(getattr(args, name)) for name in ("variant", "periods")}
    order = None if args.order is None else number_or_text(args.order)
    checks.whole("--variant", options["variant"], 1, len(study.variants))
    checks.number("--periods", options["periods"], least=0.0, most=100.0)
    if order is not None:
        checks.whole("--order", order, 2, 6)
    checks.done()
    variant = study.variants[options["variant"] - 1]
    load = _load(variant, args.load)
    pulse = None if args.pulse_s is None else Pulse(args.shape, number_or_text(args.pulse_s))
    if pulse is None and args.shape != "half_sine":
        raise InputFault(Fault("--shape", args.shape, "goes with --pulse-s", "an impact's own pulse is a half sine"))
    if not args.json:
        say("solving; a minute, or several where the block has many rows")
    got = impact_response(
        variant.part,
        variant.material,
        load,
        pulse,
        machine=variant.machine,
        fineness=None if order is None else Fineness(order=order, cells_per_arc=2, wall_cells=2),
        periods=float(options["periods"]),
    )
    if args.json:
        write_json(_record(study, variant, load, got))
    else:
        write_lines(_lines(study, variant, load, got))
    return DONE if got.settled else NUMBER_MISSING


def _load(variant: Variant, name: str | None) -> Any:
    """The load that was asked for."""
    if variant.part.kind != "ring":
        raise InputFault(Fault("part.kind", variant.part.kind, "must be a ring: a hit meets a drum's slots"))
    names = [load.name for load in variant.loads]
    if name is None:
        hits = [load for load in variant.loads if load.kind == "impact"]
        if len(hits) == 1:
            return hits[0]
        raise InputFault(Fault("--load", MISSING, f"is missing; the study has {', '.join(names)}"))
    if name not in names:
        raise InputFault(Fault("--load", name, f"is not in the study; it has {', '.join(names)}", nearest(name, names)))
    return variant.loads[names.index(name)]


def _lines(study: Study, variant: Variant, load: Any, got: ImpactResponse) -> list[str]:
    from ..study.text import grid, wrapped

    ms = 1e3
    where = study.describe(variant)
    shape = got.pulse.shape.replace("_", " ")
    lines = [study.title + (f": {where}" if where else ""), ""]
    lines += wrapped(f"load {load.name!r} ({load.kind}), {shape} of {ms * got.pulse.duration_s:.4g} ms", width())
    settled = "settled" if got.settled else "NOT settled"
    lines += ["", f"dynamic factor at the slots' edges  {got.factor:.4g}, {settled}"]
    lines.append(
        f"  change from half of the modes: {100 * got.change:.2g} %; from the mesh before: {100 * got.mesh_change:.2g} %"
    )
    if got.tension_factor is not None:
        lines.append(f"  of tension alone: {got.tension_factor:.4g}")
    rows = [
        ("largest while it moves", *_place(got.dynamic), f"{ms * got.dynamic.time_s:.4g}"),
        ("static, of the peak force", *_place(got.static), "-"),
    ]
    lines += ["", *grid(("principal stress", "MPa", "slot", "x (mm)", "y (mm)", "depth (mm)", "at (ms)"), rows)]
    tones = sorted(got.tones, key=lambda tone: -tone.share)[:MOST_TONES]
    lines += ["", "frequencies that the load excites, by their share of its compliance"]
    lines += grid(("Hz", "share (%)"), [(f"{t.frequency_Hz:.1f}", f"{100 * t.share:.2f}") for t in tones])
    lines += ["", "what a single oscillator would say"]
    single = [
        (m.what, f"{m.frequency_Hz:.1f}", f"{m.duration_over_period:.4g}", f"{m.factor:.4g}") for m in got.one_mode
    ]
    lines += grid(("of the", "Hz", "duration / period", "factor"), single)
    b = got.balance
    lines += ["", "when the force has gone"]
    lines += grid(
        ("balance", "put in", "found", "unit", "residual"),
        [
            ("momentum", f"{_size(b.impulse):.5g}", f"{_size(b.momentum):.5g}", "N s", f"{b.momentum_residual:.0e}"),
            ("energy", f"{1e-3 * b.work_Nmm:.5g}", f"{1e-3 * (b.kinetic_Nmm + b.strain_Nmm):.5g}", "J", f"{b.energy_residual:.0e}"),
        ],
    )  # fmt: skip
    lines.append(f"  {got.mass_kg:.4g} kg move; {100 * b.strain_Nmm / b.work_Nmm:.3g} % of the energy is strain")
    lines.append(
        f"  {got.modes} elastic modes, to {got.top_Hz:.4g} Hz at least; cells of order {got.order}, {got.unknowns} unknowns; {got.seconds:.0f} s"
    )
    lines += ["", *(line for w in got.warnings for line in wrapped(f"warning: {w}", width()))]
    lines += [line for n in got.notes for line in wrapped(f"- {n}", width())]
    return [*lines, "", *wrapped(CAUTION, width(), indent="")]


def _size(vector: Any) -> float:
    """Length of the momentum's part along the axes."""
    return float((vector[:3] ** 2).sum() ** 0.5)


def _place(at: Extreme) -> tuple[str, ...]:
    spot = at.at
    return f"{at.peak_MPa:.5g}", str(spot.slot), f"{spot.x_mm:.2f}", f"{spot.y_mm:.2f}", f"{spot.depth_mm:.2f}"


def _record(study: Study, variant: Variant, load: Any, got: ImpactResponse) -> dict[str, Any]:
    """Everything as plain values."""
    b = got.balance
    return {
        "study": study.title,
        "variant": study.describe(variant),
        "load": load.name,
        "kind": load.kind,
        "terms": got.terms,
        "pulse": {"shape": got.pulse.shape, "duration_s": got.pulse.duration_s},
        "factor": got.factor,
        "tension_factor": got.tension_factor,
        "settled": got.settled,
        "change_by_modes": got.change,
        "change_by_mesh": got.mesh_change if math.isfinite(got.mesh_change) else None,
        "dynamic": _extreme(got.dynamic) | {"time_s": got.dynamic.time_s},
        "static": _extreme(got.static),
        "modes": got.modes,
        "compliance_held_by_modes": got.spanned,
        "searched_s": got.searched_s,
        "frequencies": [{"Hz": t.frequency_Hz, "share": t.share} for t in got.tones],
        "single_oscillators": [vars(m) for m in got.one_mode],
        "moving_mass_kg": got.mass_kg,
        "net_force_N": list(got.net_force_N),
        "net_torque_Nmm": got.net_torque_Nmm,
        "balance": {
            "impulse": b.impulse.tolist(),
            "momentum": b.momentum.tolist(),
            "work_Nmm": b.work_Nmm,
            "kinetic_Nmm": b.kinetic_Nmm,
            "strain_Nmm": b.strain_Nmm,
            "momentum_residual": b.momentum_residual,
            "energy_residual": b.energy_residual,
        },
        "course": {
            "time_s": got.course.time_s.tolist(),
            "dynamic_MPa": got.course.dynamic_MPa.tolist(),
            "slow_MPa": got.course.slow_MPa.tolist(),
        },
        "figures": [
            {"what": f.what, "value": f.value, "unit": f.unit, "formula": f.formula, "from": str(f.provenance)}
            for f in got.figures
        ],
        "warnings": list(got.warnings),
        "notes": list(got.notes),
        "unknowns": got.unknowns,
        "seconds": got.seconds,
        "caution": CAUTION,
    }


def _extreme(at: Extreme) -> dict[str, Any]:
    spot = at.at
    place = {"slot": spot.slot, "x_mm": spot.x_mm, "y_mm": spot.y_mm, "depth_mm": spot.depth_mm}
    return {"peak_MPa": at.peak_MPa, "tension_MPa": at.tension_MPa, **place}
