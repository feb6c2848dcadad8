"""Whether there is any page for what is asked, tried again and again within one limit.

Everything counts in deterministic seconds, formulating too, so the same trials end the same way on every machine.
All costs are taken for nothing: the first page found ends a trial.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Literal

from fitter.cost_names import COSTS
from fitter.demands import Case, asking
from fitter.formulate import Formulations, Problems, Settings, formulate
from fitter.formulate.divided_blocks import MOST_PIECES
from fitter.formulate.rates import Rates
from fitter.formulate.rooms import MOST_ROOMS
from fitter.layout import GivenPhoto
from fitter.template import Element
from solver.problem import Problem
from solver.search import Effort, search
from solver.solution import Outcome

Verdict = Literal["possible", "impossible", "unknown"]

TOTAL = 10.0
"""Deterministic seconds for all trials together."""
TRIAL = 1.0
"""Deterministic seconds for solving in one trial."""
PER_COLUMN = 0.0003
"""What formulating is charged for each column."""
MOST_PHOTOS = 12
"""With more photos than this that may be left out, the first of them are tried, not every choice."""
_FREE = Rates(dict.fromkeys(COSTS, 0.0))


class _SpentError(Exception):
    """The limit of all trials is reached."""


class Trials:
    """Trials that share a limit.

    Parameters
    ----------
    stop
        Asked now and then whether to stop; nothing is known then.

    Attributes
    ----------
    left
        Deterministic seconds that are left.
    """

    def __init__(self, stop: Callable[[], bool] = lambda: False, total: float = TOTAL) -> None:
        self.left = total
        self._stop = stop

    def verdict(self, case: Case) -> Verdict:
        """Return whether there is a page; ``impossible`` is a proof."""
        settings = case.settings
        wanted = len(settings.photos) - settings.leave_out
        drawings = formulate(case.template, case.page, settings).drawings
        if wanted > most_photos(drawings, settings):
            return "impossible"
        if 2 * wanted <= len(settings.photos) or len(settings.photos) > MOST_PHOTOS >= wanted:
            # Fewer photos are quicker to try, and a page of them is one that leaves out the others.
            fewer = asking(case, photos=first_photos(settings, wanted), leave_out=0)
            if self._tried(fewer) == "possible":
                return "possible"
        if len(settings.photos) > MOST_PHOTOS:
            return "unknown"
        return self._tried(case)

    def possible(self, case: Case) -> bool:
        """Whether a page was found."""
        return self.verdict(case) == "possible"

    def best(self, case: Case, seconds: float) -> Outcome | None:
        """Return the best page that can be found in so many deterministic seconds, as costs are."""
        return self._searched(case, seconds)

    def _tried(self, case: Case) -> Verdict:
        outcome = self._searched(asking(case, rates=_FREE), TRIAL)
        if outcome is None or outcome.stopped:
            return "unknown"
        if outcome.pages:
            return "possible"
        return "impossible" if outcome.status == "impossible" else "unknown"

    def _searched(self, case: Case, seconds: float) -> Outcome | None:
        if self.left <= 0 or self._stop():
            return None
        problems = _Charged(formulate(case.template, case.page, case.settings), self)
        try:
            outcome = search(problems, effort=Effort(min(seconds, self.left), None), stop=self._stop)
        except _SpentError:
            return None
        self.left -= outcome.effort
        return outcome


class _Charged(Problems):
    """Problems that charge trials for being formulated, and are no more once the limit is reached."""

    def __init__(self, formulations: Formulations, trials: Trials) -> None:
        super().__init__(formulations)
        self._trials = trials
        self._paid: set[int] = set()

    def item(self, number: int) -> Problem:
        """Return a problem; the first time it is charged for."""
        if number in self._paid:
            return super().item(number)
        if self._trials.left <= 0:
            raise _SpentError
        problem = super().item(number)
        self._paid.add(number)
        self._trials.left -= PER_COLUMN * sum(len(block.columns) for block in problem.blocks)
        return problem


def first_photos(settings: Settings, count: int) -> tuple[GivenPhoto, ...]:
    """Return the first photos, those that wishes speak of before others, in their order."""
    wishes, photos = settings.wishes, settings.photos
    wished = {*(file for file, _ in wishes.pins), *wishes.bigger, *wishes.smaller}
    numbers = sorted(range(len(photos)), key=lambda n: (photos[n].file not in wished, n))
    return tuple(photos[n] for n in sorted(numbers[: max(count, len(wished))]))


def most_photos(drawings: Iterable[Sequence[Element]], settings: Settings) -> int:
    """Return the most photos any page could hold, whatever their shapes, on the best of some drawings."""
    return max(_most_photos(elements, settings) for elements in drawings)


def _most_photos(elements: Sequence[Element], settings: Settings) -> int:
    each = MOST_PIECES if settings.may("add-slot") else 1
    slots = 0
    for element in elements:
        if element.role == "photo":
            slots += 1 if element.shape != "rect" or element.limits.fixed else each
        elif element.role in ("paper", "journaling") and element.tie is None and settings.may("swap-role"):
            slots += 0 if element.is_strip else each
    return slots + (MOST_ROOMS if settings.may("add-slot") else 0)
