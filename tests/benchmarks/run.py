"""All benchmarks, or those named, one after the other, with what they ran on.

python tests/benchmarks/run.py [NAME ...]
"""

from __future__ import annotations

import datetime
import os
import platform
import sys
from importlib import import_module, metadata
from pathlib import Path

LIBRARIES = ("femdrum", "numpy", "scipy", "rslab", "ngsolve")


def main() -> None:
    """Run them."""
    here = Path(__file__).parent
    known = sorted(p.stem for p in here.glob("*.py") if p.stem not in ("run", "peer_ring"))
    names = sys.argv[1:] or known
    unknown = [name for name in names if name not in known]
    if unknown:
        raise SystemExit(f"no benchmark {', '.join(unknown)}; there are {', '.join(known)}")
    versions = ", ".join(f"{name} {metadata.version(name)}" for name in LIBRARIES)
    print(f"{datetime.date.today()}, {os.cpu_count()} cores {platform.machine()}, {platform.system()},", end=" ")
    print(f"Python {platform.python_version()}, {versions}")
    sys.argv[1:] = []
    for name in names:
        print(f"\n== {name}")
        import_module(name).main()


if __name__ == "__main__":
    main()
