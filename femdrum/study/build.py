"""From a study file's values to its variants, or to the list of all that is wrong with it."""

from __future__ import annotations

import itertools
import math
import os
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from ..errors import MISSING, Fault, InputFault
from ..model.material import steel
from .contact_table import load_of
from .drum_tables import drum_faults, drum_of
from .fault_lists import WrongCombinations, comparable, in_order
from .layout import Layout
from .life_tables import life_of_tables, variant_faults
from .machine_check import load_faults, machine_of
from .mesh_check import mesh_faults
from .parts import fields_from_tables, thickness_mm
from .positions import Path
from .reading import Document, parse, read_text
from .study import Axis, Study, Variant, content_key, digest
from .table import RESULT_COLUMNS
from .tables import LOAD, Table, drawable, field_names
from .which_command import command_of

if TYPE_CHECKING:
    from .rest_tables import RestOfDrum

__all__ = ["MOST_VARIANTS", "read_study", "study_from_text"]

MOST_VARIANTS = 100_000
_MOST_EXAMPLES = 5

Choice = tuple[int | None, ...]  # index of the chosen value per axis; None: the axis is not looked at
Chosen = Mapping[Path, tuple[int, Any]]


def read_study(path: str | os.PathLike[str]) -> Study:
    """The study in a TOML file. Raises InputFault with all that is wrong with it at once."""
    file = FilePath(path)
    return study_from_text(read_text(file), name=file.stem, folder=file.parent, called=str(file))


def study_from_text(text: str, *, name: str = "study", folder: os.PathLike[str] | str = ".", called: str = "") -> Study:
    """The study written in `text`. folder: where the files that it names are looked for."""
    doc = parse(text, called or name)
    command, table = command_of(doc.values)
    if command not in ("", "study"):
        raise InputFault(Fault(called or name, MISSING, f"is no study: it holds [{table}] and no [part]",
                                   f"`femdrum {command} {called or name}` reads it", doc.line((table,))))  # fmt: skip
    return _Builder(doc, text, name, FilePath(folder)).study()


class _Section:
    """Builds one thing from its tables, once for each choice of the axes that bear on it."""

    def __init__(self, axes: list[int], make: Callable[[Choice], tuple[Any, list[Fault]]]) -> None:
        self.axes = axes
        self.make = make
        self.done: dict[Choice, tuple[Any, list[Fault], str]] = {}

    def at(self, choice: Choice) -> tuple[Any, list[Fault], str]:
        """The thing, its faults, and the digest of its content."""
        key = tuple(choice[i] for i in self.axes)
        if key not in self.done:
            thing, faults = self.make(choice)
            self.done[key] = (thing, faults, digest(thing) if not faults and thing is not None else "")
        return self.done[key]


@dataclass
class _Sections:
    """All that a variant is made of, and what looks at whether it goes together."""

    part: _Section
    material: _Section
    accuracy: _Section
    loads: list[_Section]
    machine: _Section | None
    conditions: list[_Section]
    fits: list[_Section]
    paths: bool = False  # the stress along the paths of cracks is kept too

    def content(self) -> list[_Section]:
        """What decides the result, in the order of the variant's key."""
        machine = [] if self.machine is None else [self.machine]
        return [self.part, self.material, self.accuracy, *self.loads, *machine, *self.conditions]

    def every(self) -> list[_Section]:
        """The same, and the checks across."""
        return [*self.content(), *self.fits]

    def variant(self, choice: Choice, values: tuple[Any, ...]) -> Variant:
        """The variant of a choice in which nothing is wrong."""
        return Variant(
            key=content_key([*(s.at(choice)[2] for s in self.content()), *(["paths"] if self.paths else [])]),
            values=values,
            part=self.part.at(choice)[0],
            loads=tuple(s.at(choice)[0] for s in self.loads),
            material=self.material.at(choice)[0],
            accuracy=self.accuracy.at(choice)[0],
            machine=self.machine.at(choice)[0] if self.machine else None,
            conditions=tuple(s.at(choice)[0] for s in self.conditions),
            paths=self.paths,
        )


class _Builder:
    def __init__(self, doc: Document, source: str, name: str, folder: FilePath) -> None:
        self.doc, self.source, self.name, self.folder = doc, source, name, folder
        self.layout = Layout(doc, name)
        self.faults = self.layout.faults
        self.add = self.layout.add

    def study(self) -> Study:
        self._axes()
        self._life()
        choices = self._choices()
        variants, left_out, examples = self._build(self._one_by_one() if choices is None else choices)
        if not variants and not self.faults:
            self.add("variants", MISSING, "no combination is left: none can be drawn", examples[0] if examples else "")
        rest = self._rest(variants)
        if self.faults:
            raise InputFault(in_order(self.faults))
        axes, title = tuple(self.axes), self.layout.title
        return Study(title, self.name, self.source, axes, tuple(variants), left_out, tuple(examples), self.life, rest)

    def _life(self) -> None:
        """What is asked about life, the same for all variants."""
        names = [str(t.values.get("name", t.values.get("kind"))) for t in (*self.layout.conditions, *self.layout.loads)]
        speed = self.layout.machine is not None and "speed_rpm" in self.layout.machine.values
        layout = self.layout
        self.life, faults = life_of_tables(
            layout.life,
            layout.below_life,
            layout.welds,
            layout.duties,
            (layout.end, layout.end_finish, layout.end_states),
            names,
            speed,
            self.folder,
        )
        told = {f"{t.name}.{path[-1]}" for t in layout.fixed for path in t.told}
        self.faults += [f for f in faults if f.field not in told]
        if "drum" in self.doc.values:
            self._drum()

    def _drum(self) -> None:
        """The rest of the drum, whose slots are mapped under the duty."""
        if self.layout.life is None:
            self.add(
                "drum",
                MISSING,
                "stands without a table [life]",
                "the map shows lives: add [life], or use `femdrum rotor`",
            )
            return
        drum, faults = drum_of(self.doc, () if self.life is None else self.life.duty)
        self.faults += faults
        if self.life is not None and drum is not None:
            self.life = replace(self.life, drum=drum)
            if self.life.wanted.rows_total not in (None, drum.drum.rows_total):
                self.add("life.rows_total", self.life.wanted.rows_total, f"differs from drum.rows_total = {drum.drum.rows_total}",
                         "leave it out of [life]")  # fmt: skip
            self.life = replace(self.life, wanted=replace(self.life.wanted, rows_total=drum.drum.rows_total))

    def _rest(self, variants: list[Variant]) -> RestOfDrum | None:
        """The files of the rest of the drum, and whether they speak of this drum."""
        if "rest_of_drum" not in self.doc.values:
            return None
        from .rest_fit import rest_faults
        from .rest_tables import read_rest

        rest, faults = read_rest(self.doc, self.folder)
        self.faults += faults
        if rest is not None and not self.faults:
            self.faults += rest_faults(rest, variants, self.life, self.doc)
        return rest

    # the axes

    def _axes(self) -> None:
        found = [
            (self.doc.line(path) or 0, table, path, values)
            for table in self.layout.tables
            for path, values in table.axes()
        ]
        found.sort(key=lambda item: item[0])
        last = Counter(str(path[-1]) for _, _, path, _ in found)
        self.axes: list[Axis] = []
        for _, table, path, values in found:
            key = f"{table.name}.{path[-1]}"
            plain = last[str(path[-1])] == 1 and path[-1] not in RESULT_COLUMNS
            self.axes.append(Axis(key, str(path[-1]) if plain else key, tuple(values), path))
            if self.layout.combine == "multiply":
                for value, times in Counter(comparable(v) for v in values).items():
                    if times > 1:
                        self.add(key, MISSING, f"holds {value} {times} times", "give each value once", path)

    def _choices(self) -> Iterator[Choice] | None:
        """All combinations, or None where they cannot be formed."""
        lengths = [len(a.values) for a in self.axes]
        if self.layout.combine == "zip":
            if len(set(lengths)) > 1:
                each = ", ".join(f"{a.key} has {n}" for a, n in zip(self.axes, lengths, strict=True))
                self.add("variants.combine", "zip", f"needs lists of equal length: {each}")
                return None
            total = lengths[0] if lengths else 1
        else:
            total = math.prod(lengths)
        self.total = total
        if total > MOST_VARIANTS:
            each = " x ".join(str(n) for n in lengths)
            self.add("variants", MISSING, f"{total:,} variants ({each}) are more than {MOST_VARIANTS:,}",
                     "shorten the lists, or split the study", self.axes[0].path)  # fmt: skip
            return None
        if self.layout.combine == "zip":
            return iter([(i,) * len(lengths) for i in range(total)])
        return itertools.product(*(range(n) for n in lengths))

    def _one_by_one(self) -> Iterator[Choice]:
        """Each value once, beside the first of the other axes: finds faults of values without combining."""
        base: Choice = (0,) * len(self.axes)
        self.total = 0
        yield base
        for i, axis in enumerate(self.axes):
            for n in range(1, min(len(axis.values), MOST_VARIANTS)):
                yield (*base[:i], n, *base[i + 1 :])

    # the variants

    def _of(self, *tables: Table | None) -> list[int]:
        """Axes that stand in these tables."""
        paths = {t.path for t in tables if t is not None}
        return [i for i, a in enumerate(self.axes) if a.path[:-1] in paths]

    def _chosen(self, choice: Choice) -> Chosen:
        return {a.path: (i, a.values[i]) for a, i in zip(self.axes, choice, strict=True) if i is not None}

    def _sections(self) -> _Sections:
        extra = [t for many in self.layout.extra.values() for t in many]
        drawn = [self.layout.part, self.layout.cutout, *extra]
        driven = [self.layout.machine, self.layout.bar, *self.layout.limits, *self.layout.rotor_parts]
        part = _Section(self._of(*drawn), self._make_part)
        material = _Section(self._of(self.layout.material, self.layout.part), self._make_material)
        machine = _Section(self._of(*driven), lambda c: machine_of(self.layout, self._chosen(c)))
        loads = [self._load(t) for t in self.layout.loads]
        contacts = self.layout.contacts

        def together(table: Table, load: _Section, choice: Choice) -> tuple[None, list[Fault]]:
            things = [section.at(choice) for section in (load, part, machine, material)]
            if any(faults for _, faults, _ in things) or any(t is None for t, _, _ in (*things[:2], things[3])):
                return None, []
            own, *others = (thing for thing, _, _ in things)
            if others[0].kind not in own.parts:
                return None, []  # told by _loads_fit
            return None, load_faults(self.layout, table, self._chosen(choice), own, *others)

        fits = [_Section(self._of(self.layout.part, *self.layout.loads), lambda c: (None, self._loads_fit(c)))]
        for table, load in zip(self.layout.loads, loads, strict=True):
            axes = self._of(*drawn, *driven, self.layout.material, table, contacts.get(table.path))
            fits.append(_Section(axes, lambda c, t=table, s=load: together(t, s, c)))  # type: ignore[misc]
        if self.life is not None:
            fits.append(
                _Section([*part.axes, *material.axes], lambda c: (None, self._lives(part.at(c), material.at(c))))
            )
        return _Sections(
            part=part,
            material=material,
            accuracy=self._plain(self.layout.accuracy),
            loads=loads,
            machine=machine if self.layout.machine is not None else None,
            conditions=[self._plain(t) for t in self.layout.conditions],
            fits=fits,
            paths=self.life is not None and self.life.wanted.crack is not None,
        )

    def _lives(self, part: tuple[Any, list[Fault], str], material: tuple[Any, list[Fault], str]) -> list[Fault]:
        """What a sound part of a sound material lacks for a life."""
        if self.life is None or part[1] or material[1] or part[0] is None or material[0] is None:
            return []
        faults = variant_faults(self.life, part[0], material[0])
        return faults if self.life.drum is None else [*faults, *drum_faults(self.life.drum, part[0])]

    def _load(self, table: Table) -> _Section:
        """A load, with its contact where it has one."""
        contact = self.layout.contacts.get(table.path)
        if contact is None:
            return self._plain(table)
        return _Section(self._of(table, contact), lambda c: load_of(table, contact, self._chosen(c)))

    def _plain(self, table: Table | None) -> _Section:
        """What is made of one table alone."""
        return _Section(self._of(table), lambda c: (None, []) if table is None else table.make(self._chosen(c)))

    def _make_part(self, choice: Choice) -> tuple[Any, list[Fault]]:
        if self.layout.part is None:
            return None, []
        chosen = self._chosen(choice)
        faults: list[Fault] = []
        others: dict[str, Any] = {}
        if self.layout.cutout is not None:
            others["cutout"], faults = self.layout.cutout.make(chosen)
            others = {} if others["cutout"] is None else others
        values, tables = self.doc.values, self.layout.extra
        more, wrong = fields_from_tables(values, tables, self.layout.part, chosen, self.folder)
        part, own = self.layout.part.make(chosen, **others, **more)
        return part, faults + wrong + [f for f in own if f.field != "part.cutout"]

    def _make_material(self, choice: Choice) -> tuple[Any, list[Fault]]:
        if self.layout.material is None:
            return None, []
        chosen = self._chosen(choice)
        grade = self.layout.material.value("grade", chosen)
        if grade is MISSING:
            return self.layout.material.make(chosen)
        try:
            return steel(grade, thickness_mm(self.layout.part, chosen)), []
        except InputFault as error:
            return None, [self.layout.material.locate(f, chosen) for f in error.faults]

    def _loads_fit(self, choice: Choice) -> list[Fault]:
        """Loads that the part cannot carry."""
        chosen = self._chosen(choice)
        kind = self.layout.part.kind(chosen) if self.layout.part else None
        faults = []
        for table in self.layout.loads if kind else []:
            load = table.kind(chosen)
            if load and kind not in LOAD.classes[load].parts:
                fit = [k for k, c in LOAD.classes.items() if kind in c.parts]
                who = " or ".join(LOAD.classes[load].parts)
                fault = Fault(
                    "kind", load, f"cannot act on a {kind}, only on a {who}", f"a {kind} takes {', '.join(fit)}"
                )
                faults.append(table.locate(fault, chosen))
        return faults

    def _build(self, choices: Iterator[Choice]) -> tuple[list[Variant], int, list[str]]:
        told = {f"{t.name}.{path[-1]}" for t in self.layout.tables for path in t.told}
        sections = self._sections()
        wrong = WrongCombinations()
        variants: dict[str, Variant] = {}
        left_out = 0
        examples: list[str] = []
        for choice in choices:
            faults = [f for s in sections.every() for f in s.at(choice)[1] if f.field not in told]
            if not faults:
                loads = [s.at(choice)[0] for s in sections.loads]
                faults = mesh_faults(sections.part.at(choice)[0], loads, self.doc)
            if faults:
                if self.layout.leave_out and all(drawable(f) for f in faults):
                    left_out += 1
                    if len(examples) < _MOST_EXAMPLES:
                        examples.append(f"{self._where(choice)}: {replace(faults[0], line=None)}")
                    continue
                # one value at a time beside the first of the others: what does not go together tells nothing there
                for f in faults if self.total else [f for f in faults if not drawable(f)]:
                    wrong.add(f, self._where(choice))
            elif not self.faults and not wrong:
                variant = sections.variant(choice, self._values(choice))
                # values that do not bear on it make no new variant
                variants.setdefault(variant.key, variant)
        self.faults += wrong.told(self.name, self.total, self.axes)
        return list(variants.values()), left_out, examples

    def _values(self, choice: Choice) -> tuple[Any, ...]:
        """The values along the axes, None where the kind chosen has no such field."""
        chosen = self._chosen(choice)
        homes = {t.path: t for t in self.layout.tables}
        out = []
        for axis, i in zip(self.axes, choice, strict=True):
            table = homes[axis.path[:-1]]
            kind = table.kind(chosen)
            own = field_names(table.form, table.form.classes[kind]) if kind is not None else []
            bears = axis.path[-1] == table.form.selector or axis.path[-1] in own
            out.append(axis.values[i] if bears and i is not None else None)
        return tuple(out)

    def _where(self, choice: Choice) -> str:
        return ", ".join(
            f"{a.column} = {a.values[i]!r}" for a, i in zip(self.axes, choice, strict=True) if i is not None
        )
