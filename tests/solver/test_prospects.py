"""Beams over contents and exchanges of photos: what they keep, and that the pages they find are real."""

from __future__ import annotations

from itertools import combinations

import pytest

from solver.beams import decided
from solver.branching import content_of, shares_of
from solver.exchanges import exchanged
from solver.frame import Frame
from solver.node import FAR, Judged, whole_of
from solver.prospecting import Prospector
from solver.search import Effort, search
from solver.state import State
from tests.solver.grids import grid


def explored(seed: int) -> tuple[Prospector, Judged, Frame]:
    """Return a finder, and the whole of a grid with its relaxation."""
    problem = grid(2, 2, 4, seed)
    finder = Prospector(State([problem], 0, None, lambda: False), [], 1_000.0)
    judged, frame = finder.framed(whole_of(0, problem), FAR)
    assert judged.node is not None
    assert frame is not None
    return finder, judged, frame


def test_exchanges_keep_all_photos_and_only_what_is_open() -> None:
    """Blocks change places, exchange one photo of several or give one away: each photo stays there once."""
    now = ((0,), (1, 2), ())
    every = {photos for n in range(4) for photos in combinations(range(3), n)}
    found = list(exchanged(now, [every] * 3))
    assert ((1, 2), (0,), ()) in found
    assert ((2,), (0, 1), ()) in found
    assert ((0, 1), (2,), ()) in found
    assert ((0,), (1,), (2,)) in found
    assert now not in found
    assert len(found) == len(set(found))
    assert all(sorted(p for photos in holdings for p in photos) == [0, 1, 2] for holdings in found)
    assert all(sum(a != b for a, b in zip(holdings, now, strict=True)) == 2 for holdings in found)
    assert list(exchanged(now, [{(0,)}, {(1, 2)}, {()}])) == []
    only_swapped = list(exchanged(now, [every - {(0,)}, every, every - {()}]))
    assert only_swapped == [((), (1, 2), (0,))]
    assert list(exchanged(now, [every - {(0,)}, every - {(1, 2)}, every - {()}])) == []


@pytest.mark.parametrize("surest_first", [True, False])
@pytest.mark.parametrize("seed", range(4))
def test_a_beam_decides_all_contents_and_none_cheaper_than_the_relaxation(seed: int, surest_first: bool) -> None:
    """Every part has one content per block; what it costs is at least what the whole does."""
    _, judged, frame = explored(seed)
    ends = decided(judged, frame, FAR, width=3, surest_first=surest_first, over=lambda: False)
    assert ends
    assert [end.bound for end in ends] == sorted(end.bound for end in ends)
    assert all(end.bound >= judged.bound for end in ends)
    assert all(len(shares) == 1 for end in ends for shares in shares_of(end, content_of))


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
