"""What was modelled and what was not, in sentences that stand in the report."""

from __future__ import annotations

from typing import Any

from ..model.load import Load, Rotation
from ..model.mesh_part import MeshPart
from ..model.plate import Plate, PlateRow
from ..model.ring import Ring

__all__ = ["model_notes", "sharp_message"]


def model_notes(part: Any, load: Load) -> tuple[str, ...]:
    """Sentences about the model of this part under this load."""
    notes: list[str] = []
    if isinstance(part, Plate):
        notes.append("Plane stress; a quarter of the plate, mirror planes through the cutout's middle.")
        notes.append("Uniform stress is applied at the plate's ends: a short plate differs from a long strip.")
    elif isinstance(part, PlateRow):
        notes.append("Plane stress; one cell of an endless row, its cut edges stay straight.")
    elif isinstance(part, Ring):
        notes += _ring_notes(part, load)
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


def _ring_notes(ring: Ring, load: Load) -> list[str]:
    notes = [
        "Three-dimensional solid; the slot's flat flanks are cut straight through the curved shell.",
        "The ring stands for a long drum of equal rows; end discs and stub shafts are not in the model.",
    ]
    if ring.rows == "aligned":
        notes.append("Rows aligned: mirror planes at mid-row and at mid-ligament, around and along the drum.")
    else:
        notes.append(
            "Rows alternate, each turned by half the spacing: mirror planes through slot middles, and the half-turn "
            "about the point midway between neighbouring slots."
        )
    if ring.edge_break_mm:
        notes.append(f"Both rims of the slot carry a 45 degree edge break of {ring.edge_break_mm:g} mm.")
    else:
        notes.append("Sharp rim modelled: no edge break at the outer surface and the bore.")
    if isinstance(load, Rotation):
        notes.append("Net axial force is zero and hoop growth is free.")
        if load.hung_mass_kg:
            notes.append(
                f"{load.hung_mass_kg:g} kg at radius {load.hung_radius_mm:g} mm hangs on each slot's edge, spread along "
                "the whole edge, parabolic through the wall and zero at both rims."
            )
        else:
            notes.append("Empty slots: nothing hangs on the slots' edges.")
    return notes


def sharp_message(fit: tuple[tuple[str, float], ...]) -> str:
    """Why there is no number, and the ways out."""
    shown = "; ".join(f"{what} {value:.4f}" for what, value in fit)
    return (
        "sharp corner: the peak is unbounded, a finer mesh only raises it"
        + (f" (fit: {shown}; theory 0.5445)" if shown else "")
        + ". Give a real corner radius as measured, or use a notch stress intensity, or the stress at a stated distance."
    )
