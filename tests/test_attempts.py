"""What a page is chosen from, one search after the other; the searches here only say how they ended."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from fitter.attempts import Attempt, eased, widened
from fitter.formulate import Formulations, Settings
from fitter.layout import GivenPhoto
from fitter.pages import Page
from solver.solution import Outcome, Status
from tests.proofs.fitting import slot, template

DRAWN = template((6, 6), slot("a", 1, 1, 3, 2))
PAGE = Page("template", DRAWN.size)
PLAIN = GivenPhoto("lake.jpg", "0" * 64, (3000, 2000))
FACED = replace(PLAIN, detected=((0.1, 0.1, 0.2, 0.2),))


def ended(status: Status, *, stopped: bool = False, late: bool = False) -> Outcome:
    """Return how a search ended."""
    return Outcome(status, (), None, stopped, late, 0.0, {})


def tried(
    outcomes: Sequence[Outcome],
    *photos: GivenPhoto,
    at_fault: bool = False,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[Attempt, list[tuple[bool, set[str]]]]:
    """Return what comes of searches that end so, and what each was allowed: a wide lattice, waivers."""
    left, asked = list(outcomes), list[tuple[bool, set[str]]]()

    def search(made: Formulations) -> Outcome:
        settings = made[0].settings
        asked.append((settings.cramped, set(settings.waive)))
        return left.pop(0)

    settings = Settings(photos)
    found = eased(DRAWN, PAGE, settings, search, wishes_at_fault=lambda settings: at_fault, stop=stop)
    assert not left
    return found, asked


NONE, OPEN, DONE = ended("impossible"), ended("unknown"), ended("proved")


def test_a_page_that_is_there_ends_it() -> None:
    """Nothing else is tried."""
    found, asked = tried([DONE], PLAIN)
    assert asked == [(False, set())]
    assert (found.outcome, found.settings.cramped) == (DONE, False)


@pytest.mark.parametrize(("photo", "rules"), [(PLAIN, {"R8"}), (FACED, {"R5", "R8"})])
def test_wider_first_then_waived(photo: GivenPhoto, rules: set[str]) -> None:
    """Waivers keep the lattice on which no page was possible without."""
    found, asked = tried([NONE, NONE, DONE], photo)
    assert asked == [(False, set()), (True, set()), (True, rules)]
    assert (found.outcome, found.settings.waive) == (DONE, frozenset(rules))


def test_a_wider_page_waives_nothing() -> None:
    """It is the page."""
    found, asked = tried([NONE, DONE], FACED)
    assert asked == [(False, set()), (True, set())]
    assert found.settings.cramped


def test_nothing_is_waived_for_a_wish() -> None:
    """Where there is a page without the wishes, the wishes are told of."""
    found, asked = tried([NONE, NONE], FACED, at_fault=True)
    assert len(asked) == 2
    assert found.outcome is NONE


def test_without_photos_nothing_can_be_waived() -> None:
    """Words have no rule that may be waived."""
    assert tried([NONE, NONE])[1] == [(False, set()), (True, set())]


def test_faces_that_may_be_given_up_help_where_the_limits_ran_out() -> None:
    """Without such a page the first search is what is told of."""
    found, asked = tried([OPEN, OPEN], FACED)
    assert asked == [(False, set()), (False, {"R5"})]
    assert found.settings.waive == frozenset()


def test_after_the_time_limit_nothing_more_is_tried() -> None:
    """Nor where no face was found."""
    assert len(tried([ended("unknown", late=True)], FACED)[1]) == 1
    assert len(tried([OPEN], PLAIN)[1]) == 1


def test_stopped_is_stopped() -> None:
    """Whatever was proved by then."""
    assert len(tried([NONE], FACED, stop=lambda: True)[1]) == 1
    asked: list[bool] = []

    def search(made: Formulations) -> Outcome:
        asked.append(made[0].settings.cramped)
        return ended("impossible", stopped=True)

    widened(DRAWN, PAGE, Settings((PLAIN,)), search)
    assert asked == [False]
