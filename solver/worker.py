"""The second virtual worker's process: reads what it is told from standard input, tells on standard output.

Started by :mod:`solver.mate`.  Its input's end is its end, whatever it is doing.
"""

from __future__ import annotations

import gc
import os
import queue
import signal
import sys
import threading
import time
from typing import IO, Any

from solver.cutting import Facts
from solver.hunt import Hunt
from solver.mate import packed, receive
from solver.partner import Brief, Message, second
from solver.problem import Problem
from solver.state import State


class _Told:
    """What has been told, read in a thread of its own; ``turn`` is the number of the last brief."""

    def __init__(self, stream: IO[bytes]) -> None:
        self.turn = 0
        self.items: queue.SimpleQueue[tuple[str, Any]] = queue.SimpleQueue()
        self._stream = stream
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        try:
            while True:
                kind, item = receive(self._stream)
                if kind == "brief":
                    self.turn = item[0]
                self.items.put((kind, item))
        except (EOFError, OSError):
            os._exit(0)


def main() -> None:
    """Work on one brief after the other."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    told, out = _Told(sys.stdin.buffer), sys.stdout.buffer
    problems: list[Problem] = []
    lines: dict[int, Facts] = {}
    work: _Work | None = None
    while True:
        kind, item = told.items.get()
        if kind == "problems":
            problems = item
            gc.freeze()  # they stay to the end, and need not be looked through at every collection
        elif kind == "brief":
            work = _Work(problems, lines, told, out, *item)
        elif work is not None and item[0] == told.turn:
            work.hear(item[1])


class _Work:
    """Work on one page, until another is asked for: two rounds at once, then one after each message."""

    def __init__(
        self,
        problems: list[Problem],
        lines: dict[int, Facts],
        told: _Told,
        out: IO[bytes],
        turn: int,
        brief: Brief,
        seconds: float | None,
    ) -> None:
        until = None if seconds is None else time.monotonic() + seconds
        state = State(problems, brief.seed, until, lambda: told.turn != turn, brief.vary, worker=1, lines=lines)
        self._turn, self._out = turn, out
        self._partner = second(brief, state)
        self._best = self._partner.hunt.found
        self._partner.hunt.tell = self._show
        self._round()
        self._round()

    def hear(self, message: Message) -> None:
        """Take note of what the first worker told, and go on."""
        self._partner.hear(message)
        self._round()

    def _round(self) -> None:
        if not self._partner.last:
            self._send("told", self._partner.work())

    def _show(self, hunt: Hunt) -> None:
        """Show a better page at once, for when the search is stopped."""
        if hunt.found is not None and hunt.found is not self._best:
            self._best = hunt.found
            self._send("page", self._best)

    def _send(self, kind: str, item: object) -> None:
        self._out.write(packed((kind, self._turn, item)))
        self._out.flush()
