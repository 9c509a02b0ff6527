"""The results of a study, read back by whoever draws or reports them; of large studies only what is looked at."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..edge import EdgeStress
from ..errors import MISSING, Fault, FileFault, nearest
from .answers import StoredAnswer
from .lines import Items, LaidOut
from .store import Store, read_json
from .study import RESULT_FORMAT, Axis

if TYPE_CHECKING:
    from ..assess.life_result import EndLife, ScatterLife, VariantLife

__all__ = ["Results", "StoredVariant"]


@dataclass(frozen=True)
class StoredVariant:
    """A variant read back. axes: column -> value, None where the axis does not bear on it.

    failure: why there is no solution, or empty. remarks: what went amiss beside the numbers. plan: key of the life that is asked.
    """

    key: str
    folder: Path
    axes: dict[str, Any]
    inputs: dict[str, Any]
    answers: tuple[StoredAnswer, ...]
    failure: str
    remarks: tuple[str, ...]
    plan: str = ""

    @cached_property
    def life(self) -> VariantLife | None:
        """The life of the variant, read when first asked for; None where the study asks for none, or there is none."""
        if not self.plan:
            return None
        from .life_stage import read_life

        return read_life(Store(self.folder.parent.parent), self.key, self.plan)

    @property
    def label(self) -> str:
        """`corner_radius_mm = 8`; empty where nothing varies."""
        return ", ".join(f"{name} = {value}" for name, value in self.axes.items() if value is not None)

    @property
    def field_file(self) -> Path | None:
        """The field around the slot as VTU, if there is one."""
        path = self.folder / "field.vtu"
        return path if path.is_file() else None

    @cached_property
    def edge(self) -> EdgeStress | None:
        """The edge stress per unit case, read when first asked for; None where the variant has none."""
        from .arrays import load_edge

        path = self.folder / "edge.npz"
        return load_edge(path) if path.is_file() else None

    def answer(self, case: str) -> StoredAnswer:
        """The answer for the load of this name."""
        for answer in self.answers:
            if answer.case == case:
                return answer
        raise KeyError(f"no case {case!r}; known: {', '.join(a.case for a in self.answers)}")


def _no_results(path: Path) -> Fault:
    """Why there are no results at a place, and what to give instead."""
    if path.is_file():
        if (path.parent / "results.json").is_file():
            return Fault(str(path), MISSING, "is a file in a results folder", f"give the folder, {str(path.parent)!r}")
        own = f"first `femdrum study {path}`, then give the folder" if path.suffix == ".toml" else "give the folder"
        return Fault(str(path), MISSING, "is a file, not a results folder", own)
    if path.is_dir():
        inside = sorted(p.parent.name for p in path.glob("*/results.json"))
        other = f"there is one in it: {str(path / inside[0])!r}" if inside else "run `femdrum study FILE` first"
        return Fault(str(path), MISSING, "holds no results.json", other)
    try:
        stems = {p.parent.name.removesuffix(".results"): p.parent for p in path.parent.glob("*/results.json")}
        near = nearest(path.name.removesuffix(".results"), stems)
        for stem, folder in stems.items():
            near = near.replace(repr(stem), repr(str(folder)))
    except OSError:
        near = ""
    return Fault(str(path), MISSING, "there is no such folder", near or "run `femdrum study FILE` first")


class Results:
    """A results folder, read back.

    data: what results.json holds, without rows and variants where those are read line by line, from `lines`.
    """

    def __init__(self, folder: Path, data: dict[str, Any], lines: LaidOut | None = None) -> None:
        self.folder = folder
        self.data = data
        self.lines = lines

    @classmethod
    def load(cls, folder: str | os.PathLike[str]) -> Results:
        """Results of a finished study. Raises FileFault where there are none."""
        path = Path(folder)
        if not (path / "results.json").is_file():
            raise FileFault(_no_results(path))
        lines = LaidOut.of(path / "results.json")
        data = lines.head if lines else read_json(path / "results.json")
        if not isinstance(data, dict) or data.get("format") != RESULT_FORMAT:
            found = data.get("format") if isinstance(data, dict) else None
            raise FileFault(Fault(str(path), MISSING, f"holds results of format {found}, this version reads {RESULT_FORMAT}",
                                  "run the study again"))  # fmt: skip
        return cls(path, data, lines)

    @property
    def title(self) -> str:
        """Title of the study."""
        return str(self.data["title"])

    @property
    def name(self) -> str:
        """Stem of the study file."""
        return str(self.data["name"])

    @property
    def source(self) -> str:
        """Text of the study file."""
        return str(self.data["study"])

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The axes of the study, in the order of the file."""
        return tuple(Axis(a["key"], a["column"], tuple(a["values"])) for a in self.data["axes"])

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns of the table, axes first."""
        return tuple(self.data["columns"])

    @cached_property
    def rows(self) -> Sequence[dict[str, Any]]:
        """The table: a dict per variant and case, None where not defined. Read from disk as it is gone through."""
        if self.lines is None:
            rows: list[dict[str, Any]] = self.data["rows"]
            return rows
        return Items(self.lines, self.lines.rows, lambda row: row)

    @property
    def definitions(self) -> dict[str, str]:
        """What each column means."""
        return dict(self.data["definitions"])

    @property
    def versions(self) -> dict[str, str]:
        """Versions that made the results."""
        return dict(self.data["versions"])

    @property
    def left_out(self) -> int:
        """Combinations that cannot be drawn and were left out as the study asked."""
        return int(self.data["left_out"])

    @property
    def left_out_examples(self) -> tuple[str, ...]:
        """A few of them, in words."""
        return tuple(self.data["left_out_examples"])

    @cached_property
    def variants(self) -> Sequence[StoredVariant]:
        """The variants in the order of the study. Of many, each is read from disk when it is asked for."""
        if self.lines is None:
            return tuple(map(self._variant, self.data["variants"]))
        return Items(self.lines, self.lines.variants, self._variant)

    def _variant(self, data: dict[str, Any]) -> StoredVariant:
        return StoredVariant(
            key=data["key"],
            folder=self.folder / "variants" / data["key"],
            axes=data["axes"],
            inputs=data["inputs"],
            answers=tuple(StoredAnswer.from_record(a) for a in data["answers"]),
            failure=data["failure"],
            remarks=tuple(data["remarks"]),
            plan=self.data["life"] or "",
        )

    @cached_property
    def life(self) -> dict[str, Any]:
        """What life.json holds: what was asked, the duty, the meaning of the columns; empty where no life was asked."""
        path = self.folder / "life.json"
        data: dict[str, Any] = read_json(path) if self.data["life"] and path.is_file() else {}
        return data

    @cached_property
    def scatter(self) -> dict[str, ScatterLife]:
        """The scatter of life by variant."""
        from ..assess.life_result import ScatterLife
        from .plain import from_plain

        return {s.key: s for s in (from_plain(ScatterLife, d) for d in self.life.get("scatter", []))}

    @cached_property
    def drum_end(self) -> EndLife | None:
        """The life of the drum's end; None where none was asked or there is none."""
        from ..assess.life_result import EndLife
        from .plain import from_plain

        data = self.life.get("drum_end")
        return from_plain(EndLife, data) if data else None

    @property
    def complete(self) -> bool:
        """True if every number that was asked for is there."""
        return all(row["peak_MPa"] is not None for row in self.rows)
