"""The progress of a study."""

from __future__ import annotations

import shutil
import sys
import time
from typing import TYPE_CHECKING

from .common import say

if TYPE_CHECKING:
    from ..study import Event, Study

__all__ = ["Progress", "in_words"]


def in_words(seconds: float | None) -> str:
    """`about 3 min left`, no finer than such an estimate is; empty where there is none."""
    if seconds is None:
        return ""
    if seconds < 7.5:
        return "a few seconds left"
    if seconds < 57.5:
        return f"about {5 * round(seconds / 5)} s left"
    if seconds < 3570.0:
        return f"about {max(round(seconds / 60), 1)} min left"
    if seconds < 35_000.0:
        hours = round(seconds / 1800) / 2
        return f"about {hours:g} h left"
    return f"about {round(seconds / 3600)} h left"


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
        if event.kind in ("failed", "killed", "note"):
            self.clear()
            say(": ".join(filter(None, ("failed" if event.kind == "failed" else "", which, event.text))))
        if self.bar:
            self._draw(event)
        elif event.kind == "started" and event.done:
            say(f"{event.done} of {event.total} variants are finished already")
        elif event.kind == "done":
            said = f"{', '.join(dict.fromkeys(event.verdicts))} ({event.seconds:.1f} s)"
            left = in_words(event.remaining_s) if event.done < event.total else ""
            say(": ".join(filter(None, (f"{event.done} of {event.total}", which, said))) + (left and f", {left}"))

    def _draw(self, event: Event) -> None:
        width = 24
        full = width * event.done // max(event.total, 1)
        passed = time.monotonic() - self.start
        text = f"|{'=' * full}{' ' * (width - full)}| {event.done} of {event.total}, {passed:.0f} s"
        left = in_words(event.remaining_s) if event.done < event.total else ""
        if left:
            text += f", {left}"
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
