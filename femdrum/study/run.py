"""Runs the variants of a study, on worker processes, and keeps what is finished whatever happens."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from multiprocessing import get_context

from .results import Results
from .store import Store
from .study import Study, Variant
from .work import Outcome, Solver, begin, one_thread_each, path_of, solve_and_store
from .write import write_results

__all__ = ["Event", "default_workers", "run"]

_WINDOW = 2  # variants handed out per worker: enough to keep it busy, few enough to stop soon
_KILLED = "the worker process was killed twice; most often the memory did not suffice"


@dataclass(frozen=True)
class Event:
    """Progress of a run.

    kind: "started" (done = variants found finished), "step" (a mesh of a variant solved in this process),
    "done", "failed", "killed" (a worker died and its variants are tried again), "finished".
    """

    kind: str
    done: int
    total: int
    variant: Variant | None = None
    verdicts: tuple[str, ...] = ()
    seconds: float = 0.0
    text: str = ""


def default_workers() -> int:
    """The cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


def run(
    study: Study,
    out: str | os.PathLike[str],
    *,
    executor: Executor | None = None,
    workers: int | None = None,
    on_event: Callable[[Event], None] | None = None,
    solver: Solver | None = None,
) -> Results:
    """Solve the variants of `study` that `out` does not hold yet, and write the results there.

    executor: any executor of concurrent.futures whose workers reach the folder; else `workers` processes
    (default: one per core). A single variant, or workers=1, runs in this process.
    A script that calls this guards its main part by `if __name__ == "__main__":`, as for every process pool.
    solver: stands in for assess.solve.solve_all.
    """
    if workers is not None and workers < 1:
        raise ValueError(f"workers = {workers}: must be at least 1")
    store = Store.open(study, out)
    finished = store.finished()
    todo = deque(sorted((v for v in study.variants if v.key not in finished), key=_cost, reverse=True))
    job = _Run(study, store, solver, on_event or (lambda event: None), len(study.variants) - len(todo))
    job.tell("started")
    count = min(workers or default_workers(), len(todo))
    try:
        if executor is not None:
            job.on_executor(executor, todo)
        elif count > 1:
            job.on_pool(todo, count)
        else:
            job.here(todo)
    finally:
        if len(job.failures) + job.finished == len(study.variants):
            write_results(study, store, job.failures)
    job.tell("finished")
    return Results.load(store.root)


def _cost(variant: Variant) -> float:
    """Greater for what takes longer: solids before plates, small radii before large ones."""
    part = variant.part
    solid = getattr(part, "kind", "") in ("ring", "mesh")
    radius = getattr(getattr(part, "cutout", None), "least_radius_mm", 0.0) or 0.0
    return (1e6 if solid else 0.0) + 1.0 / (radius + 1e-3)


class _Run:
    def __init__(
        self, study: Study, store: Store, solver: Solver | None, on_event: Callable[[Event], None], finished: int
    ) -> None:
        self.study, self.store, self.solver, self.on_event = study, store, solver, on_event
        self.root = path_of(store.root)
        self.finished = finished
        self.failures: dict[str, str] = {}

    def tell(self, kind: str, variant: Variant | None = None, outcome: Outcome | None = None, text: str = "") -> None:
        done = self.finished + len(self.failures)
        verdicts, seconds = (outcome.verdicts, outcome.seconds) if outcome else ((), 0.0)
        self.on_event(Event(kind, done, len(self.study.variants), variant, verdicts, seconds, text))

    def took(self, variant: Variant, outcome: Outcome) -> None:
        """Note the outcome of a variant."""
        if "failed" in outcome.verdicts:
            self.failures[variant.key] = outcome.failure
            self.tell("failed", variant, outcome, outcome.failure)
        else:
            self.finished += 1
            self.tell("done", variant, outcome)

    def fail(self, variant: Variant, message: str) -> None:
        """Note a variant whose worker did not come back."""
        self.store.note_failure(variant.key, message + "\n")
        self.took(variant, Outcome(variant.key, ("failed",) * len(variant.cases), 0.0, message))

    def here(self, todo: Iterable[Variant]) -> None:
        """One after the other, in this process."""
        for variant in todo:

            def step(*args: object, variant: Variant = variant, **more: object) -> None:
                self.tell("step", variant, text=" ".join([*map(str, args), *map(str, more.values())]))

            self.took(variant, solve_and_store(variant, self.root, self.solver, step))

    def on_executor(self, executor: Executor, todo: deque[Variant]) -> None:
        """On somebody else's executor; if it breaks, what was on it has failed."""
        while todo:
            lost = self._feed(executor, todo, _WINDOW * default_workers())
            for variant in lost:
                self.fail(variant, "the executor broke down while it worked on this")
            if lost:
                for variant in todo:
                    self.fail(variant, "the executor broke down before this was begun")
                return

    def on_pool(self, todo: deque[Variant], workers: int) -> None:
        """On own worker processes. If one dies, each variant that was out is tried once more, alone."""
        while todo:
            lost = self._pool(todo, workers)
            if lost:
                self.tell(
                    "killed", text=f"a worker process was killed; {len(lost)} variants are tried again, one at a time"
                )
            for variant in lost:
                for again in self._pool(deque([variant]), 1):
                    self.fail(again, _KILLED)

    def _pool(self, todo: deque[Variant], workers: int) -> list[Variant]:
        """Work on a fresh pool until nothing is left, or until it breaks: then the variants that were out."""
        with one_thread_each():
            pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=begin)
            try:
                lost = self._feed(pool, todo, _WINDOW * workers)
            except BaseException:
                processes = list((getattr(pool, "_processes", None) or {}).values())
                pool.shutdown(wait=False, cancel_futures=True)
                for process in processes:
                    process.terminate()
                raise
            pool.shutdown(wait=True)
            return lost

    def _feed(self, pool: Executor, todo: deque[Variant], window: int) -> list[Variant]:
        out: dict[Future[Outcome], Variant] = {}
        lost: list[Variant] = []
        while out or (todo and not lost):
            while todo and not lost and len(out) < window:
                variant = todo.popleft()
                try:
                    out[pool.submit(solve_and_store, variant, self.root, self.solver)] = variant
                except BrokenExecutor:
                    lost.append(variant)
            finished, _ = wait(out, return_when=FIRST_COMPLETED)
            for future in finished:
                variant = out.pop(future)
                try:
                    self.took(variant, future.result())
                except BrokenExecutor:
                    if not self.store.has(variant.key):
                        lost.append(variant)
                    else:
                        self.finished += 1
                        self.tell("done", variant)
                except Exception as error:  # what the worker function itself did not expect: a full disk, no pickling
                    self.fail(variant, f"could not be worked on: {type(error).__name__}: {error}")
        return lost
