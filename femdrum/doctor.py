"""Looks at the machine: what femdrum needs and what is missing, with the one line that mends it."""

from __future__ import annotations

import importlib.util
import os
import platform
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import metadata

__all__ = ["DEBIAN", "Finding", "examine"]

# packages that Debian and its kin need besides python3; the same list as .ci/debian
DEBIAN = (
    "python3-venv",
    "libglu1-mesa",
    "libgl1",
    "libegl1",
    "libxft2",
    "libxcursor1",
    "libxinerama1",
    "libgomp1",
    "libpangoft2-1.0-0",
    "libharfbuzz-subset0",
)
# what of each is loaded by the mesher, the off-screen pictures or the report as PDF
_SHARED = {
    "libglu1-mesa": "libGLU.so.1",
    "libgl1": "libGL.so.1",
    "libegl1": "libEGL.so.1",
    "libxft2": "libXft.so.2",
    "libxcursor1": "libXcursor.so.1",
    "libxinerama1": "libXinerama.so.1",
    "libgomp1": "libgomp.so.1",
    "libpangoft2-1.0-0": "libpangoft2-1.0.so.0",
    "libharfbuzz-subset0": "libharfbuzz-subset.so.0",
}
_MODULES = {"scikit-fem": "skfem"}
# extras that are looked at where they are there: what they are for
_OPTIONAL = {"cluster": "only `femdrum study --cluster` needs it", "pdf": "only the report as PDF needs it"}
_PICTURE = (
    "import pyvista; pyvista.OFF_SCREEN = True; p = pyvista.Plotter(off_screen=True, window_size=(64, 64)); "
    "p.add_mesh(pyvista.Cube()); p.screenshot(None, return_img=True); p.close()"
)
_LEAST_MEMORY_GB = 2.0


@dataclass(frozen=True)
class Finding:
    """One thing looked at. good: None where it is only told. mend: the line that mends it."""

    what: str
    good: bool | None
    text: str
    mend: str = ""


def examine(*, pictures: bool = True) -> list[Finding]:
    """Everything that is looked at. pictures: also draw one, which takes a few seconds."""
    return [*_python(), *_libraries(), *_system(pictures), *_machine()]


def _python() -> Iterator[Finding]:
    good = sys.version_info[:2] >= (3, 11)
    yield Finding(
        "Python",
        good,
        f"{platform.python_version()} ({platform.machine()})",
        "" if good else "install Python 3.11 or newer",
    )


def _libraries() -> Iterator[Finding]:
    try:
        needs = metadata.requires("femdrum") or []
    except metadata.PackageNotFoundError:
        yield Finding("femdrum", False, "is not installed", "python3 -m pip install .")
        return
    for need in needs:
        extra = re.search(r"extra == ['\"](\w+)['\"]", need)
        if extra is not None and extra[1] not in _OPTIONAL:
            continue
        name = re.split(r"[<>=!~; \[]", need, maxsplit=1)[0]
        range_ = need.split(";")[0][len(name) :].strip()
        mend = f"{sys.executable} -m pip install '{name}{range_}'"
        try:
            version = metadata.version(name)
        except metadata.PackageNotFoundError:
            if extra is not None:
                yield Finding(name, None, f"is not installed; {_OPTIONAL[extra[1]]}: {mend}")
            else:
                yield Finding(name, False, f"is not installed; tested range {range_}", mend)
            continue
        if not in_range(version, range_):
            yield Finding(name, False, f"{version} is outside the tested range {range_}", mend)
            continue
        trouble = _in_child(f"import {_MODULES.get(name, name)}")
        missing = re.search(r"(lib[\w+-]+\.so[.\d]*)", trouble)
        text = f"{version} does not load: {trouble}" if trouble else f"{version} (tested {range_})"
        yield Finding(name, not trouble, text, "" if not trouble else debian_line() if missing else mend)


def _system(pictures: bool) -> Iterator[Finding]:
    if sys.platform.startswith("linux"):
        absent = [
            package for package, library in _SHARED.items() if _in_child(f"import ctypes; ctypes.CDLL({library!r})")
        ]
        text = f"missing: {', '.join(absent)}" if absent else "all there"
        yield Finding("system libraries", not absent, text, debian_line() if absent else "")
    if sys.prefix == sys.base_prefix:
        good = importlib.util.find_spec("venv") is not None and importlib.util.find_spec("ensurepip") is not None
        yield Finding(
            "virtual environments",
            good,
            "can be made" if good else "python3-venv is missing",
            "" if good else debian_line(),
        )
    if pictures:
        trouble = _in_child(_PICTURE)
        text = f"cannot be drawn: {trouble}" if trouble else "can be drawn without a screen"
        yield Finding("pictures of fields", not trouble, text, debian_line() if trouble else "")


def _machine() -> Iterator[Finding]:
    here = os.getcwd()
    try:
        with tempfile.TemporaryFile(dir=here):
            pass
        yield Finding("folder", True, f"{here} can be written")
    except OSError as error:
        yield Finding(
            "folder",
            False,
            f"{here} cannot be written: {error.strerror}",
            "change to a folder of your own, or use --out",
        )
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    yield Finding("cores", None, f"{cores}")
    memory = memory_gb()
    if memory is not None:
        good = memory >= _LEAST_MEMORY_GB
        yield Finding(
            "memory", good, f"{memory:.1f} GB", "" if good else "use --workers 1 and keep most_unknowns small"
        )


def memory_gb() -> float | None:
    """Physical memory, or None where the system does not tell."""
    try:
        return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1e9
    except (AttributeError, ValueError, OSError):
        return None


def debian_line() -> str:
    """The line that installs the system packages on Debian and its kin."""
    return (
        f"S=$(command -v sudo); $S apt-get update && $S apt-get install -y --no-install-recommends {' '.join(DEBIAN)}"
    )


def in_range(version: str, range_: str) -> bool:
    """True if a version satisfies `>=1.2,<3`."""
    have = _numbers(version)
    for part in filter(None, range_.replace(" ", "").split(",")):
        found = re.fullmatch(r"(>=|<=|<|>|==|~=|!=)(.+)", part)
        if found is None:
            return True
        sign, limit = found[1], _numbers(found[2])
        length = max(len(have), len(limit))
        a, b = (v + (0,) * (length - len(v)) for v in (have, limit))
        good = {">=": a >= b, "<=": a <= b, "<": a < b, ">": a > b, "==": a == b, "~=": a >= b, "!=": a != b}
        if not good[sign]:
            return False
    return True


def _numbers(version: str) -> tuple[int, ...]:
    found = re.match(r"\d+(\.\d+)*", version)
    return tuple(int(n) for n in found[0].split(".")) if found else (0,)


def _in_child(code: str) -> str:
    """Run a line in a child process: a missing system library may kill it. Empty if it went well, else why not."""
    try:
        child = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        return str(error)
    if child.returncode == 0:
        return ""
    last = child.stderr.strip().splitlines()
    return last[-1][:200] if last else f"the process ended with {child.returncode}"
