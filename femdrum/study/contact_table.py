"""[load.contact]: hammer and wedge beside a wedge_clamp, a table inside a [[load]]."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from ..errors import MISSING, Fault
from ..model.clamp_contact import ClampContact
from .positions import Path
from .tables import LOAD, Form, Table

__all__ = ["CONTACT", "contact_tables", "load_of"]

CONTACT = Form("contact", "", {"": ClampContact})
FIELD = "contact"


def contact_tables(loads: Sequence[Table], add: Callable[..., None]) -> dict[Path, Table]:
    """The contact tables by the path of their load; what is no table is told by `add`."""
    takes = [kind for kind, c in LOAD.classes.items() if FIELD in c.__dataclass_fields__]
    out: dict[Path, Table] = {}
    for load in loads:
        value = load.values.get(FIELD, MISSING)
        kind = load.values.get("kind")
        kinds = kind if isinstance(kind, list) else [kind]
        if value is MISSING or not any(k in takes for k in kinds):
            continue
        path: Path = (*load.path, FIELD)
        if isinstance(value, dict):
            out[load.path] = Table(CONTACT, path, f"{load.name}.{FIELD}", value, load.doc)
        else:
            shown = MISSING if isinstance(value, list) else value
            add(
                f"{load.name}.{FIELD}",
                shown,
                "must be one table, [load.contact]",
                "hammer and wedge stand inside it",
                path,
            )
    return out


def load_of(table: Table, contact: Table, chosen: Mapping[Path, tuple[int, Any]]) -> tuple[Any, list[Fault]]:
    """A load with its contact under a choice of values, or None and the faults of both."""
    made, faults = contact.make(chosen)
    load, own = table.make(chosen, **({} if made is None else {FIELD: made}))
    return (None if faults or own else load), [*faults, *own]
