"""What runs on a worker of a cluster: a look at whether it is fit to work, and one variant at a time."""

from __future__ import annotations

import hashlib
import os
import uuid
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import metadata
from pathlib import Path
from typing import Any

from .store import Store
from .study import Variant
from .work import KILLED, THREADS, Outcome, Solver, preload, solve_and_store, versions

__all__ = ["MOST_ATTEMPTS", "Badge", "Misfit", "Sight", "look", "source_digest", "work_on"]

MOST_ATTEMPTS = 2


@dataclass(frozen=True)
class Badge:
    """By what a worker knows whose work it does: the results folder and what lies there, and whose femdrum it must be."""

    root: str
    token: str
    version: str
    digest: str
    kinds: tuple[str, ...]

    @property
    def token_file(self) -> str:
        """Name of the file in the results folder that holds the token."""
        return f".cluster-{self.token[:12]}"


@dataclass(frozen=True)
class Misfit:
    """Why a worker must not be used, and what helps."""

    worker: str
    what: str
    way_out: str = ""


@dataclass(frozen=True)
class Sight:
    """What a look at a worker found."""

    misfit: Misfit | None
    versions: dict[str, str] = field(default_factory=dict)


@lru_cache
def source_digest() -> str:
    """The same for the same femdrum: by its source files, for a version number stands still while they change."""
    root = Path(__file__).parents[1]
    total = hashlib.sha256()
    for path in sorted(root.rglob("*.py"), key=lambda p: p.relative_to(root).as_posix()):
        total.update(path.relative_to(root).as_posix().encode() + b"\0")
        total.update(path.read_bytes().replace(b"\r\n", b"\n") + b"\0")
    return total.hexdigest()[:12]


def look(badge: Badge, dask_worker: Any = None) -> Sight:
    """Look whether this worker is fit, and load what the variants need. dask_worker: the library says which one this is."""
    misfit = _misfit(badge, dask_worker)
    if misfit is None:
        os.environ["RAYON_NUM_THREADS"] = "1"  # read when the solver is first called
        preload(badge.kinds)
    return Sight(misfit, versions())


def _misfit(badge: Badge, worker: Any) -> Misfit | None:
    me = str(worker.address)
    if worker.state.nthreads != 1:
        return Misfit(me, f"has {worker.state.nthreads} threads, must have one: it solves one variant at a time")
    if not any(os.environ.get(name) == "1" for name in THREADS[:3]):
        what = "its numerical libraries may use several threads each"
        return Misfit(me, what, "start it with its nanny, or with OMP_NUM_THREADS=1 in its environment")
    version = metadata.version("femdrum")
    if version != badge.version:
        return Misfit(
            me, f"has femdrum {version}, here it is {badge.version}", f"install femdrum {badge.version} there"
        )
    if source_digest() != badge.digest:
        return Misfit(
            me, f"has another femdrum than this one, though both call themselves {version}", "install the same there"
        )
    return _unreached(badge, me)


def _unreached(badge: Badge, me: str) -> Misfit | None:
    """Whether the results folder is there, is the same, and can be written."""
    way_out = "put the results on a file system that all workers share, under the same path, with --out"
    root = Path(badge.root)
    try:
        found = (root / badge.token_file).read_text(encoding="utf-8")
    except OSError as error:
        return Misfit(me, f"cannot read the results folder {badge.root!r}: {error.strerror or error}", way_out)
    if found != badge.token:
        return Misfit(me, f"sees another folder under {badge.root!r}", way_out)
    trial = root / "variants" / f".part-trial-0-{uuid.uuid4().hex[:8]}"
    try:
        trial.mkdir()
        trial.rmdir()
    except OSError as error:
        return Misfit(me, f"cannot write into the results folder {badge.root!r}: {error.strerror or error}", way_out)
    return None


_fit: set[str] = set()  # tokens of the runs for which this worker was looked at


def work_on(variant: Variant, badge: Badge, solver: Solver | None) -> Outcome | Misfit:
    """Solve and store a variant here, unless two workers died of it already."""
    if badge.token not in _fit:
        from distributed import get_worker

        sight = look(badge, get_worker())
        if sight.misfit is not None:
            return sight.misfit
        _fit.add(badge.token)
    store = Store(badge.root)
    if store.has(variant.key):  # stored by a worker that died, or was cut off, before it could say so
        record = store.record(variant.key)
        return Outcome(variant.key, tuple(a["verdict"] for a in record["answers"]), 0.0)
    if store.attempt(variant.key, badge.token) > MOST_ATTEMPTS:
        store.note_failure(variant.key, KILLED + "\n")
        return Outcome(variant.key, ("failed",) * len(variant.cases), 0.0, KILLED)
    outcome = solve_and_store(variant, badge.root, solver)
    store.end_attempts(variant.key, badge.token)
    return outcome
