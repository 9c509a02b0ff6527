"""All drawings of a study's model before anything is solved, and those that the report of its results opens with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from ..errors import Fault, InputFault
from ..study import Results, StoredVariant, Study
from .conditions import chosen_variant, worst_conditions
from .draw_drum import drum_drawings
from .draw_end import EndDrawing
from .draw_loads import LoadDrawing
from .draw_plate import PlateDrawing, PlateLoads
from .draw_ring import RingDrawing
from .draw_scene import Drawn, drawn_of_results, drawn_of_study
from .draw_slot import SlotDrawing
from .picture import NoData, Picture, variant_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["drawings", "load_drawing", "load_paths", "model_pictures", "part_drawing", "slot_drawing"]

MOST_SINGLE = 6  # loads without conditions that get a drawing each


def drawings(study: Study, variant: int = 0) -> list[Picture]:
    """The drawings of a variant (by its number from 0), each to be drawn with `.draw(ax)` or written with `.save(paths)`.

    Part, slot, mesh, load paths; the drum's end and the whole drum where the study has them. Raises InputFault for an unknown variant.
    """
    if not 0 <= variant < len(study.variants):
        raise InputFault(Fault("variant", variant, f"must be a whole number from 0 to {len(study.variants) - 1}"))
    drawn = drawn_of_study(study, variant)
    cutouts = tuple(v.part.cutout for v in study.variants if hasattr(v.part, "cutout"))
    return list(_of_model(drawn, cutouts))


def _of_model(drawn: Drawn, cutouts: tuple[Any, ...]) -> Iterator[Picture]:
    part = drawn.part
    if part.kind == "mesh":
        from .draw_mesh_file import MeshFileDrawing  # late: results need no mesher to be drawn

        yield MeshFileDrawing(drawn)
        return
    yield RingDrawing(drawn) if part.kind == "ring" else PlateDrawing(drawn)
    yield SlotDrawing(drawn, cutouts)
    yield from _load_drawings(drawn)
    from .draw_mesh import MeshDrawing

    yield MeshDrawing(drawn)
    if drawn.end is not None:
        yield EndDrawing(drawn.end.end)
    if drawn.drum is not None and part.kind == "ring":
        yield from drum_drawings(drawn.drum.around(part))


def _load_drawings(drawn: Drawn) -> Iterator[Picture]:
    if drawn.part.kind != "ring":
        yield PlateLoads(drawn)
        return
    for case in drawn.cases if drawn.conditions else drawn.cases[:MOST_SINGLE]:
        yield LoadDrawing(drawn, case)


def model_pictures(results: Results) -> Iterator[Picture]:
    """What a report opens with: the part, the slot, and the load paths of the worst condition of the chosen variant."""
    if not results.variants:
        return
    chosen = chosen_variant(results) or results.variants[0]
    drawn = drawn_of_results(results, chosen)
    if drawn is None:
        return
    yield _part(drawn)
    yield SlotDrawing(drawn, _cutouts(results))
    if drawn.part.kind != "ring":
        yield PlateLoads(drawn)
        return
    worst = worst_conditions(chosen, 1) if drawn.conditions else list(drawn.cases[:1])
    for case in worst:
        yield LoadDrawing(drawn, case)


def part_drawing(results: Results, variant: StoredVariant | str | int | None = None) -> Picture:
    """The ring or plate of a stored variant; the chosen one for None. Raises NoData for a mesh from a file."""
    return _part(_stored(results, variant))


def slot_drawing(results: Results, variant: StoredVariant | str | int | None = None) -> Picture:
    """The slot of a stored variant with its dimensions. Raises NoData for a mesh from a file."""
    return SlotDrawing(_stored(results, variant), _cutouts(results))


def load_drawing(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None
) -> Picture:
    """Load paths of a condition or a load of a stored variant; of the worst condition for None. Raises NoData for a mesh from a file."""
    drawn = _stored(results, variant)
    if drawn.part.kind != "ring":
        return PlateLoads(drawn)
    which = _variant(results, variant)
    if case is None:
        worst = worst_conditions(which, 1)
        case = worst[0] if worst else drawn.cases[0]
    return LoadDrawing(drawn, case)


def load_paths(study: Study, case: str, variant: int = 0, ax: Axes | None = None) -> Axes:
    """Draw the load paths of a condition or a load on `ax`, or on a new figure; returns the axes."""
    drawn = drawn_of_study(study, variant)
    picture: Picture = LoadDrawing(drawn, case) if drawn.part.kind == "ring" else PlateLoads(drawn)
    return picture.draw(ax)


def _part(drawn: Drawn) -> Picture:
    return RingDrawing(drawn) if drawn.part.kind == "ring" else PlateDrawing(drawn)


def _variant(results: Results, variant: StoredVariant | str | int | None) -> StoredVariant:
    chosen = chosen_variant(results) if variant is None else None
    return chosen or variant_of(results, variant)


def _stored(results: Results, variant: StoredVariant | str | int | None) -> Drawn:
    drawn = drawn_of_results(results, _variant(results, variant))
    if drawn is None:
        raise NoData("a mesh from a file is not kept with the results")
    return drawn


def _cutouts(results: Results) -> tuple[Any, ...]:
    """Cutouts of the first variants, for thin outlines."""
    found = (drawn_of_results(results, v) for v in results.variants[:200])
    return tuple(dict.fromkeys(d.part.cutout for d in found if d is not None))
