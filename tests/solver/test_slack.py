"""Stages of a search: first within some slack of the best page, at last without."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

import solver.mate
import solver.search
from solver.problem import Problem
from solver.progress import Event
from solver.search import Effort, search
from tests.solver.grids import grid
from tests.solver.test_two_workers import shared

PROBLEMS = [shared(), *(grid(2, 2, 4, seed=seed) for seed in (2, 3)), grid(1, 3, 3, seed=4)]
ENOUGH = Effort(30.0, None, 0)


@pytest.fixture(autouse=True)
def staged(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave the tree to stages at once, and go through all of them."""
    monkeypatch.setattr(solver.mate, "cores", lambda: 1)
    monkeypatch.setattr(solver.search, "ALONE", 0.0)
    monkeypatch.setattr(solver.search, "MEETINGS", 0.003)
    monkeypatch.setattr(solver.search, "_slacks", lambda cost, bound, columns: [40, 30, 15, 5, 0])


def best(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> int:
    """Return what the best page costs, searched without stages."""
    with monkeypatch.context() as plain:
        plain.setattr(solver.search, "ALONE", 1e9)
        outcome = search([problem], effort=ENOUGH)
    assert outcome.status == "proved"
    return outcome.pages[0].solution.cost


@pytest.mark.parametrize("number", range(len(PROBLEMS)))
def test_stages_end_with_the_same_proof(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """What only has to be ruled out within some slack at first is ruled out altogether in the end."""
    outcome = search([PROBLEMS[number]], effort=ENOUGH)
    assert outcome.status == "proved"
    assert outcome.pages[0].solution.cost == best(PROBLEMS[number], monkeypatch)


@pytest.mark.parametrize("number", range(len(PROBLEMS)))
def test_no_stage_claims_too_much(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever bound is told on the way, the best page costs no less; wherever the search ends, its bound holds."""
    least = best(PROBLEMS[number], monkeypatch)
    events: list[Event] = []
    search([PROBLEMS[number]], effort=ENOUGH, progress=events.append)
    bounds = [event.bound for event in events if event.bound is not None]
    assert bounds == sorted(bounds)
    assert bounds[-1] == least
    for seconds in (0.005, 0.01, 0.02, 0.04, 0.08):
        events.clear()
        outcome = search([PROBLEMS[number]], effort=Effort(seconds, None, 0), progress=events.append)
        told = max((event.bound for event in events if event.bound is not None), default=0)
        assert outcome.bound is None or told <= outcome.bound <= least


def test_stages_take_the_same_course_in_a_process_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second worker's head start, in which it looks for good pages, is the same wherever it is."""
    near = search([shared()], effort=ENOUGH)
    monkeypatch.setattr(solver.mate, "cores", lambda: 2)
    apart = search([shared()], effort=ENOUGH)
    assert (near.status, near.pages, near.effort) == (apart.status, apart.pages, apart.effort)
    assert not apart.notices


def test_a_stage_proves_the_gap_it_aims_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that ends with a slack of 15 per cent has proved its page within 15 per cent of the best."""
    monkeypatch.setattr(solver.search, "_slacks", lambda cost, bound, columns: [15])
    outcome = search([shared()], effort=ENOUGH)
    (page,) = outcome.pages
    assert page.bound >= 0.85 * page.solution.cost
    assert page.bound <= best(shared(), monkeypatch) <= page.solution.cost


@pytest.mark.parametrize(
    ("gap", "columns", "slacks"),
    [(0.05, 2_000, [0]), (0.44, 2_000, [0]), (0.45, 2_000, [15, 0]), (1.0, 1_150, [15, 0]), (1.0, 1_149, [0])],
)
def test_only_long_proofs_have_stages(
    gap: float, columns: int, slacks: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page that is nearly proved, or soon will be, takes no detours."""
    monkeypatch.undo()
    assert solver.search._slacks(1_000, round(1_000 * (1 - gap)), columns) == slacks


def test_what_was_ruled_out_stays_so_when_a_better_page_lowers_the_mark() -> None:
    """A page of 400 with 25 per cent of slack has 300 ruled out; one of 340 lowers the mark to 255, not the bound."""
    state = SimpleNamespace(problems=[PROBLEMS[0]], over=lambda: False)
    hunt = SimpleNamespace(state=state, cutoff=400, mark=300, finds=True, tell=None)
    told: list[int] = []

    class Worker:
        """Rules out everything under 320, then finds a better page."""

        hunt: Any = None
        bound, meeting, done, last = 320, 0, False, False

        def work(self) -> None:
            self.hunt.tell(self.hunt)
            self.hunt.cutoff, self.hunt.mark, self.done, self.meeting = 340, 255, True, 1

    worker = Worker()
    worker.hunt = hunt
    mate = SimpleNamespace(begin=lambda brief: None, tell=lambda message: None)
    teller = SimpleNamespace(progressed=lambda hunt, bound, classes: told.append(bound))
    together: Any = solver.search._together
    assert together(worker, SimpleNamespace(slack=25), mate, teller, 0) == 300
    assert told == [300]
