"""The results folder: a folder per variant, keyed by content, never half-written.

- study.json: whose folder this is
- variants/<key>/: variant.json, edge.npz, field.vtu, log.txt
- failed/<key>.txt: why a variant has no solution; it is tried again next time
- results.csv, results.json: the table, and everything
"""

from __future__ import annotations

import json
import os
import platform
import shutil
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from ..errors import MISSING, Fault, FileFault
from .study import Study

__all__ = ["Store", "read_json", "write_text"]

_MARK = "study.json"
_ATTEMPTS = ".attempts"
_STALE_S = 86_400.0


class Store:
    """A results folder."""

    def __init__(self, root: str | os.PathLike[str]) -> None:
        self.root = Path(root)

    @classmethod
    def open(cls, study: Study, out: str | os.PathLike[str]) -> Store:
        """The folder of this study, made if need be. Raises FileFault, and touches nothing, if it is not ours to use."""
        store = cls(out)
        store.check(study)
        mark = json.dumps(
            {"made by": "femdrum", "name": study.name, "title": study.title, "study": study.source},
            indent=1,
            ensure_ascii=False,
        )
        made = [p for p in (store.root, *store.root.parents) if not p.exists()]
        try:
            (store.root / "variants").mkdir(parents=True, exist_ok=True)
            write_text(store.root / _MARK, mark + "\n")
        except (OSError, ValueError) as error:
            if store.root in made:
                shutil.rmtree(store.root, ignore_errors=True)
            for folder in made:
                _remove_empty(folder)
            raise _fault(
                store.root,
                f"cannot be used: {getattr(error, 'strerror', None) or error}",
                "choose another folder with --out",
            ) from error
        store._sweep()
        return store

    def check(self, study: Study) -> None:
        """Raise FileFault if the folder is a file, foreign, another study's, or not writable. Touches nothing."""
        root = self.root
        another = "choose another folder with --out"
        if "\0" in str(root):
            raise _fault(root, "cannot be used: it holds a zero byte", another)
        try:
            if root.is_dir():
                mark = root / _MARK
                if mark.is_file():
                    self._check_mark(read_json(mark), study)
                elif any(root.iterdir()):
                    raise _fault(root, "is not empty and holds no results of this study", another)
            elif root.exists() or root.is_symlink():
                raise _fault(root, "is a file, not a folder", another)
            home = root
            while not home.exists() and home != home.parent:
                home = home.parent
        except (OSError, ValueError) as error:
            if isinstance(error, FileFault):
                raise
            raise _fault(root, f"cannot be used: {getattr(error, 'strerror', None) or error}", another) from error
        if not home.is_dir():
            raise _fault(root, f"cannot be made: {str(home)!r} is a file", another)
        if not os.access(home, os.W_OK | os.X_OK):
            raise _fault(root, "cannot be written", another)

    def _check_mark(self, mark: Any, study: Study) -> None:
        if not isinstance(mark, dict) or (mark.get("name"), mark.get("title")) != (study.name, study.title):
            whose = f"{mark.get('title')!r} ({mark.get('name')}.toml)" if isinstance(mark, dict) else "something else"
            raise _fault(self.root, f"belongs to another study: {whose}", "choose another folder with --out")

    def _sweep(self) -> None:
        """Remove what earlier runs on this machine left half-written when they were killed."""
        host = _host()
        for mark in (self.root / _ATTEMPTS).glob("*"):  # of a run on a cluster
            with suppress(OSError):
                if time.time() - mark.stat().st_mtime > _STALE_S:
                    mark.unlink()
        for folder in (self.root / "variants").glob(".part-*"):
            _, owner, pid, *_ = folder.name.split("-")
            try:
                old = time.time() - folder.stat().st_mtime > _STALE_S
            except OSError:
                continue
            if old or (os.name == "posix" and owner == host and pid.isdigit() and not _alive(int(pid))):
                shutil.rmtree(folder, ignore_errors=True)

    def folder(self, key: str) -> Path:
        """Folder of a variant."""
        return self.root / "variants" / key

    def has(self, key: str) -> bool:
        """True if the variant is finished, and not with a failure, which is tried again."""
        return (self.folder(key) / "variant.json").is_file() and not (self.root / "failed" / f"{key}.txt").exists()

    def finished(self) -> set[str]:
        """Keys of all variants for which `has` is true, from one look at the folder."""
        failed = {p.stem for p in (self.root / "failed").glob("*.txt")}
        with os.scandir(self.root / "variants") as entries:
            keys = [e.name for e in entries if not e.name.startswith(".") and e.name not in failed]
        return {key for key in keys if (self.folder(key) / "variant.json").is_file()}

    def record(self, key: str) -> dict[str, Any]:
        """What variant.json holds."""
        record: dict[str, Any] = read_json(self.folder(key) / "variant.json")
        return record

    @contextmanager
    def writing(self, key: str) -> Iterator[Path]:
        """A folder to write a variant into; it gets its name when all is written, and vanishes on an error."""
        part = self.root / "variants" / f".part-{_host()}-{os.getpid()}-{key}-{uuid.uuid4().hex[:8]}"
        part.mkdir(parents=True)
        try:
            yield part
            if self.folder(key).exists() and not self.has(key):
                shutil.rmtree(self.folder(key))
            try:
                part.rename(self.folder(key))
            except OSError:
                if not self.has(key):  # otherwise somebody else finished the same variant meanwhile
                    raise
            (self.root / "failed" / f"{key}.txt").unlink(missing_ok=True)
        finally:
            shutil.rmtree(part, ignore_errors=True)

    def attempt(self, key: str, run: str) -> int:
        """Note that a worker begins with a variant, and return how many times that was noted in this run."""
        folder = self.root / _ATTEMPTS
        folder.mkdir(exist_ok=True)
        with (folder / f"{key}-{run}").open("ab") as file:
            file.write(b".")
            return file.tell()

    def end_attempts(self, key: str, run: str) -> None:
        """The worker has come to an end with the variant: forget its attempts."""
        with suppress(OSError):
            (self.root / _ATTEMPTS / f"{key}-{run}").unlink(missing_ok=True)

    def attempts(self, key: str, run: str) -> int:
        """How many workers began with a variant in this run and did not come to an end."""
        try:
            return (self.root / _ATTEMPTS / f"{key}-{run}").stat().st_size
        except OSError:
            return 0

    def forget_attempts(self, run: str) -> None:
        """Forget those of a run."""
        with suppress(OSError):
            for mark in (self.root / _ATTEMPTS).glob(f"*-{run}"):
                mark.unlink(missing_ok=True)
            (self.root / _ATTEMPTS).rmdir()

    def note_failure(self, key: str, text: str) -> None:
        """Keep the reason of a failure beside the results."""
        with suppress(OSError):  # on a full disk the message in the results must do
            folder = self.root / "failed"
            folder.mkdir(exist_ok=True)
            write_text(folder / f"{key}.txt", text)


def read_json(path: Path) -> Any:
    """Values of a JSON file; a FileFault if it is not one."""
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise _fault(path, f"cannot be read: {error.strerror or error}") from error
    except ValueError as error:
        raise _fault(path, "is damaged: not valid JSON", "remove it and run the study again") from error


@contextmanager
def writing(path: Path) -> Iterator[Any]:
    """A text file that takes its name only when it is whole."""
    part = path.with_name(f".{path.name}-{os.getpid()}-{uuid.uuid4().hex[:8]}")
    try:
        with part.open("w", encoding="utf-8", newline="") as file:
            yield file
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def write_text(path: Path, text: str) -> None:
    """Write a whole text file, or none of it."""
    with writing(path) as file:
        file.write(text)


def _fault(path: Path, allowed: str, way_out: str = "") -> FileFault:
    return FileFault(Fault(str(path), MISSING, allowed, way_out))


def _remove_empty(folder: Path) -> None:
    with suppress(OSError):
        folder.rmdir()


def _host() -> str:
    return "".join(c for c in platform.node() if c.isalnum())[:40] or "host"


def _alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
