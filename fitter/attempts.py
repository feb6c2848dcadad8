"""What a page is chosen from: the usual lattice, a wider one where that has no page, then with rules waived.

Enters: a case and a way to search.  Leaves: the formulations that count, and what the search found in them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from fitter.formulate import Formulation, Formulations, Settings, formulate
from fitter.formulate.account import terms_of
from fitter.pages import Page
from fitter.template import Template
from solver.progress import Stop
from solver.solution import Outcome, Ranked

Search = Callable[[Formulations], Outcome]


@dataclass(frozen=True)
class Attempt:
    """A case as it was formulated and searched."""

    settings: Settings
    formulations: Formulations
    outcome: Outcome


def attempt(template: Template, page: Page, settings: Settings, search: Search) -> Attempt:
    """Search under some settings."""
    formulations = formulate(template, page, settings)
    return Attempt(settings, formulations, search(formulations))


def widened(
    template: Template, page: Page, settings: Settings, search: Search, stop: Stop = lambda: False
) -> Attempt:
    """Search, and once more where it is proved that there is no page.

    Then on the wider lattice: a page with narrow gaps, or with much smaller things, is better than none.
    """
    usual = attempt(template, page, settings, search)
    if usual.outcome.status != "impossible" or usual.outcome.stopped or stop():
        return usual
    return attempt(template, page, replace(settings, cramped=True), search)


def eased(
    template: Template,
    page: Page,
    settings: Settings,
    search: Search,
    *,
    wishes_at_fault: Callable[[Settings], bool],
    stop: Stop = lambda: False,
) -> Attempt:
    """Search as :func:`widened`, then with rules waived where that is needed.

    Rules are waived only once it is proved that no page obeys them all, and never for the sake of a wish; every waiver
    has its price, so that all that may be waived is offered at once and as little as can be is.  Where no page was
    found and none is ruled out, faces that may be given up lead the search to pages that keep them; only such pages
    count.

    Parameters
    ----------
    wishes_at_fault
        Whether there is a page without the wishes of some settings.
    """
    found = widened(template, page, settings, search, stop)
    settings, outcome, waive = found.settings, found.outcome, _waivable(settings)
    if outcome.status == "impossible" and waive and not stop() and not wishes_at_fault(settings):
        # What cannot be with waivers either is explained with them: they are not what is missing.
        found = attempt(template, page, replace(settings, waive=waive), search)
        settings, outcome = found.settings, found.outcome
    if outcome.status == "unknown" and not (stop() or outcome.wall_limit_hit) and "R5" in waive - settings.waive:
        helped = replace(settings, waive=frozenset({"R5"}))
        other = attempt(template, page, helped, lambda made: obeying(search(made), made))
        found = other if other.outcome.pages else found
    return found


def obeying(outcome: Outcome, formulations: Sequence[Formulation]) -> Outcome:
    """Return an outcome with the pages before the first that waives a rule; the bounds of later ones speak of it."""

    def whole(page: Ranked) -> bool:
        return "waived" not in terms_of(formulations[page.solution.problem], page.solution)

    pages = tuple(takewhile(whole, outcome.pages))
    return replace(outcome, pages=pages, complete=outcome.complete and len(pages) == len(outcome.pages))


def _waivable(settings: Settings) -> frozenset[str]:
    """Return the rules a waiver of which could make a difference at all."""
    if not settings.photos:
        return frozenset()
    return frozenset({"R5", "R8"} if any(photo.detected for photo in settings.photos) else {"R8"})
