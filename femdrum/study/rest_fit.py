"""What stands twice, in the study and in the files of the rest of the drum, must be the same there and here: one drum has one wall.

A dimension that the study varies must have the other file's value among its own; what does not vary must be that value.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from ..assess.life_plan import LifePlan
from ..errors import MISSING, Fault, InputFault
from ..model.drum import Drum
from .reading import Document
from .rest_tables import TABLE, RestOfDrum
from .study import Variant

__all__ = ["rest_faults"]

DRAWN = 1e-6  # what is drawn twice is drawn alike
NEAR = 0.01  # what one file reckons roughly and the other exactly
MEND = "one drum has one of it: mend one of the two files"

# fields of [machine] that the rotor file says too, and where there
_MACHINE: tuple[tuple[str, str, Callable[[Drum], float | None], float], ...] = (
    ("bearing_span_mm", "the span of its bearings", lambda drum: drum.bearing_span_mm, NEAR),
    ("tip_diameter_mm", "the circle of its tips", lambda drum: drum.tip_diameter_mm, 0.05),
    ("tips_total", "its tips", lambda drum: drum.tips_total or None, DRAWN),
    ("sheave_diameter_mm", "drum.drive.sheave_diameter_mm", lambda drum: getattr(drum.drive, "sheave_diameter_mm", None), DRAWN),
    ("sheave_overhang_mm", "drum.drive.sheave_overhang_mm", lambda drum: getattr(drum.drive, "sheave_overhang_mm", None), DRAWN),
    ("belt_direction_deg", "drum.drive.belt_direction_deg", lambda drum: getattr(drum.drive, "belt_direction_deg", None), DRAWN),
)  # fmt: skip


def rest_faults(rest: RestOfDrum, variants: Sequence[Variant], life: LifePlan | None, doc: Document) -> list[Fault]:
    """All that contradicts between a study's sound variants and the sound files of its [rest_of_drum]; each fault names both places."""
    if not variants:
        return []
    kinds = {v.part.kind for v in variants}
    if kinds != {"ring"}:
        kind = next(iter(kinds - {"ring"}))
        return [Fault(TABLE, MISSING, f"goes with a ring, not with a {kind}", "leave it out", doc.line((TABLE,)))]
    fit = _Fit(rest, variants, doc)
    if rest.rotor is not None:
        fit.shell(rest.rotor.drum)
        fit.machine(rest.rotor.drum)
        fit.steel()
        if life is not None and life.drum is not None:
            fit.around(life.drum.drum.around(variants[0].part), rest.rotor.drum)
    fit.speed()
    fit.retention()
    fit.balance()
    return fit.faults


class _Fit:
    def __init__(self, rest: RestOfDrum, variants: Sequence[Variant], doc: Document) -> None:
        self.rest, self.variants, self.doc = rest, variants, doc
        self.faults: list[Fault] = []

    def file(self, key: str) -> str:
        return repr(self.rest.files[key])

    def tell(self, key: str, value: object, allowed: str, way_out: str = MEND) -> None:
        """A fault at a key of the study."""
        self.faults.append(Fault(key, value, allowed, way_out, self.doc.line(tuple(key.split(".")))))

    def same(self, key: str, ours: Sequence[Any], where: str, theirs: Any, share: float = DRAWN) -> None:
        """One of our values is theirs; values that are not given on one side contradict nothing."""
        known = list(dict.fromkeys(v for v in ours if v is not None))
        if known and theirs is not None and not any(_alike(v, theirs, share) for v in known):
            known = [int(v) if isinstance(v, float) and v.is_integer() else v for v in known]
            shown = known[0] if len(known) == 1 else known
            self.tell(key, shown, f"differs from {where} = {_said(theirs)} in {self.file('rotor')}")

    def shell(self, drum: Drum) -> None:
        """Shell, slots and the pattern of rows."""
        parts = [v.part for v in self.variants]
        for name in ("outer_diameter_mm", "wall_mm", "pitch_mm", "slots_around", "edge_break_mm"):
            self.same(f"part.{name}", [getattr(p, name) for p in parts], f"drum.{name}", getattr(drum, name))
        try:
            ring = drum.ring()
        except InputFault as error:
            why = "; ".join(f.allowed for f in error.faults)
            self.tell(
                "part.rows", parts[0].rows, f"cannot be that of {self.file('rotor')}: {why}", "leave the rotor file out"
            )
            return
        self.same("part.rows", [p.rows for p in parts], "the pattern of rows", ring.rows)
        if ring.rows == "helical":
            self.same("part.row_angle_deg", [p.row_angle_deg for p in parts], "drum.row_angle_deg", ring.row_angle_deg)
        slots, slot = [p.cutout for p in parts], drum.cutout
        self.same("part.cutout.shape", [c.shape for c in slots], "drum.cutout.shape", slot.shape)
        alike = [c for c in slots if c.shape == slot.shape]
        self.same(
            "part.cutout.around_mm", [2 * c.half_x_mm for c in alike], "drum.cutout.around_mm", 2 * slot.half_x_mm
        )
        self.same("part.cutout.axial_mm", [2 * c.half_y_mm for c in alike], "drum.cutout.axial_mm", 2 * slot.half_y_mm)
        radii = [c.least_radius_mm for c in alike]
        self.same("part.cutout.corner_radius_mm", radii, "drum.cutout.corner_radius_mm", slot.least_radius_mm)

    def machine(self, drum: Drum) -> None:
        """Span, sheave, tips of [machine]."""
        for name, where, of, share in _MACHINE:
            ours = [None if v.machine is None else getattr(v.machine, name) for v in self.variants]
            self.same(f"machine.{name}", ours, where, of(drum), share)

    def steel(self) -> None:
        """The shell's steel, where both sides call it by its grade."""
        assert self.rest.rotor is not None
        grades = [v.material.grade or None for v in self.variants]
        if all(grades):
            self.same("material.grade", grades, "material.grade", self.rest.rotor.material.grade or None)

    def around(self, ours: Drum, theirs: Drum) -> None:
        """[drum] of the study against [drum] of the rotor file: whatever both of them give."""
        drawn = ("cutout", "outer_diameter_mm", "wall_mm", "pitch_mm", "slots_around", "row_angle_deg", "edge_break_mm")
        for path, own, other in _differing(ours, theirs):
            if path[0] not in drawn:  # told of [part]
                key = ".".join(path)
                self.tell(f"drum.{key}", own, f"differs from drum.{key} = {_said(other)} in {self.file('rotor')}")

    def speeds(self) -> list[float]:
        """Speeds at which the drum runs, by the study or else by the rotor file."""
        own = [v.machine.speed_rpm for v in self.variants if v.machine is not None and v.machine.speed_rpm is not None]
        if own or self.rest.rotor is None:
            return list(dict.fromkeys(own))
        return [max(s.speed_rpm for s in self.rest.rotor.running)]

    def speed(self) -> None:
        """The study's speed is one of the rotor's states."""
        if self.rest.rotor is None:
            return
        states = [s.speed_rpm for s in self.rest.rotor.running]
        speeds = self.speeds()
        if not any(_alike(own, s, DRAWN) for own in speeds for s in states):
            told = ", ".join(f"{s:g}" for s in dict.fromkeys(states))
            self.tell("machine.speed_rpm", speeds[0] if len(speeds) == 1 else speeds,
                      f"is the speed of no running state in {self.file('rotor')}, which has {told} rpm",
                      "add a [[running]] of this speed there, or mend one of the two")  # fmt: skip

    def retention(self) -> None:
        """Wall, diameter and speed of the hits."""
        rest = self.rest.retention
        if rest is None:
            return
        parts = [v.part for v in self.variants]
        walls, across = [p.wall_mm for p in parts], [p.outer_diameter_mm - p.wall_mm for p in parts]
        for wall in dict.fromkeys(hit.wall_mm for hit in rest.given.hits):
            if not any(_alike(own, wall, DRAWN) for own in walls):
                said = ", ".join(repr(hit.name) for hit in rest.given.hits if hit.wall_mm == wall)
                self.tell(
                    "part.wall_mm",
                    walls[0],
                    f"differs from hit.wall_mm = {wall:g} in {self.file('retention')} ({said})",
                )
        for spacing in dict.fromkeys(hit.spacing_mm for hit in rest.given.hits):
            if spacing is not None and not any(_alike(own, spacing, NEAR) for own in across):
                said = ", ".join(repr(hit.name) for hit in rest.given.hits if hit.spacing_mm == spacing)
                self.tell("part.outer_diameter_mm", parts[0].outer_diameter_mm,
                          f"puts the middles of the walls {across[0]:g} mm apart; hit.spacing_mm = {spacing:g} in "
                          f"{self.file('retention')} ({said})")  # fmt: skip
        fastest = max((c.speed_rpm for c in rest.turning), default=None)
        speed = max(self.speeds(), default=None)
        if fastest is not None and speed is not None and fastest < speed * (1 - DRAWN):
            self.tell(f"{TABLE}.retention", self.rest.files["retention"],
                      f"proves its hits and turnings up to {fastest:g} rpm only; the drum runs at {speed:g} rpm",
                      "prove it at the speed of the drum")  # fmt: skip

    def balance(self) -> None:
        """Speed, span, and the planes of the masses."""
        rest, rotor = self.rest.balance, self.rest.rotor
        if rest is None:
            return
        given, name = rest.given, f"{TABLE}.balance"
        speeds = self.speeds() + ([] if rotor is None else [s.speed_rpm for s in rotor.running])
        if speeds and not any(_alike(given.speed_rpm, s, DRAWN) for s in speeds):
            told = ", ".join(f"{s:g}" for s in dict.fromkeys(speeds))
            self.tell(
                name,
                self.rest.files["balance"],
                f"has balance.speed_rpm = {given.speed_rpm:g}; the drum runs at {told} rpm",
            )
        if rotor is None:
            return
        zero, end = given.bearings_mm
        span, both = rotor.drum.bearing_span_mm, f"in {self.file('balance')}; in {self.file('rotor')}"
        if not _alike(end - zero, span, NEAR):
            self.tell(name, MISSING, f"has bearings {end - zero:g} mm apart {both} they stand {span:g} mm apart")
        planes = rotor.drum.mass_positions
        if len(planes) != len(given.planes):
            return
        for n, (ours, theirs) in enumerate(zip(given.planes, planes, strict=True), 1):
            pairs = {"z_mm": (ours.z_mm - zero, theirs.z_mm)}
            pairs |= {f: (getattr(ours, f), getattr(theirs, f)) for f in ("radius_mm", "plate_g", "most_plates")}
            for field, (own, other) in pairs.items():
                if not _alike(own, other, NEAR):
                    self.tell(
                        name,
                        MISSING,
                        f"has balance.planes[{n}].{field} = {own:g} {both} drum.mass_positions[{n}].{field} = {other:g}",
                    )
            angles = [sorted(a % 360 for a in p.angles_deg) for p in (ours, theirs)]
            if len(angles[0]) != len(angles[1]) or not all(_alike(a, b, NEAR) for a, b in zip(*angles, strict=True)):
                self.tell(
                    name,
                    MISSING,
                    f"has other positions around plane {n} {both} stand drum.mass_positions[{n}].angles_deg",
                )


def _alike(own: Any, other: Any, share: float) -> bool:
    if isinstance(own, str) or isinstance(other, str):
        return bool(own == other)
    return bool(abs(own - other) <= share * max(abs(own), abs(other), 1e-9))


def _said(value: Any) -> str:
    return f"{value:g}" if isinstance(value, (int, float)) else repr(value)


def _differing(ours: Any, theirs: Any) -> Iterator[tuple[tuple[str, ...], Any, Any]]:
    """Numbers and words that two objects of a class both give, and give differently: path, ours, theirs."""
    for f in dataclasses.fields(ours):
        own, other = getattr(ours, f.name), getattr(theirs, f.name)
        if dataclasses.is_dataclass(own) and type(own) is type(other):
            for path, a, b in _differing(own, other):
                yield (f.name, *path), a, b
        elif isinstance(own, bool) or own is None or other is None or own == f.default:
            continue
        elif (
            isinstance(own, (int, float, str))
            and isinstance(other, (int, float, str))
            and not _alike(own, other, DRAWN)
        ):
            yield (f.name,), own, other
