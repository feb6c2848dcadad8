"""An opening: a few pages of a problem, put together quickly, for a first page; it changes nothing else."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from fitter.api import Options, fit_page
from fitter.formulate import Problems, formulate
from fitter.formulate.formulation import SLOW
from fitter.formulate.scene import Scene, build_scene
from fitter.formulate.settings import Settings
from fitter.pages import Page
from solver.problem import NotMadeError, Problem
from solver.progress import Event
from solver.search import Effort, search
from tests.proofs.fitting import fit, slot, template
from tests.solver.grids import grid

ENOUGH = Effort(30.0, None, 0)


def opening(problem: Problem) -> Problem:
    """Return the pages of a grid on which no cell has another size."""
    blocks = (
        replace(b, columns=tuple(c for c in b.columns if not c.dw and not c.dh), x=(0, 0), y=(0, 0))
        for b in problem.blocks
    )
    return replace(problem, name="as drawn", blocks=tuple(blocks), openings=1)


def test_the_first_page_comes_from_it_and_the_best_one_is_the_same() -> None:
    """The first page told is one as drawn; what is proved best, with and without, costs the same."""
    plain = grid(2, 2, 3, seed=1)
    events: list[Event] = []
    outcome = search([plain, opening(plain)], effort=ENOUGH, progress=events.append)
    told = [event for event in events if event.kind in ("first", "better")]
    assert "as drawn" in told[0].message
    assert [event.cost for event in told] == sorted((event.cost or 0 for event in told), reverse=True)
    assert outcome.status == "proved"
    assert outcome.pages[0].solution.cost == search([plain], effort=ENOUGH).pages[0].solution.cost


def test_a_search_that_ends_at_once_has_its_page() -> None:
    """With no effort for more than a first page, that one is the result, with a bound that holds."""
    plain = grid(2, 2, 3, seed=1)
    best = search([plain], effort=ENOUGH).pages[0].solution.cost
    (page,) = search([plain, opening(plain)], effort=Effort(0.001, None, 0)).pages
    assert page.bound <= best <= page.solution.cost


def test_the_next_opening_is_tried_where_the_likeliest_has_no_page() -> None:
    """The first page told is still one as drawn."""
    plain = grid(2, 2, 3, seed=1)
    likely = replace(opening(plain), photos=plain.photos + 1, openings=2)
    events: list[Event] = []
    outcome = search([plain, replace(opening(plain), openings=2), likely], effort=ENOUGH, progress=events.append)
    assert next(event for event in events if event.kind == "first").message == "class as drawn"
    assert outcome.status == "proved"
    assert outcome.pages[0].solution.cost == search([plain], effort=ENOUGH).pages[0].solution.cost


def test_where_no_opening_has_a_page_the_class_with_most_to_choose_from_comes_first() -> None:
    """Its page is told before the other class is begun; what is proved best is the same."""
    plain = grid(2, 2, 3, seed=1)
    poor, rich = (replace(plain, name=name) for name in ("poor", "rich"))
    ample = replace(opening(rich), photos=plain.photos + 1, openings=2)
    scanty = replace(ample, blocks=tuple(replace(b, columns=b.columns[:1]) for b in ample.blocks))
    events: list[Event] = []
    outcome = search([poor, rich, ample, scanty], effort=ENOUGH, progress=events.append)
    assert next(event for event in events if event.kind == "first").message == "class rich"
    assert outcome.pages[0].solution.cost == search([plain], effort=ENOUGH).pages[0].solution.cost


def test_an_opening_without_a_page_is_no_proof_that_there_is_none() -> None:
    """Where nothing fits as drawn, the other problems decide."""
    plain = grid(2, 2, 3, seed=1)
    barred = replace(opening(plain), photos=plain.photos + 1)
    assert search([plain, barred], effort=ENOUGH).status == "proved"


class Made(Sequence[Problem]):
    """Problems that are put together when they are asked for; ``asked`` tells which were."""

    def __init__(self, problems: list[Problem]) -> None:
        self._problems, self.asked, self.refused = problems, set[int](), set[int]()

    def __len__(self) -> int:
        return len(self._problems)

    def __getitem__(self, index: Any) -> Any:
        if index in self.refused:
            raise NotMadeError
        self.asked.add(range(len(self))[index])
        return self._problems[index]


def test_no_class_is_put_together_once_the_search_has_to_end() -> None:
    """A page as drawn is the result, and as the classes are not known its bound is nothing."""
    plain = grid(2, 2, 3, seed=1)
    problems = Made([plain, plain, opening(plain)])
    (page,) = search(problems, effort=ENOUGH, stop=lambda: 2 in problems.asked).pages
    assert problems.asked == {2}
    assert page.bound == 0


@pytest.mark.parametrize("refused", [{0, 1}, {1}, {0, 1, 2}])
def test_a_class_that_is_not_made_in_time_is_not_ruled_out(refused: set[int]) -> None:
    """What was found before is the result, with a bound of nothing; without anything, no page is proved impossible."""
    plain = grid(2, 2, 3, seed=1)
    problems = Made([plain, plain, opening(plain)])
    problems.refused = refused
    outcome = search(problems, effort=ENOUGH)
    assert [page.bound for page in outcome.pages] == ([] if 2 in refused else [0])
    assert outcome.status == ("unknown" if 2 in refused else "feasible")


def test_an_opening_that_was_not_needed_is_not_made_for_its_name() -> None:
    """The first opening has a page; of the second one, and of the classes, nothing is asked when the search ends."""
    plain = grid(2, 2, 3, seed=1)
    problems = Made([plain, plain, replace(opening(plain), openings=2), replace(opening(plain), openings=2)])
    problems.refused = {0, 1, 2}
    (page,) = search(problems, effort=ENOUGH, stop=lambda: 3 in problems.asked).pages
    assert page.bound == 0


def test_an_opening_that_was_not_needed_is_told_of_nowhere() -> None:
    """The classes are searched to the end without it ever being made."""
    plain = grid(2, 2, 3, seed=1)
    events: list[Event] = []
    problems = Made([plain, plain, *(replace(opening(plain), openings=2) for _ in range(2))])
    problems.refused = {2}
    outcome = search(problems, effort=ENOUGH, progress=events.append)
    assert outcome.status == "proved"
    assert {event.message for event in events if event.kind == "class"} == {f"class {plain.name} finished"}


def test_putting_together_ends_between_blocks() -> None:
    """A class is not finished once nobody wants it, and is made anew when it is asked for again."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 2), slot("sheet", 0.5, 3, 3, 4, "paper"))
    whole = formulate(made, Page("template", made.size), Settings(()))
    asked: list[int] = []

    def halt() -> bool:
        asked.append(1)
        return len(asked) > 1

    with pytest.raises(NotMadeError):
        _ = Problems(whole, halt)[0]
    assert len(asked) == 2
    assert whole.made == ()
    assert whole[0] in whole.made


def test_a_time_limit_holds_while_classes_are_put_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """None is gone on with after it, none begun: one scene to see where texts may flow, one of the class given up."""
    made = template((8, 8), slot("sheet", 0.5, 3, 3, 4, "paper"), slot("title", 1, 1, 5, 1, "title"))
    begun: list[int] = []

    def slowly(*arguments: Any) -> Scene:
        begun.append(1)
        time.sleep(0.1)
        return build_scene(*arguments)

    monkeypatch.setattr("fitter.formulate.formulation.build_scene", slowly)
    result = fit(made, [], title="Lake", time_limit=0.01)
    assert (len(begun), result.layouts) == (2, ())
    assert "within the limits" in result.reasons[0]


def test_no_page_is_placed_after_the_first_once_an_end_is_wanted() -> None:
    """The best page is kept, and the result says that it was interrupted."""
    made = template((8, 8), slot("sheet", 0.5, 3, 3, 4, "paper"), slot("title", 1, 1, 5, 1, "title"))
    steps: list[str] = []
    result = fit_page(
        made,
        [],
        title="Lake",
        options=Options(top=2, effort=0.5, time_limit=None),
        progress=lambda event: steps.append(event.step),
        stop=lambda: "4 place" in steps,
    )
    assert (len(result.layouts), result.interrupted) == (1, True)
    whole = fit_page(made, [], title="Lake", options=Options(top=2, effort=0.5, time_limit=None))
    assert (len(whole.layouts), whole.interrupted) == (2, False)


def test_each_class_has_one_unless_nothing_is_saved() -> None:
    """They come last, the first class's at the end, with reference sizes only; none when these are all there are."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 2), slot("sheet", 0.5, 3, 3, 4, "paper"))
    page = Page("template", made.size)
    whole = formulate(made, page, Settings(()))
    assert [f.problem.openings for f in whole] == [0, 0, 2, 2]
    assert [f.problem.rotations for f in whole[2:]] == [((90, False),), ((0, False),)]
    assert all(not c.dw and not c.dh for f in whole[2:] for b in f.problem.blocks for c in b.columns)
    assert not any(f.problem.openings for f in formulate(made, page, Settings((), without=SLOW)))
