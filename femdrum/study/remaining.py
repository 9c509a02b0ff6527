"""What time remains of a run: from the variants that are finished, weighed by what each was foreseen to cost."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping

__all__ = ["Remaining"]

# the pace is that of about the last so many variants
_LAST = 50


class Remaining:
    """The pace of a run so far, and from it the time that remains.

    costs: key of each variant to be solved -> foreseen cost, in any unit. workers: how many are solved at a time; may
    be set anew as workers come and go. Nothing is said until as many have finished as work at a time, and two at
    least: the first to finish are the quick ones.
    """

    def __init__(
        self, costs: Mapping[str, float], workers: int = 1, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.workers = workers
        self._costs, self._clock = dict(costs), clock
        self.count = len(costs)
        self._left = sum(self._costs.values())
        self._out: dict[str, float | None] = {}  # handed out, in that order -> since when it is worked on
        self._seconds = self._weight = 0.0
        self._told = 0

    def began(self, key: str) -> None:
        """A variant is handed out. Those handed out first are worked on, as many as there are workers."""
        self._out[key] = None
        self._start()

    def _start(self) -> None:
        now = self._clock()
        for key in list(self._out)[: self.workers]:
            if self._out[key] is None:
                self._out[key] = now

    def ended(self, key: str, seconds: float | None) -> None:
        """A variant has left; seconds: what it took, None where it failed, which says nothing of the others."""
        self._out.pop(key, None)
        self._start()
        cost = self._costs.pop(key, 0.0)
        self._left -= cost
        if seconds is not None and cost > 0.0:
            keep = 1.0 - 1.0 / _LAST
            self._seconds = keep * self._seconds + seconds
            self._weight = keep * self._weight + cost
            self._told += 1

    def seconds(self) -> float | None:
        """The time that remains, about; None where nothing honest can be said yet."""
        if not self._costs:
            return 0.0
        if self._told < max(2, self.workers):
            return None
        pace = self._seconds / self._weight
        now = self._clock()
        done = 0.0
        longest = 0.0
        for key, since in self._out.items():
            whole = pace * self._costs.get(key, 0.0)
            passed = min(now - since, whole) if since is not None else 0.0
            done += passed
            longest = max(longest, whole - passed)
        return max((pace * max(self._left, 0.0) - done) / max(self.workers, 1), longest)
