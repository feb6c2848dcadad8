"""The second virtual worker as the first one sees it: in a process of its own, or in this one by turns.

A process of its own runs :mod:`solver.worker` and talks in length-prefixed pickles over its standard input and output.
It ends when its input does, so it never outlives this process; when it ends before its time, what it was told is
told again to a worker in this process, which takes the same course.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from typing import IO, Any

from solver.partner import Brief, Message, second
from solver.problem import Problem
from solver.solution import Solution
from solver.state import State

POLL_SECONDS = 0.1
PATIENCE_SECONDS = 2.0
_LENGTH_BYTES = 8
_BEGIN = "import json, sys; sys.path[:] = json.loads(sys.argv[1]); from solver.worker import main; main()"


class LostError(Exception):
    """The process ended before its time; says how."""


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def packed(item: object) -> bytes:
    """Return a length-prefixed pickle."""
    data = pickle.dumps(item, pickle.HIGHEST_PROTOCOL)
    return len(data).to_bytes(_LENGTH_BYTES, "big") + data


def receive(stream: IO[bytes]) -> Any:
    """Read one length-prefixed pickle.

    Raises
    ------
    EOFError
        At the end of the stream, or when it is cut within a pickle.
    """
    head = stream.read(_LENGTH_BYTES)
    length = int.from_bytes(head, "big")
    data = stream.read(length) if len(head) == _LENGTH_BYTES else b""
    if not data or len(data) < length:
        raise EOFError
    return pickle.loads(data)


class Near:
    """The second worker in this process: it works when it is listened to.

    What it is told, the brief apart, is copied by pickling as for a process of its own, so that nothing is shared.
    """

    def __init__(self, state: State, brief: Brief) -> None:
        own = State(state.problems, brief.seed, state.until, state.stop, brief.vary, worker=1, lines=state.lines)
        self._partner = second(brief, own)
        self._heard: list[Message] = []

    def tell(self, message: Message) -> None:
        """Tell it what the first worker tells at a meeting."""
        self._heard.append(_copy(message))

    def listen(self) -> Message:
        """Return what it tells at its next meeting."""
        told: Message = _copy(self._partner.work())
        if self._partner.meeting > 1:
            self._partner.hear(self._heard[self._partner.meeting - 2])
        return told

    def best(self) -> Solution | None:
        """Return the best page it knows of now."""
        return self._partner.hunt.found


class Process:
    """A child process, and threads that write to it and read from it without keeping anybody waiting.

    Raises
    ------
    OSError
        When it cannot be started.
    """

    def __init__(self) -> None:
        paths = json.dumps([path or os.getcwd() for path in sys.path])
        self._child = subprocess.Popen(
            [sys.executable, "-c", _BEGIN, paths],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # Ctrl-C is for this process, which tells the child what to do
        )
        self._outbox: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._inbox: queue.SimpleQueue[tuple[int, Message] | None] = queue.SimpleQueue()
        self._pages: tuple[int, Solution] | None = None
        self._turn = 0
        self._threads = [threading.Thread(target=target, daemon=True) for target in (self._write, self._read)]
        for thread in self._threads:
            thread.start()

    def begin(self, problems: Sequence[Problem], brief: Brief, seconds: float | None) -> None:
        """Start on a page; ``seconds`` is the wall-clock time that is left."""
        if not self._turn:
            self._put("problems", list(problems))
        self._turn += 1
        self._put("brief", (self._turn, brief, seconds))

    def tell(self, message: Message) -> None:
        """Tell it what the first worker tells at a meeting."""
        self._put("message", (self._turn, message))

    def listen(self) -> Message | None:
        """Return what it told at its next meeting, ``None`` if nothing came for a moment.

        Raises
        ------
        LostError
            When it has ended.
        """
        while True:
            try:
                item = self._inbox.get(timeout=POLL_SECONDS)
            except queue.Empty:
                return None
            if item is None:
                self._inbox.put(None)
                raise LostError(self._end())
            if item[0] == self._turn:
                return item[1]

    def best(self) -> Solution | None:
        """Return the best page it has found for this brief."""
        return self._pages[1] if self._pages is not None and self._pages[0] == self._turn else None

    def close(self) -> None:
        """End it; there is nothing it could lose."""
        self._child.kill()
        self._child.wait()
        self._outbox.put(None)
        for thread in self._threads:
            thread.join()

    def _end(self) -> str:
        """Say how it ended."""
        try:
            code = self._child.wait(PATIENCE_SECONDS)
        except subprocess.TimeoutExpired:
            return "fell silent"
        return f"was ended by signal {-code}" if code < 0 else f"ended with code {code}"

    def _put(self, kind: str, item: object) -> None:
        """Have something written, as it is now: what it speaks of changes while the writing waits."""
        self._outbox.put(packed((kind, item)))

    def _write(self) -> None:
        stream = self._child.stdin
        assert stream is not None
        with contextlib.suppress(OSError, ValueError):
            while (data := self._outbox.get()) is not None:
                stream.write(data)
                stream.flush()
        with contextlib.suppress(OSError):
            stream.close()

    def _read(self) -> None:
        stream = self._child.stdout
        assert stream is not None
        with contextlib.suppress(EOFError, OSError, ValueError, pickle.UnpicklingError), stream:
            while True:
                kind, turn, item = receive(stream)
                if kind == "page":
                    self._pages = (turn, item)
                else:
                    self._inbox.put((turn, item))
        self._inbox.put(None)


class Mate:
    """The second worker of one search, wherever it is.

    Parameters
    ----------
    state
        The first worker's.

    Attributes
    ----------
    notices
        A sentence for each thing that went wrong.
    """

    def __init__(self, state: State) -> None:
        self.notices: list[str] = []
        self._state = state
        self._process: Process | None = None
        self._apart = cores() > 1 and bool(sys.executable) and not getattr(sys, "frozen", False)
        self._near: Near | None = None
        self._brief: Brief | None = None
        self._told: list[Message] = []
        self._listened = 0

    def wake(self) -> None:
        """Start its process, which takes a moment to load its libraries."""
        if self._apart and self._process is None:
            try:
                self._process = Process()
            except OSError:
                self._apart = False

    def begin(self, brief: Brief) -> None:
        """Start on a page."""
        brief = _copy(brief)  # the first worker's experience grows on
        self._brief, self._told, self._listened, self._near = brief, [], 0, None
        self.wake()
        if self._process is None:
            self._near = Near(self._state, brief)
        else:
            until = self._state.until
            self._process.begin(self._state.problems, brief, None if until is None else until - time.monotonic())

    def tell(self, message: Message) -> None:
        """Tell it what the first worker tells at a meeting."""
        (self._near or self._process).tell(message)  # type: ignore[union-attr]
        if self._near is None:
            self._told.append(message)

    def listen(self) -> Message | None:
        """Return what it tells at its next meeting; ``None`` when the search is over before it came."""
        while self._near is None:
            assert self._process is not None
            try:
                told = self._process.listen()
            except LostError as loss:
                self._replace(str(loss))
                break
            if told is not None:
                self._listened += 1
                return told
            if self._state.over():
                return None
        assert self._near is not None
        return self._near.listen()

    def best(self) -> Solution | None:
        """Return the best page it knows of now, for when the search ends before the next meeting."""
        worker = self._near or self._process
        return None if worker is None else worker.best()

    def close(self) -> None:
        """End its process."""
        if self._process is not None:
            self._process.close()
            self._process = None

    def _replace(self, how: str) -> None:
        """Go on in this process by turns, from where the process was."""
        self.notices.append(
            f"The search's second process {how}; its work was done again in the first one, which took longer but "
            "left the result the same."
        )
        self.close()
        self._apart = False
        assert self._brief is not None
        self._near = Near(self._state, self._brief)
        for message in self._told:
            self._near.tell(message)
        for _ in range(self._listened):
            self._near.listen()


def _copy(item: Any) -> Any:
    return pickle.loads(pickle.dumps(item, pickle.HIGHEST_PROTOCOL))
