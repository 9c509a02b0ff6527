"""What a load needs of the machine and of the part is looked at when the study is read, so that faults have their lines."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..errors import MISSING, Fault, InputFault
from .layout import Layout
from .positions import Path
from .tables import Misfit, Table

__all__ = ["load_faults", "machine_of"]

Chosen = Mapping[Path, tuple[int, Any]]


def machine_of(layout: Layout, chosen: Chosen) -> tuple[Any, list[Fault]]:
    """The machine under a choice of values with its bar, limits and rotor parts, or None; and the faults of all."""
    if layout.machine is None:
        return None, []
    faults: list[Fault] = []
    others: dict[str, Any] = {}
    if layout.bar is not None:
        others["bar"], own = layout.bar.make(chosen)
        faults += own
    made = [table.make(chosen) for table in layout.limits]
    faults += [fault for _, own in made for fault in own]
    others["limits"] = tuple(limit for limit, _ in made if limit is not None)
    placed = [table.make(chosen) for table in layout.rotor_parts]
    faults += [fault for _, own in placed for fault in own]
    others["rotor_parts"] = tuple(part for part, _ in placed if part is not None) or None
    machine, own = layout.machine.make(chosen, **others)
    return machine, faults + own


def load_faults(
    layout: Layout, table: Table, chosen: Chosen, load: Any, part: Any, machine: Any, material: Any
) -> list[Fault]:
    """What is wrong with a sound load on a sound part of a sound machine."""
    missing = [name for name in getattr(load, "machine_fields", ()) if getattr(machine, name, None) is None]
    if missing:
        return [_missing(layout, table, name, load) for name in missing]
    from ..loads.factors import factors  # late: with the numerical libraries

    try:
        factors(part, load, machine, material)
    except InputFault as error:
        return [_located(layout, table, chosen, fault) for fault in error.faults]
    return []


def _missing(layout: Layout, table: Table, name: str, load: Any) -> Fault:
    """A field of the machine that a load cannot do without; the line is the load's."""
    line = table.doc.line((*table.path, "kind"))
    way_out = f"give {name} under [machine]"
    if name == "bar":
        way_out = "describe the bar under [machine.bar], and how it is held: path has no default"
    elif name == "rotor_parts":
        way_out = "say where the inertia is: [[machine.rotor_part]] with name, inertia_kg_m2, from_mm, to_mm"
    elif layout.machine is None:
        way_out = f"write a table [machine] with {name}"
    return Fault(f"machine.{name}", MISSING, f"is missing; load {load.name!r} ({load.kind}) needs it", way_out, line)


def _located(layout: Layout, table: Table, chosen: Chosen, fault: Fault) -> Fault:
    homes = {
        "machine.bar.": layout.bar,
        "machine.": layout.machine,
        "part.cutout.": layout.cutout,
        "part.": layout.part,
    }
    for prefix, home in homes.items():
        if fault.field.startswith(prefix) and home is not None:
            table, field = home, fault.field.removeprefix(prefix)
            break
    else:
        field = fault.field
    if fault.value is MISSING:
        return table.locate(Fault(field, fault.value, fault.allowed, fault.way_out), chosen)
    found = table.locate(Fault(field, fault.value, fault.allowed, fault.way_out), chosen)
    return Misfit(found.field, found.value, found.allowed, found.way_out, found.line)
