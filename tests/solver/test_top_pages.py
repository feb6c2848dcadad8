"""The best few pages, each far enough from the better ones, are those that exhaustive enumeration picks."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

import pytest

import solver.search as searching
from solver.apart import VARIED
from solver.problem import Block, Column, Group, Member, Problem
from solver.progress import Event
from solver.search import Effort, search

AREAS = (100, 110, 121, 150, 185, 240)
KINDS = (1, 1, 3, 2, 21, 22, 5_001)
"""Role in the last digit, division before it, 5,000 for a panel on top."""
PHOTOS, TOP = 3, 4


@dataclass(frozen=True)
class Page:
    """One page of the enumeration: all that tells it from others."""

    cost: int
    turn: tuple[int, bool]
    scaling: str
    kinds: dict[str, int]
    lead: int
    area: int


def drawn(seed: int) -> list[Problem]:
    """Return an upright and a turned class of three slots, prices and contents drawn; two photos look alike."""
    dice = random.Random(seed)
    alike = (0, 0, 2) if seed % 2 else (0, 1, 2)
    return [
        Problem(
            name,
            tuple(Block(f"slot-{n}", _columns(dice), (0, 0), (0, 0), 0) for n in range(3)),
            (),
            tuple(Member(str(k), dice.randrange(9_000), (0, 1, 2)) for k in range(2)),
            (Group("photos ×1.1", dice.randrange(3_000)),),
            PHOTOS,
            (),
            (),
            (),
            (),
            (),
            areas=AREAS,
            alike=alike,
            rotations=((turn, False), ((turn + 180) % 360, dice.random() < 0.5)),
        )
        for name, turn in (("upright", 0), ("turned", 90))
    ]


def _columns(dice: random.Random) -> tuple[Column, ...]:
    listed = [Column(dice.randrange(30_000), kind=0, present=False)]
    for kind in KINDS:
        pieces = {1: 1, 21: 2, 22: 2, 5_001: 1}.get(kind, 0)
        for _ in range(3):
            photos = tuple(dice.sample(range(PHOTOS), pieces))
            gains = (dice.choice([None, 0, 2_000]),)
            members = dice.choice([-1, -1, 1, 2])
            areas = tuple(dice.randrange(len(AREAS)) + 1 for _ in photos)
            listed.append(
                Column(dice.randrange(40_000), photos=photos, kind=kind, areas=areas, gains=gains, members=members)
            )
    return tuple(listed)


def pages(problem: Problem) -> Iterator[Page]:
    """Yield every page of a class."""
    for columns in product(*(b.columns for b in problem.blocks)):
        if sorted(p for c in columns for p in c.photos) != list(range(PHOTOS)):
            continue
        shown = [(AREAS[rank - 1], -photo) for c in columns for photo, rank in zip(c.photos, c.areas, strict=True)]
        area, lead = max(shown)
        kinds = {block.name: c.kind for block, c in zip(problem.blocks, columns, strict=True)}
        for number, (member, turn) in enumerate(zip(problem.members, problem.rotations, strict=True)):
            if any(not c.members >> number & 1 for c in columns):
                continue
            cost = member.cost + sum(c.cost for c in columns)
            yield Page(cost, turn, "", kinds, problem.alike[-lead], area)
            gains = [c.gains[0] for c in columns if c.present]
            if None not in gains:
                (group,) = problem.groups
                saved = sum(gain or 0 for gain in gains)
                yield Page(cost + group.cost - saved, turn, group.name, kinds, problem.alike[-lead], area)


def apart(page: Page, earlier: Page) -> int:
    """Return the published page distance in tenths: turning, mirroring, slots, lead photo and its size."""
    turn = (page.turn[0] - earlier.turn[0]) % 360
    total = {0: 0, 180: 3}.get(turn, 5) + 2 * (page.turn[1] != earlier.turn[1])
    total += 3 * sum(page.kinds[name] != earlier.kinds[name] for name in page.kinds)
    if page.lead != earlier.lead:
        return total + 3
    return total + 2 * (abs(page.area - earlier.area) * 5 >= earlier.area)


def differs(page: Page, earlier: Page, aspect: str) -> bool:
    """Whether a page differs from an earlier one in what is demanded."""
    if aspect == "rotation":
        return page.turn != earlier.turn
    if aspect == "lead":
        return page.lead != earlier.lead
    if aspect == "scale":
        return page.scaling != earlier.scaling or abs(page.area - earlier.area) * 5 >= earlier.area
    pairs = [(page.kinds[name], earlier.kinds[name]) for name in page.kinds]
    if aspect == "roles":
        return any(one and other and one % 10 != other % 10 for one, other in pairs)
    return any(bool(one) != bool(other) or one // 10 != other // 10 for one, other in pairs)


@cache
def enumerated(seed: int) -> tuple[Page, ...]:
    """Return all pages, the cheapest first."""
    return tuple(sorted((page for problem in drawn(seed) for page in pages(problem)), key=lambda page: page.cost))


def best(seed: int, vary: tuple[str, ...]) -> list[int]:
    """Return what the best few pages cost, picked one after the other."""
    chosen: list[Page] = []
    for page in enumerated(seed):
        far = all(apart(page, one) >= 3 and all(differs(page, one, aspect) for aspect in vary) for one in chosen)
        if far and len(chosen) < TOP:
            chosen.append(page)
    return [page.cost for page in chosen]


@pytest.mark.parametrize("vary", [(), *((aspect,) for aspect in VARIED), ("rotation", "lead")])
@pytest.mark.parametrize("seed", range(8))
def test_the_best_pages_are_those_of_the_enumeration(seed: int, vary: tuple[str, ...]) -> None:
    """Four pages, or as many as there are, cost what the enumeration says, each proved."""
    outcome = search(drawn(seed), top=TOP, vary=vary, effort=Effort(60.0, None, 0))
    assert [page.solution.cost for page in outcome.pages] == best(seed, vary)
    assert all(page.proved for page in outcome.pages)


def test_a_page_met_late_goes_before_what_costs_more(monkeypatch) -> None:
    """Where limits cut a search short the next page may be cheaper; bounds stay those of the ranks."""
    outcome = search(drawn(0), top=4, effort=Effort(60.0, None, 0))
    a, b, c, d = (page.solution for page in outcome.pages)
    assert a.cost < b.cost < c.cost < d.cost
    told = iter([(b, 5), (a, a.cost - 3), (d, c.cost - 1), (c, c.cost)])
    monkeypatch.setattr(searching, "_best", lambda *given: next(told))
    found = search(drawn(0), top=4, effort=Effort(60.0, None, 0))
    assert [page.solution for page in found.pages] == [a, b, c, d]
    assert [page.bound for page in found.pages] == [5, 5, c.cost - 1, c.cost - 1]
    assert (found.status, found.bound) == ("feasible", 5)


@pytest.mark.parametrize(("spent", "allowed"), [(1.0, 14.0), (8.0, 18.0), (20.0, 20.0)])
def test_alternatives_take_no_more_than_2_25_times_what_the_first_page_took(monkeypatch, spent, allowed) -> None:
    """Or 0.35 of the limits; each of those left gets its share."""
    shares: list[float] = []

    def look(state, ranked, seconds, mate, teller):
        shares.append(seconds)
        state.used += seconds / 2 if ranked else spent
        return pages[len(ranked)].solution, 0

    pages = search(drawn(0), top=4, effort=Effort(60.0, None, 0)).pages
    monkeypatch.setattr(searching, "_best", look)
    search(drawn(0), top=4, effort=Effort(40.0, None, 0))
    # Each takes half of its share here, so that more is left for those after it.
    assert shares == pytest.approx([20.0, allowed / 3, allowed * 5 / 12, allowed * 5 / 8], rel=0.01)


def test_the_time_left_is_that_of_what_alternatives_may_take() -> None:
    """At the rate by which effort was used so far; until the first page is done, all that is allowed."""
    told: list[Event] = []

    def look(state, ranked, seconds, mate, teller):
        state.used += 0.6
        teller.event("bound", "told", 10, 5)
        return pages[len(ranked)].solution, 0

    pages = search(drawn(0), top=2, effort=Effort(60.0, None, 0)).pages
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(searching, "_best", look)
        search(drawn(0), top=2, effort=Effort(100.0, None, 0), progress=told.append)
    first, second = (event for event in told if event.kind == "bound")
    assert first.left is not None and second.left is not None
    assert first.left / first.elapsed == pytest.approx((100.0 - 0.6) / 0.6, rel=0.01)
    # After 0.6 alternatives may take 35 more.
    assert second.left / second.elapsed == pytest.approx((35.6 - 1.2) / 1.2, rel=0.05)


def test_an_alternative_that_takes_longer_is_looked_for_all_the_same(monkeypatch) -> None:
    """With all that is left: a page is better than none."""
    shares: list[float] = []

    def look(state, ranked, seconds, mate, teller):
        shares.append(seconds)
        state.used += min(seconds, 2.0)
        return (None, 0) if len(shares) == 2 else (pages[len(ranked)].solution, 0)

    pages = search(drawn(0), top=2, effort=Effort(60.0, None, 0)).pages
    monkeypatch.setattr(searching, "_best", look)
    assert len(search(drawn(0), top=2, effort=Effort(10.0, None, 0)).pages) == 2
    assert shares == pytest.approx([5.0, 4.5, 6.0], rel=0.01)


def test_demands_make_a_difference() -> None:
    """Each of them changes the best few pages somewhere, and some leave fewer than four."""
    for aspect in VARIED:
        assert any(best(seed, (aspect,)) != best(seed, ()) for seed in range(8))
    assert any(len(best(seed, ("rotation", "lead"))) < TOP for seed in range(8))


def test_progress_says_which_page_is_looked_for() -> None:
    """Of the first nothing need be said; the last word is about all of them."""
    told: list[Event] = []
    pages = search(drawn(1), top=3, effort=Effort(20, None), progress=told.append).pages
    assert len(pages) == 3
    parts = [event.part for event in told if event.kind != "done"]
    assert list(dict.fromkeys(parts)) == ["", "page 2 of 3", "page 3 of 3"]
    assert (told[-1].kind, told[-1].part, told[-1].message) == ("done", "", "3 pages")
    assert all(event.bound is not None for event in told if event.kind == "class" and event.part)
