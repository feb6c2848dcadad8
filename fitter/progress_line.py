"""One refreshed line on a terminal that tells how far the fitting is.

Enters: the events of the search.  Leaves: text on standard error, only where that is a terminal.
"""

from __future__ import annotations

import shutil
import sys
import time
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from solver.progress import Event

REFRESH_SECONDS = 0.1


def describe(event: Event) -> str:
    """Put an event into one line: step, part, best cost, bound, gap, seconds gone and left at most, message.

    The message comes last, for a narrow terminal cuts the end off.  Costs are shown as fractions of a million, the
    unit in which the cost table is written.
    """
    parts = [event.part] if event.part else []
    if event.cost is not None:
        parts.append(f"best {event.cost / 1e6:.3f}")
    if event.bound is not None:
        parts.append(f"bound {event.bound / 1e6:.3f}")
    if event.gap is not None:
        parts.append(f"gap {100 * event.gap:.{1 if event.gap < 0.0995 else 0}f} %")
    left = "" if event.left is None else f", {event.left:.0f} s left"
    parts.append(f"{event.elapsed:.0f} s{left}")
    if event.message:
        parts.append(event.message)
    return f"[{event.step}] {' · '.join(parts)}"


class ProgressLine:
    """Draw events over each other on a terminal; elsewhere stay silent.

    Parameters
    ----------
    stream
        Where to draw; standard error if ``None``.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._active = self._stream.isatty()
        self._width = 0
        self._drawn_at = float("-inf")
        self._step = ""

    def __call__(self, event: Event) -> None:
        """Show one event, unless the line was refreshed a moment ago in the same step."""
        now = time.monotonic()
        if not self._active or (event.step == self._step and now - self._drawn_at < REFRESH_SECONDS):
            return
        self._drawn_at, self._step = now, event.step
        self._write(describe(event))

    def count(self, done: int, total: int) -> None:
        """Show how many photos are done, unless the line was refreshed a moment ago."""
        now = time.monotonic()
        if self._active and now - self._drawn_at >= REFRESH_SECONDS:
            self._drawn_at = now
            self._write(f"[1 read] {done:,} of {total:,} photos")

    def _write(self, words: str) -> None:
        columns = shutil.get_terminal_size().columns
        line = " ".join(words.split())[: max(columns - 1, 20)]
        self._stream.write("\r" + line.ljust(self._width))
        self._stream.flush()
        self._width = len(line)

    def clear(self) -> None:
        """Wipe the line, so that what is printed next starts on a clean one."""
        if self._width:
            self._stream.write("\r" + " " * self._width + "\r")
            self._stream.flush()
            self._width = 0
