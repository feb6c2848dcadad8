"""While a command runs: its progress line, failures in the background, interrupts, and the exit codes of errors."""

from __future__ import annotations

import os
import signal
from dataclasses import replace
from io import StringIO

import pytest

from fitter.commands.interrupts import Interrupts, in_background
from fitter.errors import FitterError, InputError, OutputExistsError, UseError
from fitter.progress_line import ProgressLine, describe
from solver.progress import Event

EVENT = Event("3 solve", "searching", cost=250_000, bound=200_000, gap=0.2, elapsed=1.25, kind="better")


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def test_progress_refreshes_one_line_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each event overwrites the one before, and clearing leaves an empty line."""
    monkeypatch.setattr("fitter.progress_line.REFRESH_SECONDS", 0.0)
    terminal = Terminal()
    line = ProgressLine(terminal)
    line(EVENT)
    line(replace(EVENT, message="more"))
    line.clear()
    shown = terminal.getvalue()
    assert "\n" not in shown
    assert shown.split("\r")[-2].strip() == ""
    assert len(shown.split("\r")[-2]) >= len(shown.split("\r")[-3].rstrip())


def test_a_narrow_terminal_shows_all_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Step, page, costs, gap and times stand within 79 characters; what is cut off is the message."""
    event = replace(
        EVENT, message="pages cheaper than this are ruled out", elapsed=101.4, left=12.2, part="page 2 of 3", gap=0.66
    )
    monkeypatch.setenv("COLUMNS", "80")
    terminal = Terminal()
    ProgressLine(terminal)(event)
    wanted = "[3 solve] page 2 of 3 · best 0.250 · bound 0.200 · gap 66 % · 101 s, 12 s left"
    assert terminal.getvalue().strip().startswith(wanted)
    assert describe(event) == f"{wanted} · pages cheaper than this are ruled out"
    assert describe(EVENT) == "[3 solve] best 0.250 · bound 0.200 · gap 20 % · 1 s · searching"


def test_reading_has_its_name_too() -> None:
    """The step that counts photos is called as the others are."""
    terminal = Terminal()
    ProgressLine(terminal).count(3, 40)
    assert terminal.getvalue().strip() == "[1 read] 3 of 40 photos"


def test_progress_is_silent_elsewhere() -> None:
    """Logs and pipes get no progress."""
    stream = StringIO()
    line = ProgressLine(stream)
    line(EVENT)
    line.clear()
    assert stream.getvalue() == ""


def test_failures_in_the_background_come_to_the_front() -> None:
    """An error of the fitting thread is raised where the command waits."""

    def fail() -> None:
        raise InputError("as planned")

    with pytest.raises(InputError, match="as planned"):
        in_background(fail)


def test_interrupts_count() -> None:
    """The first signal sets the wish to stop, the second raises."""
    with Interrupts() as stop:
        assert not stop()
        os.kill(os.getpid(), signal.SIGINT)
        assert stop()
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)


@pytest.mark.parametrize(
    ("error", "code"), [(InputError("x"), 2), (UseError("x"), 2), (OutputExistsError("x"), 4)]
)
def test_error_classes_own_their_exit_codes(error: FitterError, code: int) -> None:
    """The published exit codes."""
    assert error.exit_code == code
