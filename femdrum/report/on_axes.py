"""Every kind of figure drawn on given axes, or on new ones; each returns the axes.

variant: a stored variant, its name, key or number from zero; case: a load's or condition's name. None takes the one that speaks for
the study. Raises UnknownName for what is not there, NoData where the study stores nothing for the figure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..study import Results, StoredVariant
from .figure_list import KINDS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "crack", "damage", "drum_map", "edge_stress", "field", "haigh", "kt_difference", "kt_over_axis", "ladder", "life", "perimeter",
    "sensitivity", "shares", "sn", "solid", "units",
]  # fmt: skip


def kt_over_axis(results: Results, case: str | None = None, axis: str | None = None, ax: Axes | None = None) -> Axes:
    """Kt over an axis of the study, with bands, exact plane curve and published fits."""
    return KINDS["kt"](results, case, axis).draw(ax)


def kt_difference(results: Results, case: str | None = None, axis: str | None = None, ax: Axes | None = None) -> Axes:
    """Differences from the exact plane solution in per cent (plates)."""
    return KINDS["difference"](results, case, axis).draw(ax)


def edge_stress(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, component: str = "along",
    ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """Stress along the slot's edge; component: along, principal, across or shear."""
    return KINDS["edge"](results, variant, case, component).draw(ax)


def field(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, quantity: str = "principal",
    ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """The plane field around a cutout; quantity: principal or von_mises."""
    return KINDS["field"](results, variant, case, quantity).draw(ax)


def solid(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, quantity: str = "principal",
    ax: Axes | None = None,
) -> Axes:  # fmt: skip
    """The ring's field in space, from outside and from the bore."""
    return KINDS["solid"](results, variant, case, quantity).draw(ax)


def ladder(
    results: Results, case: str | None = None, variant: StoredVariant | str | int | None = None, ax: Axes | None = None
) -> Axes:
    """The peak on every mesh of the ladder."""
    return KINDS["ladder"](results, case, variant).draw(ax)


def shares(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """What each load contributes to each condition's peak; of the chosen variant for None."""
    return KINDS["shares"](results, variant).draw(ax)


def units(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """Unit loads side by side."""
    return KINDS["units"](results, variant).draw(ax)


def perimeter(
    results: Results, variant: StoredVariant | str | int | None = None, case: str | None = None, ax: Axes | None = None
) -> Axes:
    """Stress along the edge load by load, of one condition; of the worst for None."""
    return KINDS["perimeter"](results, variant, case).draw(ax)


def life(results: Results, axis: str | None = None, ax: Axes | None = None) -> Axes:
    """Life of the worst place over an axis of the study."""
    return KINDS["life"](results, axis).draw(ax)


def drum_map(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """Utilisation of every slot on the unrolled drum."""
    return KINDS["map"](results, variant).draw(ax)


def sn(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """The S-N curve of the worst place with the cycles of the duty."""
    return KINDS["sn"](results, variant).draw(ax)


def haigh(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """Amplitude over mean stress of the cycles at the worst place."""
    return KINDS["haigh"](results, variant).draw(ax)


def damage(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """Damage along the slot's edge."""
    return KINDS["damage"](results, variant).draw(ax)


def crack(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """Growth of a crack over the hours of the machine."""
    return KINDS["crack"](results, variant).draw(ax)


def sensitivity(results: Results, variant: StoredVariant | str | int | None = None, ax: Axes | None = None) -> Axes:
    """What the life scatters with."""
    return KINDS["sensitivity"](results, variant).draw(ax)
