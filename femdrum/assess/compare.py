"""An answer beside what is known without a mesh: exact plane solutions and published fits."""

from __future__ import annotations

from ..errors import FemdrumError
from ..model.condition import Condition
from ..model.load import Axial, Biaxial, Rotation, Shear, Tension
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring
from ..provenance import computed
from .answer import Answer, Comparison

__all__ = ["against_handbook"]

EXACT = computed("exact plane solution by a boundary integral, two discretisations compared")


def against_handbook(answer: Answer) -> tuple[Comparison, ...]:
    """Rows with our Kt, its band, the other value, the difference and the source; refusals with their reason."""
    part = answer.part
    rows: list[Comparison] = []
    if isinstance(answer.load, Condition) or getattr(getattr(part, "cutout", None), "sharp", True):
        return ()
    if isinstance(part, (Plate, PlateRow)):
        rows.append(_exact_row(answer, part))
    elif isinstance(part, Ring):
        rows += _plane_rows(answer, part)
    if isinstance(part, (Plate, PlateRow, Ring)):
        rows += _fit_rows(answer, part)
    return tuple(rows)


def _ours(answer: Answer, net: bool = False) -> tuple[float | None, float | None]:
    kt = answer.kt_net if net else answer.kt_gross
    return kt.value, kt.band


def _exact_row(answer: Answer, part: Plate | PlateRow) -> Comparison:
    from ..handbook.exact import domain_of, exact_kt

    load = answer.load
    x = load.stress_x_MPa if isinstance(load, Biaxial) else 0.0
    y = load.stress_y_MPa if isinstance(load, Biaxial) else 0.0
    if isinstance(load, Tension):
        x, y = (load.stress_MPa, 0.0) if load.direction == "x" else (0.0, load.stress_MPa)
    shear = load.shear_MPa if isinstance(load, Shear) else 0.0
    what = "Kt gross, exact plane solution of this plate"
    try:
        exact = exact_kt(part.cutout, domain_of(part), stress_x=x, stress_y=y, shear=shear)
    except FemdrumError as refusal:
        return Comparison(what, *_ours(answer), None, str(EXACT), str(refusal))
    return Comparison(what, *_ours(answer), exact.kt, str(EXACT), f"estimated relative error {exact.est_rel_err:.0e}")


def _plane_rows(answer: Answer, ring: Ring) -> list[Comparison]:
    """The slot in the unrolled shell as an infinite plate: a screening value, without curvature, rows and ovalling."""
    from ..handbook.domains import InfinitePlate
    from ..handbook.exact import exact_kt

    load = answer.load
    if isinstance(load, Rotation):
        what, pull = "Kt gross, slot in an infinite plate pulled around (hoop)", {"stress_x": 1.0}
        note = (
            "screening value: the plane knows no curvature, no neighbouring slots, no missing mass that ovals the ring"
        )
    elif isinstance(load, Axial):
        what, pull = "Kt gross, slot in an infinite plate pulled along the axis", {"stress_y": 1.0}
        note = "screening value: the plane knows no curvature and no neighbouring slots"
    else:
        return []
    try:
        exact = exact_kt(ring.cutout, InfinitePlate(), **pull)
    except FemdrumError as refusal:
        return [Comparison(what, *_ours(answer), None, str(EXACT), str(refusal))]
    return [Comparison(what, *_ours(answer), exact.kt, str(EXACT), note)]


def _fit_rows(answer: Answer, part: Plate | PlateRow | Ring) -> list[Comparison]:
    from ..handbook.fits import fits_for

    rows: list[Comparison] = []
    load = answer.load
    if isinstance(load, Condition):
        return rows
    for fit in fits_for(part, load):
        notes = "; ".join(text for text in (fit.refusal, fit.remark) if text)
        rows.append(
            Comparison(f"Kt gross, {fit.fit.label}", *_ours(answer), fit.kt_gross, str(fit.fit.provenance), notes)
        )
    return rows
