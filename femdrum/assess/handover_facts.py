"""What a hand-over is made from: one variant of a study with what was reckoned of it, nothing more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ..model.finish import Finish
from ..model.life_input import LifeInput
from ..model.ring import Ring
from .handover_slots import Numbering
from .life_result import EndLife, ScatterLife, VariantLife

__all__ = ["Facts", "Peak", "utilisation"]


@dataclass(frozen=True)
class Peak:
    """Largest stress of a load or condition, MPa, tension positive, its band, and where: a name as of the places of a life."""

    case: str
    peak_MPa: float
    band_MPa: float | None
    place: str


@dataclass(frozen=True)
class Facts:
    """One variant. material: its values as given. wanted, life: None where no life was asked or none could be had.

    end: the drum's end, with its fillet and finish as given; drum_fillet_mm: of [drum.drive_end], which only the rotor looks at.
    end_reason: why an end that was asked has no life. often: times in 1,000 h of each kind of load that comes as an event.
    peaks: largest first; conditions where the study has any, else loads.
    """

    ring: Ring
    material: Mapping[str, Any]
    numbering: Numbering
    wanted: LifeInput | None = None
    life: VariantLife | None = None
    scatter: ScatterLife | None = None
    end: EndLife | None = None
    end_fillet_mm: float | None = None
    end_finish: Finish | None = None
    end_reason: str = ""
    drum_fillet_mm: float | None = None
    often: Mapping[str, float] = field(default_factory=dict)
    peaks: tuple[Peak, ...] = ()

    @property
    def good(self) -> bool:
        """The life that is wanted was reckoned and holds; the drum's end too where it was asked."""
        holds = self.life is not None and self.life.verdict == "holds"
        return holds and not self.end_reason and (self.end is None or self.end.verdict == "holds")


def utilisation(safety: float | None) -> float | None:
    """Stress over the stress at which the place lives just as long as wanted; None where nothing cycles."""
    return None if safety is None or safety <= 0.0 else 1.0 / safety
