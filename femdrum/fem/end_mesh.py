"""The meridian section of a drum's end as ruled blocks; every block has names that say where it lies.

          shell ------------------------------------------------------------------  r = outer radius
          shell bore strip \\ weld |           rim                | weld / strip (outside, where there is one)
                    inside disc strip | disc core | outside disc strip
                                      |           |  fillet
          axis or bore ---------------- stub core ---------------- stub strip ----  z towards the bearing

z = 0 is the cut through the shell. Strips follow the free surfaces past toes and fillet; their rays end on the block
lines of the cores. The rays of a weld end on lines that meet in the root, so that an unfused rim is a mesh line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..model.drum_end import DrumEnd
from .divide import graded
from .end_places import EndFineness, EndPlaces, fillet_rays
from .end_weld import WeldLines
from .harmonic_section import Section, SectionBuilder, ruled, spread

__all__ = ["EndFineness", "drum_end_section"]

Array = NDArray[np.float64]


def drum_end_section(end: DrumEnd, order: int, fineness: EndFineness | None = None) -> Section:
    """The section of a drum's end.

    Curves: cut, bar_end, fillet (with a cell on either side), disc face (outer), stub, shell outer, and for each weld
    (`inside`, `outside`): `shell SIDE` and `disc SIDE`, the plain surface from the toe away from the weld, `throat SIDE`
    from the middle of its face to the root, and where the toes are rounded `shell toe SIDE` and `disc toe SIDE`.
    Parts are named after where they lie; what begins with `shell` lies on the shell's side of the throats.
    """
    return _Blocks(end, order, fineness or EndFineness()).section()


@dataclass
class _Blocks(EndPlaces):
    builder: SectionBuilder = field(init=False)

    def __post_init__(self) -> None:
        super().__post_init__()
        self.builder = SectionBuilder(self.order)

    def section(self) -> Section:
        """All blocks and curves."""
        self._fillet()
        inner, outer = self._disc_lines()
        self._disc(inner, outer)
        self._stub()
        self._shell()
        for side, weld in self.weld.items():
            if weld is not None:
                self._weld_blocks(side, weld)
        return self.builder.build()

    def _global(self, side: str, local: Array) -> Array:
        """From a weld's own places (into the shell, into the disc; the root at 0) to (r, z)."""
        sign, face = (1.0, self.z_in) if side == "inside" else (-1.0, self.z_out)
        return np.stack([self.rim + local[:, 0], face + sign * local[:, 1]], -1)

    def _fillet(self) -> None:
        e = self.end
        self.fan = fillet_rays(e.fillet_radius_mm, (self.stub, self.z_out), self.depth, self.f.arc_cells, self.order)
        for name, (contour, ends) in zip(("fillet face", "fillet stub"), self.fan, strict=True):
            self.builder.add(name, ruled(contour, ends, self.fillet_shares))

    def _disc_lines(self) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
        """Inner and outer line of the disc's core, column by column: stub core, fillet, web, weld."""
        fan = self.fan[0][1][::-1]  # from the corner to the fillet's end, ascending r
        start = self.stub + self.end.fillet_radius_mm
        weld_in, weld_out = self.weld["inside"], self.weld["outside"]
        ends = {}
        for side, weld in self.weld.items():
            level = {"inside": self.z_in, "outside": self.z_out - self.depth}[side]
            column = None if weld is None else self._global(side, weld.disc_ends)[::-1]
            ends[side] = (level, column)
        shares = (weld_in or weld_out).disc_shares  # type: ignore[union-attr]
        lines = {}
        for side in ("inside", "outside"):
            level, column = ends[side]
            if column is None:
                column = self._straight((self.web, level), (self.rim, level), shares)
            web = self._straight(
                (start, fan[-1, 1]) if side == "outside" else (start, column[0, 1]), column[0], self.web_shares
            )
            z = fan[0, 1] if side == "outside" else column[0, 1]
            core = np.stack([self.core_radii, np.full(self.core_radii.size, z)], -1)
            under = np.stack([fan[:, 0], np.full(len(fan), z)], -1)
            lines[side] = (core, under, web, column)
        return lines["inside"], lines["outside"]

    @staticmethod
    def _straight(first: tuple[float, float] | Array, last: tuple[float, float] | Array, shares: Array) -> Array:
        a, b = np.asarray(first, float), np.asarray(last, float)
        return np.asarray(a * (1 - shares[:, None]) + b * shares[:, None])

    def _disc(self, inner: tuple[Array, ...], outer: tuple[Array, ...]) -> None:
        add = self.builder.add
        for k, (a, b) in enumerate(zip(inner, outer, strict=True)):
            add("disc core", ruled(a, b, self.core_shares), self._touching(len(a)) if k == 3 else None)
        self.inner, self.outer = inner, outer
        if self.weld["inside"]:
            flat = [np.stack([line[:, 0], np.full(len(line), self.z_in)], -1) for line in inner[:2]]
            for face, line in zip([*flat, self._web_face("inside")], inner[:3], strict=True):
                add("disc inside strip", ruled(face, line, self.inside_shares))
        if not self.weld["outside"]:
            edge = np.stack([outer[3][:, 0], np.full(len(outer[3]), self.z_out)], -1)
            add("disc outside strip", ruled(edge, outer[3], self.fillet_shares), self._open_rim(len(edge)))
        face = self._web_face("outside")
        add("disc outside strip", ruled(face, outer[2], self.fillet_shares, self.outside_shares))
        self.builder.curve("disc face", face)

    def _web_face(self, side: str) -> Array:
        """Nodes on a face of the disc's web, from the fillet's radius to the weld's toe."""
        z, weld = (self.z_in if side == "inside" else self.z_out), self.weld[side]
        last = (self.web, z) if weld is None else self._global(side, weld.disc_toe)[0]
        return self._straight((self.stub + self.end.fillet_radius_mm, z), last, self.web_shares)

    def _touching(self, m: int) -> NDArray[np.bool_] | None:
        """Which nodes of the disc's core only touch the shell: the rim, but for the roots of welds."""
        if not self.gap:
            return None
        mask = np.zeros((m, self.core_shares.size), dtype=bool)
        mask[-1] = True
        mask[-1, 0], mask[-1, -1] = self.weld["inside"] is None, self.weld["outside"] is None
        return mask

    def _open_rim(self, m: int) -> NDArray[np.bool_] | None:
        if not self.gap:
            return None
        mask = np.zeros((m, self.fillet_shares.size), dtype=bool)
        mask[-1] = True
        return mask

    def _stub(self) -> None:
        add, p = self.builder.add, self.order
        e = self.end
        begin = self.z_out + e.fillet_radius_mm
        cell = 0.25 * math.pi * e.fillet_radius_mm / self.f.arc_cells
        z = spread(begin + graded(self.z_bar - begin, cell, self.f.growth, 1.2 * e.stub_diameter_mm), p)
        z[0], z[-1] = begin, self.z_bar
        contour = np.stack([np.full(z.size, self.stub), z], -1)
        line = np.stack([np.full(z.size, self.stub - self.depth), z], -1)
        add("stub strip", ruled(contour, line, self.fillet_shares))
        fan = self.fan[1][1]
        shares = (self.core_radii - self.bore) / (self.core_radii[-1] - self.bore)
        for ends in (fan, line):
            axis = np.stack([np.full(len(ends), self.bore), ends[:, 1]], -1)
            add("stub core", ruled(axis, ends, shares))
        face = self._web_face("outside")[: p + 1][::-1]
        arc = np.concatenate([self.fan[0][0], self.fan[1][0][1:]])
        self.builder.curve("fillet", np.concatenate([face, arc[1:], contour[1 : p + 1]]))
        self.builder.curve("stub", contour)
        radii = np.concatenate([self.core_radii[:-1], (self.stub - self.depth * self.fillet_shares)[::-1]])
        self.builder.curve("bar_end", np.stack([radii, np.full(radii.size, self.z_bar)], -1))

    def _shell(self) -> None:
        e = self.end
        parts = [self._bore("inside"), self._rim()]
        if self.weld["outside"] or e.recess_mm:
            parts.append(self._bore("outside"))
        line = np.concatenate([parts[0], *(part[1:] for part in parts[1:])])
        outer = np.stack([np.full(len(line), e.shell_outer_radius_mm), line[:, 1]], -1)
        weld = self.weld["inside"]
        depth = weld.shell_depth if weld else 0.0
        rest = e.shell_wall_mm - depth
        ends = graded(rest, min(0.8 * depth or 0.15 * rest, 0.5 * rest), self.f.growth)
        shares = spread(ends / rest, self.order)
        self.builder.add("shell", ruled(line, outer, shares))
        self.builder.curve("shell outer", outer)
        cut = np.stack([self.rim + depth + rest * shares, np.zeros(shares.size)], -1)
        if weld:
            strip = self.rim + depth * self.inside_shares
            cut = np.concatenate([np.stack([strip, np.zeros(strip.size)], -1)[:-1], cut])
        self.builder.curve("cut", cut)

    def _rim(self) -> Array:
        """Along the disc's rim, from its inner to its outer face."""
        a, b = self.inner[3][-1], self.outer[3][-1]
        core = self._straight(a, b, self.core_shares)
        if self.weld["outside"]:
            return core
        strip = self._straight((self.rim, self.z_out), b, self.fillet_shares)[::-1]
        return np.concatenate([core, strip[1:]])

    def _bore(self, side: str) -> Array:
        """The line between strip and shell beside the disc, towards growing z."""
        weld = self.weld[side]
        if weld is not None:
            line = np.concatenate([weld.bore_ends, weld.shell_ends[1:]])
            placed = self._global(side, line)
            return placed if side == "inside" else placed[::-1]
        length = self.z_in if side == "inside" else self.end.recess_mm
        first = min((self.f.root_first if self.gap else 0.1) * self.end.shell_wall_mm, length)
        growth = self.f.root_growth if self.gap else self.f.growth
        away = spread(graded(length, first, growth, 0.6 * self.end.edge_length_mm), self.order)
        z = (self.z_in - away)[::-1] if side == "inside" else self.z_out + away
        if side == "inside":
            z[0] = 0.0
        return np.stack([np.full(z.size, self.rim), z], -1)

    def _weld_blocks(self, side: str, weld: WeldLines) -> None:
        shares = self.inside_shares if side == "inside" else self.outside_shares

        def at(local: Array) -> Array:
            return self._global(side, local)

        add, curve, p = self.builder.add, self.builder.curve, self.order
        add(f"shell {side} strip", ruled(at(weld.bore), at(weld.bore_ends), shares))
        add(f"shell weld {side}", ruled(at(weld.shell_face), at(weld.shell_ends), shares))
        add(f"disc weld {side}", ruled(at(weld.disc_face), at(weld.disc_ends), shares))
        face = self._web_face(side)[::-1]
        curve(f"shell {side}", at(weld.bore)[::-1])
        curve(f"disc {side}", face)
        curve(f"throat {side}", self._straight(at(weld.shell_face)[-1], at(weld.shell_ends)[-1], shares))
        if self.end.toe_radius_mm:
            reach = p * (self.f.toe_cells + 1) + 1
            curve(f"shell toe {side}", np.concatenate([at(weld.bore)[-p - 1 :], at(weld.shell_face)[1:reach]]))
            curve(f"disc toe {side}", np.concatenate([at(weld.disc_face)[-reach:], face[1 : p + 1]]))
