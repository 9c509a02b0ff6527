"""A rotor as a line of shafts: pieces, rigid bodies on them, springs to the ground, joints that yield. Checked, no numerics.

Several chains may lie beside each other on the same axis (a stub within a drum's end, say); joints tie them together.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from .check import Checks

__all__ = ["ShaftBody", "ShaftJoint", "ShaftLine", "ShaftPiece", "ShaftSpring"]

SAME_MM = 1e-6


@dataclass(frozen=True, kw_only=True)
class ShaftPiece:
    """A round piece from from_mm to to_mm.

    stiffness_share: of its bending and shear stiffness that counts (slots); weighed: whether its mass counts here, or is
    given as bodies. chain: which line of pieces it belongs to.
    """

    from_mm: float
    to_mm: float
    outer_diameter_mm: float
    inner_diameter_mm: float = 0.0
    stiffness_share: float = 1.0
    weighed: bool = True
    chain: int = 0

    def __post_init__(self) -> None:
        checks = Checks()
        if checks.number("from_mm", self.from_mm):
            checks.number("to_mm", self.to_mm, above=self.from_mm)
        if checks.positive("outer_diameter_mm", self.outer_diameter_mm):
            checks.number("inner_diameter_mm", self.inner_diameter_mm, least=0.0, below=self.outer_diameter_mm)
        checks.number("stiffness_share", self.stiffness_share, above=0.0, most=1.0)
        checks.whole("chain", self.chain, 0, 99)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class ShaftBody:
    """A rigid body on the line: mass_kg (negative: taken away), moments of inertia about the axis and across it, through z_mm."""

    z_mm: float
    mass_kg: float
    polar_kg_m2: float = 0.0
    across_kg_m2: float = 0.0
    chain: int = 0

    def __post_init__(self) -> None:
        checks = Checks()
        for name in ("z_mm", "mass_kg", "polar_kg_m2", "across_kg_m2"):
            checks.number(name, getattr(self, name))
        checks.whole("chain", self.chain, 0, 99)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class ShaftSpring:
    """A spring from the line to the ground: stiffness_N_mm in one direction across, stiffness_across_N_mm in the other."""

    z_mm: float
    stiffness_N_mm: float
    stiffness_across_N_mm: float | None = None
    chain: int = 0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("z_mm", self.z_mm)
        checks.positive("stiffness_N_mm", self.stiffness_N_mm, "of bearing and housing together")
        checks.optional("stiffness_across_N_mm", self.stiffness_across_N_mm)
        checks.whole("chain", self.chain, 0, 99)
        checks.done()

    @property
    def other_N_mm(self) -> float:
        """Stiffness in the other direction."""
        return self.stiffness_N_mm if self.stiffness_across_N_mm is None else self.stiffness_across_N_mm


@dataclass(frozen=True, kw_only=True)
class ShaftJoint:
    """Two chains held together at one place: they move alike across the axis, and tilt against a spring (N mm/rad)."""

    z_mm: float
    chain: int
    other_chain: int
    tilt_Nmm_rad: float

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("z_mm", self.z_mm)
        checks.whole("chain", self.chain, 0, 99)
        if checks.whole("other_chain", self.other_chain, 0, 99) and self.other_chain == self.chain:
            checks.add("other_chain", self.other_chain, "must differ from chain")
        checks.positive("tilt_Nmm_rad", self.tilt_Nmm_rad)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class ShaftLine:
    """Pieces, bodies, springs and joints of one rotor, of one material.

    Pieces of a chain must follow each other without gap or overlap; bodies, springs and joints must stand on them.
    """

    pieces: tuple[ShaftPiece, ...]
    springs: tuple[ShaftSpring, ...]
    bodies: tuple[ShaftBody, ...] = ()
    joints: tuple[ShaftJoint, ...] = ()
    youngs_modulus_MPa: float = 206_000.0
    poissons_ratio: float = 0.3
    density_kg_m3: float = 7850.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.number("youngs_modulus_MPa", self.youngs_modulus_MPa, least=1e3, most=1e7)
        checks.number("poissons_ratio", self.poissons_ratio, least=0.0, below=0.5)
        checks.number("density_kg_m3", self.density_kg_m3, least=0.0, most=30_000.0)
        for name in ("pieces", "springs", "bodies", "joints"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        if not self.pieces:
            checks.add("pieces", [], "must hold at least one piece")
        if not self.springs:
            checks.add("springs", [], "must hold at least one spring", "a rotor without bearings is free to move")
        for chain in sorted({p.chain for p in self.pieces}):
            ends = sorted((p.from_mm, p.to_mm) for p in self.pieces if p.chain == chain)
            for (_, end), (start, _) in itertools.pairwise(ends):
                if abs(end - start) > SAME_MM:
                    what = "leave a gap" if start > end else "overlap"
                    checks.add(
                        "pieces", end, f"pieces of chain {chain} {what} there, to {start:g} mm", "one after the other"
                    )
        for name in ("bodies", "springs", "joints"):
            for i, thing in enumerate(getattr(self, name)):
                chains = (thing.chain, thing.other_chain) if name == "joints" else (thing.chain,)
                for chain in chains:
                    if not self._reached(chain, thing.z_mm):
                        checks.add(f"{name}[{i}].z_mm", thing.z_mm, f"must be on a piece of chain {chain}")
        checks.done()

    def _reached(self, chain: int, z_mm: float) -> bool:
        return any(
            p.chain == chain and p.from_mm - SAME_MM <= z_mm <= p.to_mm + SAME_MM for p in self.pieces
        )  # fmt: skip

    @property
    def equal_supports(self) -> bool:
        """Every support is as stiff in one direction as in the other."""
        return all(s.other_N_mm == s.stiffness_N_mm for s in self.springs)
