"""The end of a drum: shell, end disc, stub shaft and the weld between disc and shell, as a body of revolution."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from .check import Checks

__all__ = ["EFFECTIVE_NOTCH_RADIUS_MM", "PENETRATIONS", "DrumEnd", "DrumEndLoads"]

PENETRATIONS = ("full", "fillet")
# reference radius of the effective notch method; the method's source stands where its classes are
EFFECTIVE_NOTCH_RADIUS_MM = 1.0
# length of shell in sqrt(R t): there the edge disturbance of a thin shell has fallen to exp(-1.285 x 5) = 0.2 %
SHELL_LENGTHS = 5.0


@dataclass(frozen=True, kw_only=True)
class DrumEnd:
    """Shell end, end disc, stub shaft and weld. Everything is round about one axis; all sizes in mm.

    The disc stands inside the shell and is one piece with the stub. recess_mm: how far the disc's outer face lies inside
    the shell's end; 0 is flush. stub_length_mm: from the disc's outer face to the middle of the bearing, where the stub
    ends in the model. fillet_radius_mm: of the stub at the disc. inside_leg_mm, outside_leg_mm: legs of the fillet welds
    on the disc's inner and outer face (equal legs; 0: none there). penetration: "full" (disc and shell are one along the
    disc's rim) or "fillet" (the rim touches the shell, without being fused; only the fillet welds carry). toe_radius_mm:
    0 for sharp toes (structural hot spot stress), 1 for the effective notch method. stub_bore_mm: diameter of a bore
    through stub and disc. shell_length_mm: of shell modelled from the disc's inner face inward; None: 5 sqrt(R t), with
    mid-wall radius R and wall t.
    """

    kind: ClassVar[str] = "drum_end"
    shell_outer_diameter_mm: float
    shell_wall_mm: float
    disc_thickness_mm: float
    stub_diameter_mm: float
    stub_length_mm: float
    fillet_radius_mm: float
    recess_mm: float = 0.0
    inside_leg_mm: float = 0.0
    outside_leg_mm: float = 0.0
    penetration: str = "full"
    toe_radius_mm: float = 0.0
    stub_bore_mm: float = 0.0
    shell_length_mm: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        good = [
            checks.positive(name, getattr(self, name))
            for name in (
                "shell_outer_diameter_mm", "shell_wall_mm", "disc_thickness_mm", "stub_diameter_mm", "stub_length_mm",
            )
        ]  # fmt: skip
        good.append(
            checks.positive(
                "fillet_radius_mm", self.fillet_radius_mm, "a sharp corner has no peak: give the radius as measured"
            )
        )
        good += [
            checks.number(name, getattr(self, name), least=0.0)
            for name in ("recess_mm", "inside_leg_mm", "outside_leg_mm", "toe_radius_mm", "stub_bore_mm")
        ]
        checks.one_of("penetration", self.penetration, PENETRATIONS)
        good.append(checks.optional("shell_length_mm", self.shell_length_mm, "leave it out for 5 sqrt(R t)"))
        if all(good):
            self._check_shell(checks)
            self._check_weld(checks)
            self._check_stub(checks)
        checks.done()

    def _check_shell(self, checks: Checks) -> None:
        outer = 0.5 * self.shell_outer_diameter_mm
        checks.number(
            "shell_wall_mm", self.shell_wall_mm, below=0.5 * outer,
            way_out="a shell has a wall below half of its outer radius",
        )  # fmt: skip
        least = 2.0 * math.sqrt(outer * self.shell_wall_mm)
        if self.shell_length_mm is not None and self.shell_length_mm < least:
            checks.add(
                "shell_length_mm", self.shell_length_mm, f"must be at least {least:.4g} mm, 2 sqrt(R t)",
                "the disc would still be felt at the cut: leave it out for 5 sqrt(R t)",
            )  # fmt: skip

    def _check_weld(self, checks: Checks) -> None:
        legs = {"inside_leg_mm": self.inside_leg_mm, "outside_leg_mm": self.outside_leg_mm}
        if not any(legs.values()):
            checks.add(
                "inside_leg_mm", self.inside_leg_mm, "must be above 0, or outside_leg_mm must be",
                "give the leg of the fillet weld between disc and shell",
            )  # fmt: skip
        most = min(self.disc_thickness_mm, 1.5 * self.shell_wall_mm)
        for name, leg in legs.items():
            if leg:
                checks.number(
                    name, leg, least=max(2.0, 3 * self.toe_radius_mm), most=most,
                    way_out="from 2 mm (and three toe radii) to the disc's thickness and 1.5 walls",
                )  # fmt: skip
        if self.outside_leg_mm and self.recess_mm < 1.5 * self.outside_leg_mm:
            checks.add(
                "recess_mm", self.recess_mm, f"must be at least 1.5 legs, {1.5 * self.outside_leg_mm:g} mm",
                "an outside fillet weld needs shell beside it: set the disc in, or leave outside_leg_mm out",
            )  # fmt: skip
        elif self.recess_mm and not self.outside_leg_mm and self.recess_mm < 0.05 * self.shell_wall_mm:
            checks.add("recess_mm", self.recess_mm, "must be 0 or at least 0.05 walls", "0 is a flush disc")

    def _check_stub(self, checks: Checks) -> None:
        radius, fillet = 0.5 * self.stub_diameter_mm, self.fillet_radius_mm
        checks.number(
            "stub_bore_mm", self.stub_bore_mm, least=0.0, most=0.8 * self.stub_diameter_mm,
            way_out="at most 0.8 of the stub's diameter",
        )  # fmt: skip
        checks.number(
            "fillet_radius_mm", fillet, least=0.01 * self.stub_diameter_mm, most=0.5 * self.stub_diameter_mm,
            way_out="from 0.01 to 0.5 of the stub's diameter",
        )  # fmt: skip
        checks.number(
            "stub_length_mm", self.stub_length_mm, least=fillet + 0.5 * self.stub_diameter_mm,
            way_out="the bearing must lie half a stub diameter beyond the fillet, so that a beam's stress is right there",
        )  # fmt: skip
        bore = 0.5 * self.shell_outer_diameter_mm - self.shell_wall_mm
        widest = max(self.inside_leg_mm, self.outside_leg_mm) + self.toe_radius_mm
        room = bore - 1.5 * widest - radius - 1.25 * fillet
        if room <= 0:
            checks.add(
                "stub_diameter_mm", self.stub_diameter_mm,
                f"must be below {2 * (bore - 1.5 * widest - 1.25 * fillet):.4g} mm: fillet and weld meet on the disc",
                "make the stub thinner, the fillet or the weld smaller",
            )  # fmt: skip

    @property
    def shell_outer_radius_mm(self) -> float:
        """Outer radius of the shell."""
        return 0.5 * self.shell_outer_diameter_mm

    @property
    def shell_inner_radius_mm(self) -> float:
        """Radius of the shell's bore, which is the disc's rim."""
        return self.shell_outer_radius_mm - self.shell_wall_mm

    @property
    def stub_radius_mm(self) -> float:
        """Radius of the stub."""
        return 0.5 * self.stub_diameter_mm

    @property
    def edge_length_mm(self) -> float:
        """sqrt(R t) of the shell, mid-wall radius and wall."""
        return math.sqrt((self.shell_outer_radius_mm - 0.5 * self.shell_wall_mm) * self.shell_wall_mm)

    @property
    def modelled_shell_mm(self) -> float:
        """Length of shell modelled, from the cut to the disc's inner face."""
        return SHELL_LENGTHS * self.edge_length_mm if self.shell_length_mm is None else self.shell_length_mm


@dataclass(frozen=True, kw_only=True)
class DrumEndLoads:
    """Loads on a drum's end, all at once; what is left out is zero.

    speed_rpm: steady speed. thrust_N: axial force on the stub, pulling outward. torque_Nmm: through the stub, pointing
    outward. bending_Nmm: constant moment on the stub. shear_N: force across the stub at the bearing; its moment grows
    towards the disc. A positive moment and a positive force across both stretch the stub on the side of angle 0. They
    stand in space while the drum turns: in drum coordinates the angle runs around.
    """

    speed_rpm: float = 0.0
    thrust_N: float = 0.0
    torque_Nmm: float = 0.0
    bending_Nmm: float = 0.0
    shear_N: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        good = checks.number("speed_rpm", self.speed_rpm, least=0.0, most=20_000.0)
        for name in ("thrust_N", "torque_Nmm", "bending_Nmm", "shear_N"):
            good &= checks.number(name, getattr(self, name))
        values = (self.speed_rpm, self.thrust_N, self.torque_Nmm, self.bending_Nmm, self.shear_N)
        if good and not any(values):
            checks.add("speed_rpm", self.speed_rpm, "no load at all", "give at least one load")
        checks.done()
