"""How much memory a solution may take, and the refusal where it would take more.

Killed processes leave no message, so what a step will need is reckoned before it begins.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ..errors import OverBudget

__all__ = ["LEAST_BYTES", "available_bytes", "require"]

GB = 1e9
# memory of an unknown, whichever way it is solved; what a factor takes is reckoned when its fill is known
LEAST_BYTES = 3_000.0
# what is not worth looking up how much is free
SMALL_BYTES = 50e6
_CGROUPS = (
    ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory.current", "/sys/fs/cgroup/memory.stat"),
    (
        "/sys/fs/cgroup/memory/memory.limit_in_bytes",
        "/sys/fs/cgroup/memory/memory.usage_in_bytes",
        "/sys/fs/cgroup/memory/memory.stat",
    ),
)


def require(unknowns: int, need_bytes: float, what: str) -> None:
    """Raise OverBudget, with the ways out, where a step needs more memory than this process may still take."""
    if need_bytes <= SMALL_BYTES:
        return
    free = available_bytes()
    if need_bytes > free:
        raise OverBudget(
            f"{what} of {unknowns} unknowns needs about {need_bytes / GB:.1f} GB, {free / GB:.1f} GB are free: use fewer "
            "workers, ask for a larger error, enlarge the radius, set most_unknowns below this to keep the coarser mesh, "
            "let aligned rows use their mirror planes (smaller block_rows), or run it on a larger machine (--cluster)"
        )


def available_bytes() -> float:
    """What this process may still take: the least of the machine's free memory, its container's, and its share among
    workers. Infinite where the system does not tell.
    """
    total, free = _machine()
    for most, used, stat in _CGROUPS:
        limit = _number(most)
        if limit is not None and limit < total:
            total = limit
            free = min(free, limit - (_number(used) or 0.0) + _field(stat, "inactive_file", 1.0))
    workers = _workers()
    return min(free, total / workers - _own()) if workers > 1 else free


def _machine() -> tuple[float, float]:
    total, free = (_field("/proc/meminfo", name, 1024.0) for name in ("MemTotal:", "MemAvailable:"))
    if total and free:
        return total, free
    try:  # not Linux: what is free is not told in one way everywhere
        total = float(os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"))
    except (AttributeError, OSError, ValueError):
        return float("inf"), float("inf")
    return total, total


def _own() -> float:
    """Memory of this process."""
    return _field("/proc/self/status", "VmRSS:", 1024.0)


def _workers() -> int:
    """This worker process and its fellows; 1 in any other process, or where the system does not tell."""
    worker = sys.modules.get("multiprocessing.process")  # a process that has not loaded it is no worker
    parent = worker.parent_process() if worker is not None else None
    if parent is None:
        return 1
    try:
        children = Path(f"/proc/{parent.pid}/task/{parent.pid}/children").read_text().split()
    except OSError:
        return 1
    return max(1, sum(_spawned(child) for child in children))


def _spawned(process: str) -> bool:
    try:
        return b"spawn_main" in Path(f"/proc/{process}/cmdline").read_bytes()
    except OSError:
        return False


def _number(path: str) -> float | None:
    try:
        text = Path(path).read_text().strip()
    except OSError:
        return None
    return float(text) if text.isdigit() else None


def _field(path: str, name: str, unit: float) -> float:
    """A number in a file of lines `name number`, times its unit; 0 where it is not there."""
    try:
        lines = Path(path).read_text().splitlines()
    except OSError:
        return 0.0
    return next((float(line.split()[1]) * unit for line in lines if line.split()[:1] == [name]), 0.0)
