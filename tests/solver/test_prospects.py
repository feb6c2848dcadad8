"""Beams over contents and exchanges of contents: what they keep, and that the pages they find are real."""

from __future__ import annotations

from collections import Counter

import pytest

from solver.beams import decided
from solver.branching import Content, content_of, shares_of
from solver.exchanges import exchanged
from solver.frame import Frame
from solver.node import FAR, Judged, whole_of
from solver.prospecting import Prospector
from solver.search import Effort, search
from solver.state import State
from tests.solver.grids import grid

PAPER, CARD = 2, 3
ONE: Content = (1, (0,), ())
TWO: Content = (221, (1, 2), ())
EMPTY: Content = (PAPER, (), ())


def explored(seed: int) -> tuple[Prospector, Judged, Frame]:
    """Return a finder, and the whole of a grid with its relaxation."""
    problem = grid(2, 2, 4, seed)
    finder = Prospector(State([problem], 0, None, lambda: False), [], 1_000.0)
    judged, frame = finder.framed(whole_of(0, problem), FAR)
    assert judged.node is not None
    assert frame is not None
    return finder, judged, frame


def test_exchanges_keep_all_photos_and_only_open_contents() -> None:
    """Blocks change places, a divided one gives one photo away, an empty one turns: each photo stays there once."""
    now = (ONE, TWO, EMPTY)
    every = {ONE, TWO, EMPTY, (1, (1,), ()), (1, (2,), ()), (221, (0, 2), ()), (221, (0, 1), ()), (CARD, (), ())}
    found = list(exchanged(now, [every] * 3))
    assert (TWO, ONE, EMPTY) in found
    assert ((1, (2,), ()), (221, (0, 1), ()), EMPTY) in found
    assert (ONE, TWO, (CARD, (), ())) in found
    assert now not in found
    assert all(Counter(p for _, photos, _ in c for p in photos) == Counter(range(3)) for c in found)
    assert all(sum(a != b for a, b in zip(c, now, strict=True)) <= 2 for c in found)
    assert list(exchanged(now, [{ONE}, {TWO}, {EMPTY}])) == []
    assert list(exchanged(now, [every - {ONE}, every, every - {EMPTY}])) == [(EMPTY, TWO, ONE)]
    assert list(exchanged(now, [every - {ONE}, every - {TWO}, every - {EMPTY}])) == []


@pytest.mark.parametrize("surest_first", [True, False])
@pytest.mark.parametrize("seed", range(4))
def test_a_beam_decides_all_contents_and_none_cheaper_than_the_relaxation(seed: int, surest_first: bool) -> None:
    """Every part has one content per block; what it costs is at least what the whole does."""
    _, judged, frame = explored(seed)
    ends = decided(judged, frame, FAR, width=3, surest_first=surest_first, over=lambda: False)
    assert ends
    assert [end.bound for end in ends] == sorted(end.bound for end in ends)
    assert all(end.bound >= judged.bound for end in ends)
    assert all(len(shares) == 1 for end in ends for shares in shares_of(end))


@pytest.mark.parametrize("seed", range(4))
def test_a_beam_goes_no_further_than_asked(seed: int) -> None:
    """What costs the cutoff is not gone on with, nor anything once the search is over."""
    _, judged, frame = explored(seed)
    assert decided(judged, frame, judged.bound, width=3, surest_first=True, over=lambda: False) == []
    assert decided(judged, frame, FAR, width=3, surest_first=True, over=lambda: True) == []


@pytest.mark.parametrize("seed", range(4))
def test_pages_found_are_no_cheaper_than_the_best_one(seed: int) -> None:
    """A narrow beam finds a page; prospecting never makes it worse, and what it finds is never below the optimum."""
    finder, judged, frame = explored(seed)
    assert judged.node is not None
    best = search(finder.state.problems, effort=Effort(30.0, None, 0)).pages[0]
    assert best.proved
    finder.explore(judged.node, frame)
    first = finder.cutoff
    assert first < FAR
    for _ in finder.prospect(0.5):
        pass
    assert best.solution.cost <= finder.cutoff <= first


@pytest.mark.parametrize("seed", range(4))
def test_exchanging_stops_at_a_page_that_no_exchange_makes_better(seed: int) -> None:
    """After it, exchanging again neither finds a page nor forgets the one there is."""
    finder, judged, frame = explored(seed)
    assert judged.node is not None
    finder.explore(judged.node, frame)
    finder.exchange()
    found = finder.found
    assert found is not None
    finder.exchange()
    assert finder.found is found
    problem = finder.state.problems[0]
    held = [content_of(b.columns[j]) for b, j in zip(problem.blocks, found.columns, strict=True)]
    assert sorted(p for _, photos, _ in held for p in photos) == list(range(4))
