"""One variant from inputs to files. This is what a worker process runs."""

from __future__ import annotations

import json
import os
import signal
import threading
import time
import traceback
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from typing import Any

from ..errors import FemdrumError
from .store import Store, write_text
from .study import RESULT_FORMAT, Variant

__all__ = [
    "KILLED",
    "THREADS",
    "Outcome",
    "Solver",
    "begin",
    "one_thread_each",
    "path_of",
    "preload",
    "solve_and_store",
    "versions",
]

# solve_all(part, loads, material, accuracy, *, on_event) -> Solution; machine and conditions too where the study has them
Solver = Callable[..., Any]
# what every variant loads when it is solved and stored, and what those of some kinds of part load besides
_NEEDED = (
    "femdrum.assess.solve",
    "femdrum.assess.compare",
    "femdrum.fem.unit",
    "femdrum.fem.field",
    "femdrum.handbook.fits",
    "femdrum.study.answers",
    "femdrum.study.arrays",
    "zipfile",
)
_SPARSE = ("rslab", "scipy.sparse.linalg")
_BY_PARTS = ("scipy.linalg.blas", "scipy.linalg.lapack")
_NEEDED_BY_KIND = {
    "plate": ("femdrum.handbook.exact", *_SPARSE),
    "plate_row": ("femdrum.handbook.exact", *_SPARSE),
    "ring": (
        "femdrum.fem.ring_level",
        "femdrum.fem.ring_whole",
        "femdrum.fem.symmetry",
        "femdrum.fem.row_field",
        "femdrum.loads.section",
        "femdrum.handbook.exact",
        *_BY_PARTS,
    ),
    "mesh": ("femdrum.fem.file_ladder", "femdrum.fem.file_system", *_SPARSE),
}
KILLED = "the worker process was killed twice; most often the memory did not suffice"
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "RAYON_NUM_THREADS")


@dataclass(frozen=True)
class Outcome:
    """What the parent needs to know of a finished variant; the numbers are on disk."""

    key: str
    verdicts: tuple[str, ...]
    seconds: float
    failure: str = ""


def begin(kinds: Iterable[str] = ()) -> None:
    """In a new worker: leave the interrupt key to the parent, end when the parent is gone, load what variants need."""
    from multiprocessing import connection, parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        sentinel = parent.sentinel

        def watch() -> None:
            connection.wait([sentinel])
            os._exit(1)

        threading.Thread(target=watch, daemon=True).start()
    preload(kinds)


def preload(kinds: Iterable[str]) -> None:
    """Load the libraries that variants of these kinds of part need, so that the first does not pay for it."""
    names = dict.fromkeys(name for kind in kinds for name in (*_NEEDED, *_NEEDED_BY_KIND.get(kind, ())))
    try:
        if names:
            from ..fem.light_imports import load_lightly

            load_lightly()
            versions()
        for name in names:
            import_module(name)
    except Exception:  # the variant that needs it will say what is missing
        return


class one_thread_each:
    """While it lasts, processes that are started get numerical libraries with one thread each."""

    def __enter__(self) -> None:
        self.before = {name: os.environ.get(name) for name in THREADS}
        os.environ.update(dict.fromkeys(THREADS, "1"))

    def __exit__(self, *_: object) -> None:
        for name, value in self.before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def solve_and_store(
    variant: Variant, root: str, solver: Solver | None = None, on_event: Callable[..., None] | None = None
) -> Outcome:
    """Solve a variant and store it. A failure is an outcome, not an exception."""
    store = Store(root)
    start = time.perf_counter()
    log = _Log(start, on_event)
    try:
        more: dict[str, Any] = {} if variant.machine is None else {"machine": variant.machine}
        if variant.conditions:
            more["conditions"] = variant.conditions
        solution = (solver or _solver())(
            variant.part, variant.loads, variant.material, variant.accuracy, on_event=log.event, **more
        )
        verdicts = _write(store, variant, solution, log)
    except (Exception, SystemExit) as error:  # SystemExit: a mesh reader leaves that way
        message = _reason(error)
        trace = "".join(traceback.format_exception(error))
        store.note_failure(variant.key, _failure_text(message, variant, log) + trace)
        return Outcome(variant.key, ("failed",) * len(variant.cases), time.perf_counter() - start, message)
    failed = [a for a in solution.answers if a.verdict.value == "failed"]
    if failed:  # stored with the others of the variant, and tried again next time
        message = "; ".join(f"{a.load.name}: {a.message}" for a in failed)
        store.note_failure(variant.key, _failure_text(message, variant, log))
    return Outcome(variant.key, verdicts, time.perf_counter() - start)


def _solver() -> Solver:
    # late: a process that only hands out work does not load the numerical libraries
    from ..assess.solve import solve_all

    solver: Solver = solve_all
    return solver


def _failure_text(message: str, variant: Variant, log: _Log) -> str:
    inputs = json.dumps(variant.inputs, indent=1, ensure_ascii=False, default=str)
    return f"{message}\n\n{inputs}\n\n{log.text()}\n"


def _write(store: Store, variant: Variant, solution: Any, log: _Log) -> tuple[str, ...]:
    from .answers import answer_record
    from .arrays import save_edge, save_paths

    records = []
    for answer in solution.answers:
        try:
            comparisons = tuple(answer.against_handbook())
        except Exception as error:  # the comparison is beside the answer; without it the answer still stands
            comparisons = ()
            log.line(f"no comparison with the handbook for {answer.load.name!r}: {_reason(error)}")
        records.append(answer_record(answer, comparisons))
    with store.writing(variant.key) as folder:
        remarks = []
        if solution.edge is not None:
            save_edge(solution.edge, folder / "edge.npz")
        if variant.paths and solution.edge is not None and variant.part.kind == "ring":
            save_paths(solution.crack_paths(), folder / "paths.npz")
        try:
            said = solution.write_field(folder / "field.vtu")
            if said:
                log.line(said)
        except Exception as error:  # likewise the picture's data
            remarks.append(f"the field could not be written: {_reason(error)}")
            log.line(remarks[-1])
            (folder / "field.vtu").unlink(missing_ok=True)
        record = {
            "format": RESULT_FORMAT,
            "key": variant.key,
            "inputs": variant.inputs,
            "answers": records,
            "remarks": remarks,
            "versions": versions(),
        }
        log.line("finished")
        write_text(folder / "log.txt", log.text())
        write_text(folder / "variant.json", json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    return tuple(answer.verdict.value for answer in solution.answers)


class _Log:
    def __init__(self, start: float, on_event: Callable[..., None] | None) -> None:
        self.start, self.on_event = start, on_event
        self.lines: list[str] = []

    def line(self, text: str) -> None:
        self.lines.append(f"{time.perf_counter() - self.start:9.3f} s  {text}")

    def event(self, *args: Any, **more: Any) -> None:
        """Progress of the solution, as the solver tells it."""
        self.line(" ".join([*map(str, args), *(f"{k}={v}" for k, v in more.items())]))
        if self.on_event is not None:
            self.on_event(*args, **more)

    def text(self) -> str:
        return "\n".join(self.lines) + "\n"


def _reason(error: BaseException) -> str:
    """A failure in one line."""
    if isinstance(error, FemdrumError):
        return " ".join(str(error).split())
    if isinstance(error, MemoryError):
        return "not enough memory"
    return f"unexpected {type(error).__name__}: {' '.join(str(error).split())}"


@lru_cache
def versions() -> dict[str, str]:
    """Versions of femdrum, Python and the libraries that make the numbers. Looked up once: each is a search of folders."""
    import platform
    import re
    from importlib import metadata

    found = {"python": platform.python_version()}
    for name in ("femdrum", "numpy", "scipy", "scikit-fem", "gmsh", "rslab"):
        try:
            text = metadata.distribution(name).read_text("METADATA") or ""
            told = re.search(r"^Version: *(\S+)", text, re.MULTILINE)  # the head alone: the mail parser reads all of it
            found[name] = told.group(1) if told else metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not installed"
    return found


def path_of(root: str | os.PathLike[str]) -> str:
    """An absolute path, for processes that may stand elsewhere."""
    return str(Path(root).absolute())
