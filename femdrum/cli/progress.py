"""The progress of a study."""

from __future__ import annotations

import shutil
import sys
import time
from typing import TYPE_CHECKING

from .common import say

if TYPE_CHECKING:
    from ..study import Event, Study

__all__ = ["Progress"]


class Progress:
    """A bar on a terminal; a line per variant elsewhere; nothing where a program reads."""

    def __init__(self, study: Study, *, silent: bool) -> None:
        self.study, self.silent = study, silent
        self.bar = not silent and sys.stderr.isatty()
        self.start = time.monotonic()
        self.shown = 0

    def __call__(self, event: Event) -> None:
        """Show an event."""
        if self.silent:
            return
        which = self.study.describe(event.variant) if event.variant else ""
        if event.kind in ("failed", "killed"):
            self.clear()
            say(": ".join(filter(None, ("failed" if event.kind == "failed" else "", which, event.text))))
        if self.bar:
            self._draw(event)
        elif event.kind == "started" and event.done:
            say(f"{event.done} of {event.total} variants are finished already")
        elif event.kind == "done":
            said = f"{', '.join(dict.fromkeys(event.verdicts))} ({event.seconds:.1f} s)"
            say(": ".join(filter(None, (f"{event.done} of {event.total}", which, said))))

    def _draw(self, event: Event) -> None:
        width = 24
        full = width * event.done // max(event.total, 1)
        passed = time.monotonic() - self.start
        text = f"|{'=' * full}{' ' * (width - full)}| {event.done} of {event.total}, {passed:.0f} s"
        if event.kind == "step":
            text += f"  {event.text}"
        text = text[: shutil.get_terminal_size().columns - 1]
        sys.stderr.write("\r" + text.ljust(self.shown))
        sys.stderr.flush()
        self.shown = len(text)

    def clear(self) -> None:
        """Take the bar away."""
        if self.bar and self.shown:
            sys.stderr.write("\r" + " " * self.shown + "\r")
            sys.stderr.flush()
            self.shown = 0
