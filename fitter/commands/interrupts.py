"""Ctrl-C that keeps the best page found so far: the first asks the search to stop, the second aborts."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable
from types import FrameType, TracebackType
from typing import Any, TypeVar

T = TypeVar("T")
_POLL_SECONDS = 0.05
_STOPPING = b"\nstopping: the best page so far is finished and kept; press Ctrl-C again to give up\n"


class Interrupts:
    """While entered, turn the first SIGINT into a wish to stop and let the second abort.

    The object itself is the ``stop`` callback of :func:`fitter.api.fit_page`.
    """

    def __init__(self) -> None:
        self._asked = threading.Event()
        self._before: Any = None

    def __call__(self) -> bool:
        """Tell whether the user asked to stop."""
        return self._asked.is_set()

    def __enter__(self) -> Interrupts:
        """Take over SIGINT; only the main thread can, elsewhere nothing happens."""
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._on_signal)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Give SIGINT back."""
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)

    def _on_signal(self, number: int, frame: FrameType | None) -> None:
        if self._asked.is_set():
            raise KeyboardInterrupt
        self._asked.set()
        # Not through sys.stderr: the signal may have come in the middle of a write to it.
        os.write(2, _STOPPING)


def in_background(work: Callable[[], T]) -> T:
    """Run ``work`` in a thread and wait for it where signals still arrive.

    Python runs signal handlers in the main thread between bytecodes only; a solver called there would
    hold them back until it is done.
    """
    result: list[T] = []
    failure: list[BaseException] = []

    def body() -> None:
        try:
            result.append(work())
        except BaseException as error:  # handed to the waiting thread, whatever it is
            failure.append(error)

    thread = threading.Thread(target=body, name="fitting", daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(_POLL_SECONDS)
    if failure:
        raise failure[0]
    return result[0]
