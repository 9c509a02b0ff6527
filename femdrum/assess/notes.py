"""What was modelled and what was not, in sentences that stand in the report."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..model.condition import Condition
from ..model.flank import flank_length_mm
from ..model.load import Load, Rotation
from ..model.mesh_part import MeshPart
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring

__all__ = ["model_notes", "sharp_message", "unbalanced"]


def model_notes(part: Any, load: Load | Condition, cases: Sequence[str] = ()) -> tuple[str, ...]:
    """Sentences about the model of this part under this load; cases: names of the unit cases solved with it."""
    notes: list[str] = []
    if isinstance(part, Plate):
        notes.append("Plane stress; a quarter of the plate, mirror planes through the cutout's middle.")
        notes.append("Uniform stress is applied at the plate's ends: a short plate differs from a long strip.")
    elif isinstance(part, PlateRow):
        notes.append("Plane stress; one cell of an endless row, its cut edges stay straight.")
    elif isinstance(part, Ring):
        notes += _ring_notes(part, load, cases)
    elif isinstance(part, MeshPart):
        notes += _mesh_notes(part)
    notes.append("Linear elastic, small strains, no residual stress.")
    return tuple(notes)


def _mesh_notes(part: MeshPart) -> list[str]:
    from pathlib import Path

    where = f"on the faces {', '.join(part.watch)}" if part.watch else "on the whole surface, supports included"
    held = "; ".join(f"{s.face}: {', '.join(s.fixed)}" for s in part.supports)
    return [
        f"Plane stress on the mesh of {Path(part.file).name}, {part.thickness_mm:g} mm thick."
        if part.thickness_mm
        else f"Three-dimensional solid on the mesh of {Path(part.file).name}.",
        f"Held at zero: {held}.",
        f"The peak is looked for {where}; x, y and depth of its place are x, y and z of the mesh.",
        "Shear that a load or a support puts on a face is not counted in the principal stress there.",
        "Finer meshes divide the file's cells and keep its curved edges: the band does not cover how well the file "
        "follows the real shape, nor peaks where a support or a load ends or at a sharp re-entrant edge.",
    ]


def _ring_notes(ring: Ring, load: Load | Condition, cases: Sequence[str]) -> list[str]:
    notes = [
        "Three-dimensional solid; the slot's flat flanks are cut straight through the curved shell.",
        "The ring stands for a long drum of equal rows; end discs and stub shafts are not in the model.",
        _pattern(ring, cases),
    ]
    if any(name.startswith("flank:") and not name.startswith("flank:all") for name in cases):
        notes.append(_struck(ring))
    if ring.edge_break_mm:
        notes.append(f"Both rims of the slot carry a 45 degree edge break of {ring.edge_break_mm:g} mm.")
    else:
        notes.append("Sharp rim modelled: no edge break at the outer surface and the bore.")
    if ring.held != "nothing":
        what = "neither stretches nor bends nor twists" if ring.held == "all" else "keeps its length"
        notes.append(f"The row is held: it {what}, and carries the resultant that this takes.")
    if isinstance(load, Rotation):
        axial = "Net axial force is zero and hoop" if ring.held == "nothing" else "Hoop"
        notes.append(f"{axial} growth is free.")
        if load.hung_mass_kg:
            flat = flank_length_mm(ring, "leading") > 0
            where = "on its flat leading and trailing flanks" if flat else "along its whole edge"
            notes.append(
                f"{load.hung_mass_kg:g} kg at radius {load.hung_radius_mm:g} mm hangs in each slot, {where}, zero at both "
                "rims and at the flanks' ends."
            )
        else:
            notes.append("Empty slots: nothing hangs on the slots' edges.")
    return notes


def _pattern(ring: Ring, cases: Sequence[str]) -> str:
    from ..fem.unit_cases import meets_alike

    alike = ring.held == "nothing" and all(meets_alike(ring, name) for name in cases)
    if ring.rows == "helical":
        return (
            f"Rows helical, each turned by {ring.row_angle_deg:g} degrees: one whole row is solved, its far faces joined by "
            "the screw that carries one row to the next."
        )
    if ring.rows == "aligned":
        if alike:
            return "Rows aligned: mirror planes at mid-row and at mid-ligament, around and along the drum."
        return (
            "Rows aligned: a whole row, each load split into parts that are symmetric or antisymmetric about the mirror "
            "planes through the axis and at mid-row."
        )
    if alike:
        return (
            "Rows alternate, each turned by half the spacing: mirror planes through slot middles, and the half-turn "
            "about the point midway between neighbouring slots."
        )
    return (
        "Rows alternate, each turned by half the spacing: two neighbouring rows, each load split into parts that are "
        "symmetric or antisymmetric about the mirror planes through the axis and at mid-row."
    )


def _struck(ring: Ring) -> str:
    if ring.block_rows > 1:
        return f"A load on single slots acts on one row of {ring.block_rows}, and that block repeats along the drum."
    rows = "every second row" if ring.rows == "alternate" else "every row"
    return (
        f"A load on single slots acts on {rows} of the endless drum at once; for a single blow give the ring block_rows "
        "= 5 or more, of which one row is struck."
    )


def unbalanced(level: Any, factors: NDArray[np.float64]) -> str:
    """What of a state is balanced by rigid accelerations of the drum, in words; empty where nothing is."""
    whole = getattr(level, "whole", None)
    if whole is None:
        return ""
    net = factors @ np.array([r.net for r in whole.relief])
    acceleration = factors @ np.array([r.acceleration for r in whole.relief])
    size = np.abs(factors) @ np.abs([r.net for r in whole.relief])
    if not (np.abs(net) > 1e-6 * np.maximum(size, 1e-12)).any():
        return ""
    force, torque = float(np.hypot(*net[:2])), float(net[3])
    words = []
    if force > 1e-6 * max(size[0], size[1], 1e-12):
        words.append(
            f"a net force of {_three(1e-3 * force)} kN a row across the axis ({_three(float(np.hypot(*acceleration[:2])) / 1e3)} m/s²)"
        )
    if abs(net[2]) > 1e-6 * max(size[2], 1e-12):
        words.append(f"{_three(1e-3 * float(net[2]))} kN a row along it ({_three(float(acceleration[2]) / 1e3)} m/s²)")
    if abs(torque) > 1e-6 * max(size[3], 1e-12):
        words.append(
            f"a torque of {_three(1e-6 * torque)} kN·m a row about it ({_three(float(acceleration[3]))} rad/s²)"
        )
    along = abs(net[2]) > 1e-6 * max(size[2], 1e-12)
    couple = (
        " The couple of what acts along the axis is held by a transverse force, couple over pitch." if along else ""
    )
    balance = "taken up by the inertia of the modelled shell alone (inertia relief)"
    return f"Not in balance by itself: {', '.join(words)}, {balance}.{couple}"


def _three(value: float) -> str:
    """Three significant digits, without an exponent."""
    return f"{float(f'{value:.3g}'):,.10g}".replace("-", "\u2212")


def sharp_message(fit: tuple[tuple[str, float], ...]) -> str:
    """Why there is no number, and the ways out."""
    shown = "; ".join(f"{what} {value:.4f}" for what, value in fit)
    return (
        "sharp corner: the peak is unbounded, a finer mesh only raises it"
        + (f" (fit: {shown}; theory 0.5445)" if shown else "")
        + ". Give a real corner radius as measured, or use a notch stress intensity, or the stress at a stated distance."
    )
