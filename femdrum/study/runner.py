"""Runs the variants of a study, on worker processes, and keeps what is finished whatever happens."""

from __future__ import annotations

import os
import shutil
from collections import Counter, deque
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import FemdrumError
from .cost import longest_first
from .remaining import Remaining
from .rest_stage import reckon_rest
from .results import Results
from .store import Store
from .study import Study, Variant
from .work import KILLED, Outcome, Solver, begin, one_thread_each, path_of, solve_and_store
from .write import write_results

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future

    from .cluster import Cluster

__all__ = ["Event", "default_workers", "run"]

_WINDOW = 2  # variants handed out per worker: enough to keep it busy, few enough to stop soon

_MOST_GIVEN_UP = 3  # times that the scheduler gives up a variant for what others beside it did


@dataclass(frozen=True)
class Event:
    """Progress of a run.

    kind: "started" (done = variants found finished), "step" (a mesh of a variant solved in this process),
    "done", "failed", "life" (a variant's life is reckoned; text: why it has none), "killed" (a worker died and its variants are tried again), "note" (something of the cluster is
    worth knowing), "finished". remaining_s: the time that remains, about; None where nothing can be said yet.
    """

    kind: str
    done: int
    total: int
    variant: Variant | None = None
    verdicts: tuple[str, ...] = ()
    seconds: float = 0.0
    text: str = ""
    remaining_s: float | None = None


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
    cluster: str | None = None,
    on_event: Callable[[Event], None] | None = None,
    solver: Solver | None = None,
) -> Results:
    """Solve the variants of `study` that `out` does not hold yet, and write the results there.

    executor: any executor of concurrent.futures whose workers reach the folder. cluster: address of the scheduler of a
    dask.distributed cluster whose workers reach the folder under the same path, instead. Else `workers` processes
    (default: one per core). A single variant, or workers=1, runs in this process.
    A script that calls this guards its main part by `if __name__ == "__main__":`, as for every process pool.
    solver: stands in for assess.solve.solve_all.
    Raises FileFault for a folder that is not ours to use, InputFault for a cluster that cannot be used.
    """
    if workers is not None and workers < 1:
        raise ValueError(f"workers = {workers}: must be at least 1")
    with ExitStack() as stack:
        Store(out).check(study)
        joined = stack.enter_context(_joined(cluster)) if cluster is not None else None
        fresh = not Path(out).exists()
        store = Store.open(study, out)
        finished = store.finished()
        todo, costs = longest_first([v for v in study.variants if v.key not in finished])
        count = min(workers or getattr(executor, "_max_workers", default_workers()), max(len(todo), 1))
        job = _Run(study, store, solver, on_event or (lambda event: None), Remaining(costs, count))
        notes = _looked_at(joined, store, kinds_of(todo), fresh) if joined is not None else []
        job.tell("started")
        for text in notes:
            job.tell("note", text=text)
        try:
            if joined is not None:
                job.on_cluster(joined, deque(todo))
            elif executor is not None:
                job.on_executor(executor, deque(todo))
            elif count > 1:
                job.on_pool(deque(todo), count)
            else:
                job.here(todo)
            job.lives(count)
            reckon_rest(study, store)
        finally:
            if len(job.failures) + job.finished == len(study.variants):
                write_results(study, store, job.failures)
    job.tell("finished")
    return Results.load(store.root)


def _joined(address: str) -> Cluster:
    from .cluster import Cluster  # late, as what makes processes below: one variant alone needs neither

    return Cluster(address)


def _looked_at(cluster: Cluster, store: Store, kinds: tuple[str, ...], fresh: bool) -> list[str]:
    """Check the workers; a folder that was made for them alone goes again if they cannot be used."""
    try:
        return cluster.check(store, kinds)
    except BaseException:
        if fresh:
            shutil.rmtree(store.root, ignore_errors=True)
        raise


def kinds_of(variants: Iterable[Variant]) -> tuple[str, ...]:
    """The kinds of part among them."""
    return tuple(dict.fromkeys(v.part.kind for v in variants))


class _Run:
    def __init__(
        self,
        study: Study,
        store: Store,
        solver: Solver | None,
        on_event: Callable[[Event], None],
        remaining: Remaining,
    ) -> None:
        self.study, self.store, self.solver, self.on_event = study, store, solver, on_event
        self.root = path_of(store.root)
        self.remaining = remaining
        self.finished = len(study.variants) - remaining.count
        self.failures: dict[str, str] = {}

    def tell(self, kind: str, variant: Variant | None = None, outcome: Outcome | None = None, text: str = "") -> None:
        done = self.finished + len(self.failures)
        verdicts, seconds = (outcome.verdicts, outcome.seconds) if outcome else ((), 0.0)
        remaining = self.remaining.seconds()
        self.on_event(Event(kind, done, len(self.study.variants), variant, verdicts, seconds, text, remaining))

    def took(self, variant: Variant, outcome: Outcome) -> None:
        """Note the outcome of a variant."""
        failed = "failed" in outcome.verdicts
        self.remaining.ended(variant.key, outcome.seconds if not failed and outcome.seconds > 0.0 else None)
        if failed:
            self.failures[variant.key] = outcome.failure
            self.tell("failed", variant, outcome, outcome.failure)
        else:
            self.finished += 1
            self.tell("done", variant, outcome)

    def fail(self, variant: Variant, message: str) -> None:
        """Note a variant whose worker did not come back."""
        self.store.note_failure(variant.key, message + "\n")
        self.took(variant, Outcome(variant.key, ("failed",) * len(variant.cases), 0.0, message))

    def lives(self, workers: int) -> None:
        """The lives that the study asks for, from what is stored."""
        if self.study.life is None:
            return
        from .life_stage import lives

        def done(variant: Variant, reason: str) -> None:
            self.tell("life", variant, text=reason)

        lives(self.study, self.store, workers, done)

    def here(self, todo: Iterable[Variant]) -> None:
        """One after the other, in this process."""
        for variant in todo:

            def step(*args: object, variant: Variant = variant, **more: object) -> None:
                self.tell("step", variant, text=" ".join([*map(str, args), *map(str, more.values())]))

            self.remaining.began(variant.key)
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

    def on_cluster(self, cluster: Cluster, todo: deque[Variant]) -> None:
        """On somebody else's workers. If one dies, its variants go to others; the second time such a variant has failed."""
        out: dict[Any, Variant] = {}
        given_up: Counter[str] = Counter()
        while out or todo:
            self._gone(cluster.look_around())
            self.remaining.workers = cluster.workers
            while todo and len(out) < _WINDOW * cluster.workers:
                variant = todo.popleft()
                self.remaining.began(variant.key)
                out[cluster.hand_out(variant, self.solver)] = variant
            future = cluster.finished()
            if future is None:
                continue
            variant = out.pop(future)
            try:
                outcome = cluster.result(future, variant)
            except FemdrumError:
                raise
            except Exception as error:  # what the worker function itself did not expect
                self.fail(variant, f"could not be worked on: {type(error).__name__}: {error}")
                continue
            if outcome is None and given_up[variant.key] < _MOST_GIVEN_UP:
                given_up[variant.key] += 1
                todo.appendleft(variant)
            elif outcome is None:
                self.fail(variant, "worker processes were killed again and again before this was begun")
            else:
                self.took(variant, outcome)
        self._gone(cluster.look_around(at_once=True))

    def _gone(self, workers: Iterable[str]) -> None:
        for worker in workers:
            self.tell("killed", text=f"the worker {worker} is gone; what it worked on is tried again by others")

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
                    self.fail(again, KILLED)

    def _pool(self, todo: deque[Variant], workers: int) -> list[Variant]:
        """Work on a fresh pool until nothing is left, or until it breaks: then the variants that were out."""
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        with one_thread_each():
            kinds = kinds_of(todo) if self.solver is None else ()
            pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=begin, initargs=(kinds,))
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
        from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, wait

        out: dict[Future[Outcome], Variant] = {}
        lost: list[Variant] = []
        while out or (todo and not lost):
            while todo and not lost and len(out) < window:
                variant = todo.popleft()
                self.remaining.began(variant.key)
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
                        self.took(variant, Outcome(variant.key, (), 0.0))
                except Exception as error:  # what the worker function itself did not expect: a full disk, no pickling
                    self.fail(variant, f"could not be worked on: {type(error).__name__}: {error}")
        return lost
