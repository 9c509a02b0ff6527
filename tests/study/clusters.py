"""A real cluster on this machine: a scheduler and workers in processes of their own."""

import contextlib
import json
import os
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).parent


class Local:
    """A scheduler, and workers as they are asked for; `folder` holds what they write besides."""

    def __init__(self, folder):
        self.folder = folder
        self.processes = []
        file = folder / "scheduler.json"
        self._start("scheduler", "--port", "0", "--host", "127.0.0.1", "--scheduler-file", str(file))
        deadline = time.monotonic() + 60
        while not file.exists():
            assert time.monotonic() < deadline, self.said()
            time.sleep(0.05)
        self.address = json.loads(file.read_text())["address"]

    def workers(self, count, *more, threads=1, **environment):
        """Start worker processes, each looked after by one that starts it again when it dies."""
        return self._start(
            "worker", self.address, "--nthreads", str(threads), "--nworkers", str(count),
            "--local-directory", str(self.folder), *more, **environment,
        )  # fmt: skip

    def _start(self, what, *arguments, **environment):
        log = (self.folder / f"{what}-{len(self.processes)}.log").open("w")
        environment = {"PYTHONPATH": str(HERE), **os.environ, **environment}
        environment.setdefault("RAYON_NUM_THREADS", "1")
        if "PYTHONPATH" in os.environ:
            environment["PYTHONPATH"] = os.pathsep.join([str(HERE), environment["PYTHONPATH"]])
        process = subprocess.Popen(
            [sys.executable, "-m", f"distributed.cli.dask_{what}", *arguments, "--no-dashboard"],
            stdout=log, stderr=subprocess.STDOUT, env=environment, start_new_session=True, cwd=self.folder,
        )  # fmt: skip
        log.close()
        self.processes.append(process)
        return process

    def said(self):
        """What all of them wrote."""
        return "\n".join(p.read_text() for p in sorted(self.folder.glob("*.log")))

    @staticmethod
    def stop(process):
        """End a process that was started here."""
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(20)

    def close(self):
        """End them all, workers first."""
        for process in reversed(self.processes):
            self.stop(process)


@contextlib.contextmanager
def local(folder):
    """A cluster without workers yet, for as long as the context lasts."""
    cluster = Local(folder)
    try:
        yield cluster
    finally:
        cluster.close()
