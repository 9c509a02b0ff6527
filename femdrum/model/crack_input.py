"""What the user says about a crack: where it starts, what is found, what the steel bears, how it grows."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import MISSING
from ..provenance import Provenance, common_practice
from .check import Checks

__all__ = ["CRACK_SHAPES", "GROWTH_LAWS", "STARTING_DEPTHS_MM", "CrackInput"]

CRACK_SHAPES = ("edge through", "corner", "surface")
GROWTH_LAWS = ("simplified", "two-stage mean", "two-stage upper")

# upper ends of the ranges that the trade takes: milled 0.1-0.3, flame cut 0.3-0.5, weld toe 0.15-0.5 mm;
# what has no range of its own is counted as the nearest of these
_MILLED, _CUT = 0.3, 0.5
STARTING_DEPTHS_MM = {
    "milled": _MILLED, "ground": _MILLED, "drilled": _MILLED, "water jet cut": _CUT, "laser cut": _CUT,
    "plasma cut": _CUT, "flame cut": _CUT, "as rolled": _CUT, "weld toe": _CUT,
}  # fmt: skip
PROCESS = "upper end of the usual range, {}; no flaw of this part was measured"

TOUGHNESS = (
    "take it from Charpy tests of this plate at the lowest start-up temperature, or from a fracture test; "
    "a crack is not grown without it"
)
TEMPERATURE = "the lowest temperature at which the machine is started, winter nights included; toughness falls with it"


@dataclass(frozen=True, kw_only=True)
class CrackInput:
    """The crack that is looked at.

    toughness_MPa_sqrt_m, lowest_temperature_C: what the steel bears, and where that was found; both are required.
    initial_depth_mm: flaw at the start; where it is not given, the usual one of `process` (how the edge was made, or
    "weld toe"). detectable_depth_mm: what the inspection surely finds. final_depth_mm: a size agreed as the end.
    growth: the growth law, "simplified", "two-stage mean" or "two-stage upper". threshold_MPa_sqrt_m: range of K below
    which nothing grows; 63 N/mm^1.5 unless given. shape: "edge through" (a straight front through the whole wall),
    "corner" (a quarter ellipse at the slot's rim) or "surface" (half an ellipse on the flank). aspect: the smaller over
    the larger half axis, 0.2 to 1: for "surface" depth over half length, for "corner" size down the flank over size
    along the surface. as_welded: tension of welding is locked in, so the full range counts, no closure.
    residual_MPa: tension that is there without load; it counts towards fracture. Raises InputFault.
    """

    toughness_MPa_sqrt_m: float | None = None
    lowest_temperature_C: float | None = None
    initial_depth_mm: float | None = None
    process: str = "flame cut"
    detectable_depth_mm: float = 2.0
    final_depth_mm: float | None = None
    growth: str = "simplified"
    threshold_MPa_sqrt_m: float | None = None
    shape: str = "edge through"
    aspect: float = 1.0
    as_welded: bool = False
    residual_MPa: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        toughness: object = MISSING if self.toughness_MPa_sqrt_m is None else self.toughness_MPa_sqrt_m
        temperature: object = MISSING if self.lowest_temperature_C is None else self.lowest_temperature_C
        # structural steels lie between about 20 and 300; what is far above was given in N/mm^1.5
        checks.number("toughness_MPa_sqrt_m", toughness, above=0.0, most=500.0, way_out=TOUGHNESS)
        checks.number("lowest_temperature_C", temperature, least=-80.0, most=100.0, way_out=TEMPERATURE)
        good = checks.one_of("process", self.process, STARTING_DEPTHS_MM)
        start_given = checks.optional("initial_depth_mm", self.initial_depth_mm)
        found = checks.positive("detectable_depth_mm", self.detectable_depth_mm, "magnetic particles find about 2 mm")
        ended = checks.optional("final_depth_mm", self.final_depth_mm)
        checks.one_of("growth", self.growth, GROWTH_LAWS)
        if self.threshold_MPa_sqrt_m is not None:
            checks.number(
                "threshold_MPa_sqrt_m", self.threshold_MPa_sqrt_m, least=0.0, most=20.0,
                way_out="in MPa sqrt(m): 63 N/mm^1.5 are 1.99; 0 means that every range grows a crack",
            )  # fmt: skip
        checks.one_of("shape", self.shape, CRACK_SHAPES)
        checks.number(
            "aspect", self.aspect, least=0.2, most=1.0, way_out="smaller over larger half axis, 1 is a circle"
        )
        checks.truth("as_welded", self.as_welded)
        checks.number(
            "residual_MPa", self.residual_MPa, least=0.0, way_out="tension counts; leave compression out, it fades"
        )
        final = self.final_depth_mm
        if ended and final is not None:
            if good and start_given and self.start_mm >= final:
                checks.add("final_depth_mm", final, f"must be above the depth at the start, {self.start_mm:g} mm")
            if found and self.detectable_depth_mm >= final:
                checks.add(
                    "detectable_depth_mm", self.detectable_depth_mm, f"must be below final_depth_mm = {final:g}",
                    "a crack that is found only at its end is not inspected",
                )  # fmt: skip
        checks.done()

    @property
    def start_mm(self) -> float:
        """Depth of the flaw at the start, given or usual, mm."""
        return STARTING_DEPTHS_MM[self.process] if self.initial_depth_mm is None else self.initial_depth_mm

    @property
    def start_provenance(self) -> Provenance:
        """Where that depth is from."""
        if self.initial_depth_mm is None:
            return common_practice(PROCESS.format(self.process))
        return common_practice("declared by the user")
