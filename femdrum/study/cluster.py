"""The variants of a study on a dask.distributed cluster that somebody started: connected, checked, handed out, taken back.

The workers write into the results folder themselves, so they must reach it under the same path. What runs there is in
`remote.py`; a worker that died while it worked is made up for by the scheduler, which gives its variants to others.
"""

from __future__ import annotations

import queue
import re
import sys
import time
import uuid
from contextlib import suppress
from importlib import metadata
from types import TracebackType
from typing import Any

from ..errors import MISSING, Fault, FemdrumError, InputFault
from .remote import MOST_ATTEMPTS, Badge, Misfit, Sight, look, source_digest, work_on
from .store import Store, write_text
from .study import Variant
from .work import KILLED, Outcome, Solver, versions

__all__ = ["Cluster", "ClusterLost"]

_FIELD = "--cluster"
_ADDRESS = re.compile(r"([a-z0-9+]+://)?(\[[0-9a-fA-F:.%]+\]|[^\s/:\[\]]+):\d{1,5}")
_CONNECT_S = 10.0
_FIRST_WORKER_S = 20.0
_LOOK_S = 1.0
_PATIENCE_S = 120.0  # without any worker, before the run ends
_SHOWN = 3


class ClusterLost(FemdrumError):
    """The cluster went away under a run; what is finished is kept."""


class Cluster:
    """Connected and checked workers; used as a context, it takes back what is out when it is left.

    Raises InputFault for an address that leads nowhere, for workers that must not be used, and where the library is missing.
    """

    def __init__(self, address: str) -> None:
        self.address = address
        self._client = self._connect()
        self._done: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._out: set[Any] = set()
        self._badge: Badge | None = None
        self._store: Store | None = None
        self._workers: set[str] = set()
        self._empty_since: float | None = None
        self._looked = 0.0
        try:
            self._wait_for_workers()
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Cluster:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Take back what is out, and leave; a worker finishes and stores the variant it is at."""
        try:
            if self._out:
                self._client.cancel(list(self._out), force=True)
            self._out.clear()
            self._client.close(timeout=_CONNECT_S)
        except Exception:  # the scheduler is gone: there is nothing left to take back
            pass
        finally:
            if self._store is not None and self._badge is not None:
                with suppress(OSError):
                    (self._store.root / self._badge.token_file).unlink(missing_ok=True)
                self._store.forget_attempts(self._badge.token)

    # connecting and checking

    def _connect(self) -> Any:
        if not _ADDRESS.fullmatch(self.address.strip()):
            raise self._fault("must be HOST:PORT or tcp://HOST:PORT, as `dask scheduler` prints it", _HOW)
        try:
            from distributed import Client
        except ImportError as error:
            what = "needs the library dask.distributed, which cannot be loaded"
            raise self._fault(what, f"{sys.executable} -m pip install {requirement()!r}") from error
        try:
            return Client(self.address.strip(), timeout=_CONNECT_S, set_as_default=False, name="femdrum")
        except Exception as error:  # from not resolving to not answering: the library has many words for it
            said = " ".join(str(error).split()) or type(error).__name__
            raise self._fault(f"there is no scheduler that answers: {said[:200]}", _HOW) from error

    def _wait_for_workers(self) -> None:
        try:
            self._client.wait_for_workers(1, timeout=_FIRST_WORKER_S)
        except Exception as error:
            raise self._fault("the cluster has no worker", self._start_worker()) from error
        threads = self._client.nthreads()
        many = [f"{worker} has {count}" for worker, count in threads.items() if count != 1]
        if many:
            what = f"a worker must solve one variant at a time, with one thread: {_some(many)}"
            raise self._fault(what, self._start_worker())
        self._workers = set(threads)
        own = metadata.version("femdrum")
        # asked by a function of the standard library: a worker without femdrum can answer too
        found = self._client.run(metadata.version, "femdrum", on_error="return")
        absent = [w for w, v in found.items() if not isinstance(v, str)]
        other = [f"{w} has {v}" for w, v in found.items() if isinstance(v, str) and v != own]
        if absent:
            raise self._fault(f"femdrum is not installed for {_some(absent)}", f"install femdrum {own} there")
        if other:
            raise self._fault(f"femdrum here is {own}; {_some(other)}", f"install femdrum {own} there")

    def check(self, store: Store, kinds: tuple[str, ...]) -> list[str]:
        """Raise InputFault unless every worker reaches the folder and is fit to work; what else is to be known of them.

        kinds: of the parts to be solved, for which the workers load what is needed.
        """
        token = uuid.uuid4().hex
        self._store = store
        self._badge = Badge(str(store.root.absolute()), token, metadata.version("femdrum"), source_digest(), kinds)
        write_text(store.root / self._badge.token_file, token)
        seen = self._client.run(look, self._badge, on_error="return")
        wrong = {w: s for w, s in seen.items() if not isinstance(s, Sight)}
        if wrong:
            worker, error = next(iter(wrong.items()))
            raise self._fault(
                f"{worker} cannot be looked at: {type(error).__name__}: {error}", "install the same femdrum there"
            )
        for worker, sight in seen.items():
            if sight.misfit is not None:
                raise self._misfit(worker, sight.misfit)
        own = versions()
        told: dict[str, list[str]] = {}
        for worker, sight in seen.items():
            for name, version in sight.versions.items():
                if own.get(name) != version:
                    told.setdefault(f"{name} {version}, here {own.get(name)}", []).append(worker)
        return [f"other versions may change the last digits: {what} ({_some(who)})" for what, who in told.items()]

    # working

    @property
    def workers(self) -> int:
        """Workers at the last look."""
        return max(len(self._workers), 1)

    def hand_out(self, variant: Variant, solver: Solver | None) -> Any:
        """Give a variant to the cluster; the future comes back from `finished`."""
        key = f"femdrum-{variant.key}-{uuid.uuid4().hex[:8]}"
        future = self._client.submit(work_on, variant, self._badge, solver, key=key, pure=False, retries=0)
        self._out.add(future)
        future.add_done_callback(self._done.put)
        return future

    def finished(self) -> Any | None:
        """The next future that is done; None after a while without one."""
        try:
            future = self._done.get(timeout=_LOOK_S)
        except queue.Empty:
            return None
        self._out.discard(future)
        return future

    def result(self, future: Any, variant: Variant) -> Outcome | None:
        """What became of a variant; None where the scheduler gave it up because workers died under others beside it.

        Raises InputFault for a worker that must not be used, ClusterLost if the scheduler is gone, and what
        the worker's own function did not expect.
        """
        from distributed import KilledWorker

        if future.status == "cancelled":
            raise ClusterLost(
                f"the scheduler at {self.address} is gone; what is finished is kept, and the same command goes on from there"
            )
        try:
            found = future.result()
        except KilledWorker:
            assert self._store is not None
            assert self._badge is not None
            if self._store.attempts(variant.key, self._badge.token) < MOST_ATTEMPTS:
                return None
            self._store.note_failure(variant.key, KILLED + "\n")
            return Outcome(variant.key, ("failed",) * len(variant.cases), 0.0, KILLED)
        if isinstance(found, Misfit):
            raise self._misfit(found.worker, found)
        outcome: Outcome = found
        return outcome

    def look_around(self, at_once: bool = False) -> list[str]:
        """Which workers went away since the last look. Raises ClusterLost when nobody is left for too long."""
        now = time.monotonic()
        if now - self._looked < _LOOK_S and not at_once:
            return []
        self._looked = now
        try:
            there = set(self._client.nthreads())
        except Exception as error:
            raise ClusterLost(
                f"the scheduler at {self.address} does not answer any more; what is finished is kept, and the same command goes on from there"
            ) from error
        gone = sorted(self._workers - there)
        self._workers = there
        if there:
            self._empty_since = None
        elif self._empty_since is None:
            self._empty_since = now
        elif now - self._empty_since > _PATIENCE_S:
            raise ClusterLost(
                f"the cluster has had no worker for {_PATIENCE_S:.0f} s; what is finished is kept, and the same command goes on from there"
            )
        return gone

    # words

    def _misfit(self, worker: str, misfit: Misfit) -> InputFault:
        return self._fault(f"{worker}: {misfit.what}", misfit.way_out or self._start_worker())

    def _start_worker(self) -> str:
        return f"start workers by `dask worker {self.address} --nthreads 1 --nworkers N`"

    def _fault(self, allowed: str, way_out: str = "") -> InputFault:
        return InputFault(Fault(_FIELD, self.address or MISSING, allowed, way_out))


_HOW = "start one by `dask scheduler`, which prints its address, and workers by `dask worker ADDRESS --nthreads 1 --nworkers N`"


def requirement() -> str:
    """What the extra `cluster` asks for, with its tested range."""
    try:
        needs = metadata.requires("femdrum") or []
    except metadata.PackageNotFoundError:
        needs = []
    return next((n.split(";")[0].strip() for n in needs if n.startswith("distributed")), "distributed")


def _some(items: list[str]) -> str:
    more = f" and {len(items) - _SHOWN} more" if len(items) > _SHOWN else ""
    return ", ".join(items[:_SHOWN]) + more
