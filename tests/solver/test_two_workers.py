"""A tree shared between two workers: the same course wherever the second one is, and nothing left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import solver.finding
import solver.mate
import solver.search
from solver.mate import Process
from solver.partner import Brief, Message
from solver.problem import Group, Problem
from solver.progress import Event
from solver.search import EXHAUSTED, Effort, search
from solver.solution import Outcome
from tests.solver.grids import grid

ROOT = Path(__file__).parents[2]
PATIENCE_SECONDS = 60.0


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Call in the second worker at once, and let the two meet often."""
    monkeypatch.setattr(solver.search, "ALONE", 0.003)
    monkeypatch.setattr(solver.search, "WORTH", 0.0)
    monkeypatch.setattr(solver.search, "MEETINGS", 0.003)


@pytest.fixture
def children(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Numbers of the processes that are started from now on."""
    started: list[int] = []

    class Popen(subprocess.Popen[bytes]):
        def __init__(self, *arguments: Any, **options: Any) -> None:
            super().__init__(*arguments, **options)
            started.append(self.pid)

    monkeypatch.setattr(solver.mate.subprocess, "Popen", Popen)
    return started


def shared() -> Problem:
    """Return four cells, four photos and four common scalings: half a dozen meetings at which both have nodes open."""
    plain = grid(2, 2, 4, seed=1)
    blocks = tuple(
        replace(
            block,
            columns=tuple(
                replace(c, gains=tuple(((7 * g + 13 * j) % 9 - 4) * 1_500 if c.present else 0 for g in range(4)))
                for j, c in enumerate(block.columns)
            ),
            targets=((0, 0),) * 4,
        )
        for block in plain.blocks
    )
    return replace(plain, blocks=blocks, groups=tuple(Group(f"scaling {g}", 1_000 * g) for g in range(4)))


@pytest.fixture(scope="module")
def problem() -> Problem:
    return shared()


def on(cores: int, problem: Problem, monkeypatch: pytest.MonkeyPatch, **options: Any) -> tuple[Outcome, list[object]]:
    """Return what a search on so many cores finds, and what it tells on the way."""
    told: list[object] = []

    def note(event: Event) -> None:
        told.append((event.kind, event.message, event.cost, event.bound))

    monkeypatch.setattr(solver.mate, "cores", lambda: cores)
    return search([problem], effort=Effort(0.5, None, 0), progress=note, **options), told


def same(one: Outcome, other: Outcome) -> bool:
    return (one.status, one.pages, one.effort) == (other.status, other.pages, other.effort)


def gone(pid: int) -> bool:
    """Whether a process is no longer there (or only its entry, if it was nobody's who waits for it)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0] == "Z"
    except FileNotFoundError:
        return True


def test_one_core_or_two_give_the_same_pages(
    problem: Problem, monkeypatch: pytest.MonkeyPatch, children: list[int]
) -> None:
    """Pages, bounds, effort and events do not depend on where the second worker is, nor on who is faster."""
    here, told_here = on(1, problem, monkeypatch, top=2)
    assert not children
    assert len(here.pages) == 2
    for _ in range(2):
        apart, told_apart = on(2, problem, monkeypatch, top=2)
        assert same(here, apart)
        assert told_apart == told_here
    assert len(children) == 2, "one process for both pages"
    assert all(map(gone, children))
    assert not here.notices


def test_the_second_worker_does_not_change_what_is_best(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> None:
    """Shared or not, the tree ends with the same proof."""
    shared, _ = on(2, problem, monkeypatch)
    monkeypatch.setattr(solver.search, "ALONE", 100.0)
    alone, _ = on(2, problem, monkeypatch)
    assert shared.status == alone.status == "proved"
    assert shared.pages[0].solution.cost == alone.pages[0].solution.cost


@pytest.mark.parametrize("when", [0, 1, 4])
def test_a_killed_process_is_replaced_and_told(
    when: int, problem: Problem, monkeypatch: pytest.MonkeyPatch, children: list[int]
) -> None:
    """Whenever the process is killed, the page is the same, and one sentence says what happened."""
    whole, _ = on(1, problem, monkeypatch)
    tell = Process.tell
    told = 0

    def killing(self: Process, message: Message) -> None:
        nonlocal told
        if told == when:
            os.kill(children[0], signal.SIGKILL)
        told += 1
        tell(self, message)

    monkeypatch.setattr(Process, "tell", killing)
    broken, _ = on(2, problem, monkeypatch)
    assert same(whole, broken)
    (notice,) = broken.notices
    assert "ended by signal 9" in notice
    assert len(children) == 1
    assert gone(children[0])


def test_a_process_that_cannot_be_started_is_done_without(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> None:
    """No interpreter to start: by turns, without a word."""
    whole, _ = on(1, problem, monkeypatch)
    monkeypatch.setattr(sys, "executable", str(ROOT / "no-such-python"))
    apart, _ = on(2, problem, monkeypatch)
    assert same(whole, apart)
    assert not apart.notices


@pytest.mark.parametrize("cores", [1, 2])
def test_stop_ends_both(cores: int, problem: Problem, monkeypatch: pytest.MonkeyPatch, children: list[int]) -> None:
    """A search that is stopped while both work keeps its page and leaves no process."""
    begun = []
    begin = solver.search.Mate.begin

    def noting(self: solver.mate.Mate, brief: Brief) -> None:
        begin(self, brief)
        begun.append(brief)

    monkeypatch.setattr(solver.search.Mate, "begin", noting)
    outcome, _ = on(cores, problem, monkeypatch, stop=lambda: bool(begun))
    assert outcome.stopped
    assert outcome.status == "feasible"
    assert outcome.bound is not None and outcome.bound < outcome.pages[0].solution.cost
    assert len(children) == cores - 1
    assert all(map(gone, children))


def test_an_error_leaves_no_process(problem: Problem, monkeypatch: pytest.MonkeyPatch, children: list[int]) -> None:
    """What a callback raises passes through, and the process is ended."""

    class TroubleError(Exception):
        pass

    def trouble() -> bool:
        if children:
            raise TroubleError
        return False

    monkeypatch.setattr(solver.mate, "cores", lambda: 2)
    with pytest.raises(TroubleError):
        search([problem], effort=Effort(0.5, None, 0), stop=trouble)
    assert len(children) == 1
    assert gone(children[0])


def test_memory_that_runs_out_ends_the_search_with_its_page(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> None:
    """The node that could not be treated stays open: the bound holds, and a sentence says what happened."""
    whole, _ = on(1, problem, monkeypatch)
    solve, times = solver.finding.solve, 0

    def starved(*arguments: Any, **options: Any) -> object:
        nonlocal times
        times += 1
        if times > 3:
            raise MemoryError
        return solve(*arguments, **options)

    monkeypatch.setattr(solver.finding, "solve", starved)
    outcome, _ = on(1, problem, monkeypatch)
    assert outcome.notices == (EXHAUSTED,)
    assert outcome.status == "feasible"
    assert outcome.bound is not None
    assert outcome.bound <= whole.pages[0].solution.cost


SCRIPT = """
import os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs start with it ignored
import solver.mate, solver.search
from solver.search import Effort, search
from tests.solver.test_two_workers import shared
solver.mate.cores = lambda: 2
solver.search.ALONE = solver.search.WORTH = solver.search.MEETINGS = 0.003
begin = solver.mate.Process.begin
def showing(self, *rest):
    print(self._child.pid, flush=True)
    begin(self, *rest)
    if "hang" in sys.argv:
        import time
        time.sleep(1000)
solver.mate.Process.begin = showing
outcome = search([shared()], effort=Effort(0.5, None, 0))
print(outcome.pages[0].solution.cost, outcome.notices)
"""


def test_a_script_without_main_guard_runs_once(
    problem: Problem, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The process loads the solver alone, never the script that asked for a page."""
    script = tmp_path / "page.py"
    script.write_text(SCRIPT, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, script], env={**os.environ, "PYTHONPATH": str(ROOT)}, cwd=tmp_path,
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    *begun, result = done.stdout.splitlines()
    (pid,) = set(begun)
    assert gone(int(pid))
    whole, _ = on(1, problem, monkeypatch)
    assert result == f"{whole.pages[0].solution.cost} ()"


@pytest.mark.parametrize("ending", [signal.SIGKILL, signal.SIGINT, signal.SIGTERM])
def test_the_process_ends_with_the_one_that_started_it(ending: signal.Signals, tmp_path: Path) -> None:
    """However the first process ends, the second one does not outlive it."""
    with subprocess.Popen(
        [sys.executable, "-c", SCRIPT, "hang"], env={**os.environ, "PYTHONPATH": str(ROOT)}, cwd=tmp_path,
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ) as first:  # fmt: skip
        assert first.stdout is not None
        pid = int(first.stdout.readline())
        assert not gone(pid)
        first.send_signal(ending)
        first.wait()
    until = time.monotonic() + PATIENCE_SECONDS
    while not gone(pid) and time.monotonic() < until:
        time.sleep(0.02)
    assert gone(pid)


def test_classes_finish_and_time_left_is_told(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every class is told of once when nothing better is left in it; the time left is unknown at first."""
    events: list[Event] = []
    monkeypatch.setattr(solver.mate, "cores", lambda: 1)
    monkeypatch.setattr(solver.search, "KNOWN_RATE", 0.05)
    search([problem, problem], effort=Effort(5.0, 1000.0, 0), progress=events.append)
    finished = [event for event in events if event.kind == "class"]
    assert len(finished) == 2
    assert events[0].left is None
    known = [event.left for event in events if event.left is not None]
    assert known
    assert all(0 <= left <= 1000.0 for left in known)
    assert events[-1].kind == "done"
