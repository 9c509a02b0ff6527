"""The file of a whole drum: a title, the drum, its steel, its running states, and what is asked of its rotor.

[drum] with its tables, [material], [[running]], and, where wanted, [rotor] and [stub_strength]. In the file slots and rows are
numbered from 1, as in everything that is written; inside they count from 0.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

from ..assess.whole_drum import whole_drum
from ..assess.whole_drum_input import RotorWanted
from ..assess.whole_drum_result import WholeDrum
from ..errors import MISSING, Fault, InputFault
from ..model.check import Checks
from ..model.drum import Drum
from ..model.material import Material, steel
from ..provenance import common_practice
from ..rotor.bodies import HammerState
from ..rotor.running import RestUnbalance, Running, TipHit
from ..rotor.shaft_strength import ShaftStrength
from .positions import Path
from .reading import Document, parse, read_text
from .sheet import sheet_from_text

__all__ = [
    "DrumSheet",
    "HitTable",
    "MaterialTable",
    "StateTable",
    "TipTable",
    "drum_sheet_from_text",
    "read_drum_sheet",
]

MOST_NUMBER = 100_000
OWN_VALUES = ("youngs_modulus_MPa", "poissons_ratio", "density_kg_m3", "yield_MPa", "ultimate_MPa")


@dataclass(frozen=True, kw_only=True)
class HitTable:
    """[[running.hit]]: a force at the tip of a slot (number from 1), against the rotation and towards the axis."""

    slot: int
    force_kN: float
    radial_kN: float = 0.0

    def __post_init__(self) -> None:
        checks = Checks()
        checks.whole("slot", self.slot, 1, MOST_NUMBER, "a slot's number, from 1")
        checks.number("force_kN", self.force_kN, way_out="against the rotation")
        checks.number("radial_kN", self.radial_kN)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class TipTable:
    """[[running.tip]]: a slot (number from 1) whose hammer differs: wear_mm instead of the hammer's own, extra_g more mass."""

    slot: int
    wear_mm: float | None = None
    extra_g: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        checks.whole("slot", self.slot, 1, MOST_NUMBER, "a slot's number, from 1")
        if self.wear_mm is None and self.extra_g is None:
            checks.add("wear_mm", MISSING, "is missing, and so is extra_g: nothing differs", "give one of them")
        if self.wear_mm is not None:
            checks.number("wear_mm", self.wear_mm, least=0.0)
        if self.extra_g is not None:
            checks.number("extra_g", self.extra_g)
        checks.done()


@dataclass(frozen=True, kw_only=True)
class StateTable:
    """[[running]]: a running state; fields as of Running, with slots and rows from 1.

    time_share: of all running time. missing, broken: slots whose hammer, or half of a through-bar, is gone.
    """

    name: str
    speed_rpm: float
    power_kW: float = 0.0
    cut_direction_deg: float | None = None
    radial_share: float = 0.0
    cutting_rows: tuple[int, ...] | None = None
    hit: tuple[HitTable, ...] = ()
    missing: tuple[int, ...] = ()
    broken: tuple[int, ...] = ()
    tip: tuple[TipTable, ...] = ()
    unbalance: tuple[RestUnbalance, ...] = ()
    thrust_kN: float = 0.0
    weight: bool = True
    time_share: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        numbers = {"cutting_rows": self.cutting_rows or (), "missing": self.missing, "broken": self.broken}
        good = True
        for name, values in numbers.items():
            if not isinstance(values, tuple):
                checks.add(name, values, "must be a list of numbers, from 1")
                good = False
                continue
            for i, value in enumerate(values):
                good &= checks.whole(f"{name}[{i}]", value, 1, MOST_NUMBER, "numbers count from 1")
        if self.time_share is not None:
            checks.number("time_share", self.time_share, least=0.0, most=1.0)
        checks.positive("speed_rpm", self.speed_rpm, "a state in which the drum turns, revolutions a minute")
        twice = sorted({t.slot for t in self.tip if [u.slot for u in self.tip].count(t.slot) > 1})
        if twice:
            checks.add("tip", twice, "names a slot more than once")
        try:
            if good:
                self.running()
        except InputFault as error:
            told = {f.field for f in checks.faults}
            checks.faults += [f for f in error.faults if f.field not in told]
        checks.done()

    def running(self) -> Running:
        """The state with numbers from 0. Raises InputFault."""
        state = HammerState(
            missing=_from_0(self.missing), broken=_from_0(self.broken),
            wear_mm={t.slot - 1: t.wear_mm for t in self.tip if t.wear_mm is not None},
            extra_g={t.slot - 1: t.extra_g for t in self.tip if t.extra_g is not None},
        )  # fmt: skip
        return Running(
            name=self.name, speed_rpm=self.speed_rpm, power_kW=self.power_kW, cut_direction_deg=self.cut_direction_deg,
            radial_share=self.radial_share, unbalance=self.unbalance, thrust_kN=self.thrust_kN, weight=self.weight,
            cutting_rows=None if self.cutting_rows is None else _from_0(self.cutting_rows), hammers=state,
            hits=tuple(TipHit(slot=h.slot - 1, force_kN=h.force_kN, radial_kN=h.radial_kN) for h in self.hit),
        )  # fmt: skip


def _from_0(numbers: Sequence[int]) -> tuple[int, ...]:
    return tuple(number - 1 for number in numbers)


@dataclass(frozen=True, kw_only=True)
class MaterialTable:
    """[material] of shell, discs and stubs: a grade, or the values themselves."""

    grade: str | None = None
    youngs_modulus_MPa: float | None = None
    poissons_ratio: float | None = None
    density_kg_m3: float | None = None
    yield_MPa: float | None = None
    ultimate_MPa: float | None = None

    def __post_init__(self) -> None:
        checks = Checks()
        own = [name for name in OWN_VALUES if getattr(self, name) is not None]
        if self.grade is not None and own:
            checks.add("grade", self.grade, f"stands beside {', '.join(own)}", "give the grade or the values, not both")
        elif self.grade is None and not own:
            checks.add("grade", MISSING, "is missing", "a grade, or youngs_modulus_MPa and poissons_ratio")
        checks.done()
        self.material(None)

    def material(self, wall_mm: float | None) -> Material:
        """The material; of a grade with its strengths for a wall. Raises InputFault."""
        if self.grade is not None:
            return steel(self.grade, wall_mm)
        values = {name: getattr(self, name) for name in OWN_VALUES if getattr(self, name) is not None}
        lacking = {"youngs_modulus_MPa", "poissons_ratio"} - set(values)
        values |= dict.fromkeys(lacking, MISSING)
        return Material(**values, provenance=common_practice("given by the user"))


@dataclass(frozen=True)
class DrumSheet:
    """A drum's file that was read, with numbers from 0. source: its text."""

    title: str
    name: str
    source: str
    folder: FilePath
    drum: Drum
    material: Material
    running: tuple[Running, ...]
    time_shares: tuple[float | None, ...]
    wanted: RotorWanted
    stub_strength: ShaftStrength | None

    def answer(self) -> WholeDrum:
        """Everything about its rotor. Raises InputFault."""
        return whole_drum(
            self.drum, self.running, self.material, wanted=self.wanted, stub_strength=self.stub_strength,
            time_shares=self.time_shares,
        )  # fmt: skip


def read_drum_sheet(path: str | os.PathLike[str]) -> DrumSheet:
    """A drum's file. Raises InputFault with all that is wrong at once, each with its line."""
    file = FilePath(path)
    return drum_sheet_from_text(read_text(file), name=file.stem, folder=file.parent, called=str(file))


def drum_sheet_from_text(
    text: str, *, name: str = "drum", folder: os.PathLike[str] | str = ".", called: str = ""
) -> DrumSheet:
    """The same from text."""
    forms = {
        "drum": Drum, "material": MaterialTable, "running": tuple[StateTable, ...], "rotor": RotorWanted,
        "stub_strength": ShaftStrength,
    }  # fmt: skip
    sheet = sheet_from_text(
        text, forms, needed=("drum", "material", "running"), name=name, folder=folder, called=called
    )
    drum: Drum = sheet["drum"]
    tables: tuple[StateTable, ...] = sheet["running"]
    wanted: RotorWanted = sheet["rotor"] or RotorWanted()
    doc = parse(text, called or name)
    faults: list[Fault] = []
    material = None
    try:
        material = sheet["material"].material(drum.wall_mm)
    except InputFault as error:
        faults += [replace(f.at("material"), line=doc.line(("material", f.field))) for f in error.faults]
    faults += _against(drum, tables, wanted, doc)
    if faults:
        raise InputFault(sorted(faults, key=lambda f: f.line or 0))
    assert material is not None
    return DrumSheet(
        sheet.title, name, text, FilePath(folder), drum, material, tuple(t.running() for t in tables),
        tuple(t.time_share for t in tables), wanted, sheet["stub_strength"],
    )  # fmt: skip


def _against(drum: Drum, tables: Sequence[StateTable], wanted: RotorWanted, doc: Document) -> list[Fault]:
    """What the states ask of slots, rows and parts that this drum does not have; numbers as they stand in the file."""
    faults: list[Fault] = []

    def tell(path: Path, value: object, allowed: str, way_out: str = "") -> None:
        faults.append(Fault(".".join(map(str, path)), value, allowed, way_out, doc.line(path)))

    names = [t.name for t in tables]
    for n, table in enumerate(tables):
        if table.name in names[:n]:
            tell(("running", n, "name"), table.name, "is the name of an earlier state")
        asked: list[tuple[Path, int, int, str]] = [
            (("running", n, "hit", i, "slot"), h.slot, drum.slots_total, "slot") for i, h in enumerate(table.hit)
        ]
        asked += [(("running", n, "tip", i, "slot"), t.slot, drum.slots_total, "slot") for i, t in enumerate(table.tip)]
        for name, most, what in (
            ("missing", drum.slots_total, "slot"), ("broken", drum.slots_total, "slot"), ("cutting_rows", drum.rows_total, "row"),
        ):  # fmt: skip
            asked += [(("running", n, name, i), v, most, what) for i, v in enumerate(getattr(table, name) or ())]
        wrong = [item for item in asked if item[1] > item[2]]
        for path, value, most, what in wrong:
            tell(path, value, f"must be a {what} of the drum, 1 to {most}", "rows count from the drive end")
        if wrong:
            continue
        running = table.running()
        for check in (running.check, running.hammers.check):
            try:
                check(drum)
            except InputFault as error:
                for fault in error.faults:
                    tell(("running", n, *_key(fault.field)), fault.value, fault.allowed, fault.way_out)
    shares = [t.time_share for t in tables if t.time_share is not None]
    if shares and (len(shares) < len(tables) or abs(sum(shares) - 1) > 1e-6):
        n = next((n for n, t in enumerate(tables) if t.time_share is None), len(tables) - 1)
        tell(("running", n, "time_share"), tables[n].time_share if len(shares) == len(tables) else MISSING,
             f"shares of time must stand in all states and add up to 1; they add up to {sum(shares):g}")  # fmt: skip
    top = max(t.speed_rpm for t in tables)
    if wanted.speed_upto_rpm is not None and wanted.speed_upto_rpm <= top:
        tell(
            ("rotor", "speed_upto_rpm"), wanted.speed_upto_rpm, f"must be above the fastest state's speed, {top:g} rpm"
        )
    if wanted.lost_slot is not None and wanted.lost_slot > drum.slots_total:
        tell(("rotor", "lost_slot"), wanted.lost_slot, f"must be a slot of the drum, 1 to {drum.slots_total}")
    return faults


def _key(field: str) -> Path:
    """`unbalance[1].z_mm` as a path in the file; tips are told by their table."""
    plain = field.replace("[", ".").replace("]", "").split(".")
    if plain[0] in ("wear_mm", "extra_g"):
        return ("tip",)
    return tuple(int(p) if p.isdigit() else p for p in plain)
