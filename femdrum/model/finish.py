"""What the user says of the cut edge: how it was made, how rough and hard it is, what stress it holds."""

from __future__ import annotations

from dataclasses import dataclass

from ..provenance import Provenance, common_practice, memory, standard
from .check import Checks

__all__ = ["PROCESSES", "EdgeClass", "Finish"]


@dataclass(frozen=True)
class EdgeClass:
    """Class of a straight plate edge: stress range at 2e6 cycles (MPa), what it asks for, and where it comes from."""

    range_MPa: float
    condition: str
    provenance: Provenance


_EN = "EN 1993-1-9:2005, Table 8.1, plain plates and flats"
_SEEN = (
    "number and condition seen in a sibling standard's table in the tests of an open library; "
    "the European wording is from memory"
)
_ROLLED = EdgeClass(160.0, "edges as rolled", standard(_EN, _SEEN))
_DRESSED = EdgeClass(140.0, "cut, then the hardened material removed", standard(_EN, _SEEN))
_GAS_CUT = EdgeClass(125.0, "gas cut, regular drag lines or edge discontinuities removed", standard(_EN, _SEEN))
_MACHINED = EdgeClass(
    140.0, "machined, taken as cut and dressed", memory("the table names no machined edge; taken as its dressed one")
)


@dataclass(frozen=True)
class _Process:
    roughness_Rz_um: float
    range_um: str
    thermal: bool
    edge: EdgeClass | None


_PROCESSES: dict[str, _Process] = {
    "milled": _Process(12.5, "6 to 25", False, _MACHINED),
    "ground": _Process(6.3, "1.6 to 10", False, _MACHINED),
    "drilled": _Process(25.0, "16 to 40", False, _MACHINED),
    "flame cut": _Process(200.0, "50 to 250", True, _GAS_CUT),
    "plasma cut": _Process(100.0, "30 to 150", True, None),
    "laser cut": _Process(60.0, "20 to 100", True, None),
    "water jet cut": _Process(60.0, "15 to 100", False, None),
    "as rolled": _Process(200.0, "up to 200", False, _ROLLED),
}
PROCESSES = tuple(_PROCESSES)
# a cut edge that was ground or milled along the edge afterwards
DRESSED_RZ_UM = 12.5


@dataclass(frozen=True, kw_only=True)
class Finish:
    """The slot's cut edge.

    process: one of PROCESSES, no default. roughness_Rz_um: mean roughness depth across the stress, by process unless
    given (common practice). hardness_HV and skin_depth_mm: of the skin that a hot cut leaves, measured. residual_stress_MPa
    in the skin along the edge, tension positive: it counts as mean stress. dressed: the skin was ground or milled off
    after cutting.
    """

    process: str
    roughness_Rz_um: float | None = None
    hardness_HV: float | None = None
    skin_depth_mm: float | None = None
    residual_stress_MPa: float = 0.0
    dressed: bool = False

    def __post_init__(self) -> None:
        checks = Checks()
        checks.one_of("process", self.process, PROCESSES, "" if self.process else "how the slot's edge was made")
        if self.roughness_Rz_um is not None:
            checks.number(
                "roughness_Rz_um", self.roughness_Rz_um, least=0.1, most=1000.0,
                way_out="mean roughness depth Rz in micrometres, not Ra; or leave it out for the process's usual value",
            )  # fmt: skip
        if self.hardness_HV is not None:
            checks.number(
                "hardness_HV", self.hardness_HV, least=80.0, most=900.0, way_out="Vickers hardness of the skin"
            )
        if self.skin_depth_mm is not None:
            checks.number(
                "skin_depth_mm", self.skin_depth_mm, above=0.0, most=10.0, way_out="depth of the hardened skin"
            )
        checks.number(
            "residual_stress_MPa", self.residual_stress_MPa, least=-1500.0, most=1500.0,
            way_out="tension positive; 0 where the edge holds none",
        )  # fmt: skip
        checks.truth("dressed", self.dressed)
        if self.dressed is True and self.process in ("milled", "ground", "drilled"):
            checks.add(
                "dressed", self.dressed, f"must be false for a {self.process} edge", "dressing follows a hot cut"
            )
        checks.done()

    @property
    def rz_um(self) -> float:
        """The roughness that counts, Rz in micrometres: given, or usual for the process."""
        if self.roughness_Rz_um is not None:
            return self.roughness_Rz_um
        return DRESSED_RZ_UM if self.dressed else _PROCESSES[self.process].roughness_Rz_um

    @property
    def rz_provenance(self) -> Provenance:
        """Where the roughness comes from."""
        if self.roughness_Rz_um is not None:
            return common_practice("declared by the user")
        if self.dressed:
            return common_practice("usual roughness of a dressed edge, 6 to 25 µm")
        return common_practice(f"usual roughness of a {self.process} edge, {_PROCESSES[self.process].range_um} µm")

    @property
    def hot_cut(self) -> bool:
        """A skin of heated and hardened material is still there."""
        return _PROCESSES[self.process].thermal and not self.dressed

    @property
    def edge_class(self) -> EdgeClass | None:
        """Class of a straight plate edge of this kind, for comparison; None where no table names it."""
        return _DRESSED if self.dressed else _PROCESSES[self.process].edge
