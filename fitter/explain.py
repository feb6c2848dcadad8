"""Why a page is as it is: what the best page without a change costs, solved anew with that change forbidden."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from fitter.asked import settings_of
from fitter.attempts import widened
from fitter.changes import Change, all_changes
from fitter.errors import UseError
from fitter.formulate import Problems
from fitter.formulate.account import terms_of
from fitter.layout import Layout
from fitter.template import Template
from fitter.wishes import is_same_template
from solver.progress import Event
from solver.search import Effort, search

Verdict = Literal["proved", "bracket", "impossible", "unknown", "asked", "follows", "skipped"]


@dataclass(frozen=True)
class Explained:
    """A change, and what it is good for.

    Parameters
    ----------
    sentence
        The change, in the words of the layout.
    verdict
        ``proved``: the best page without it costs ``cost``.  ``bracket``: that page costs between ``bound`` and
        ``cost``.  ``impossible``: there is no page without it.  ``unknown``: none was found within the effort.
        ``asked``: it was asked for.  ``follows``: it goes with another change, so there is nothing to forbid.
        ``skipped``: stopped before its turn.
    cost, bound
        Of the page without it, in millionths; ``None`` where there is none.
    gained
        How much more that page costs than this one (``cost`` − this page's); negative when it is cheaper, which can be
        only when this page is not proved best, or is an alternative.
    least_gained
        The same for ``bound``: what the change gained at least.
    terms
        What makes the difference, weighted, by cost: positive where the page without it costs more.
    """

    sentence: str
    verdict: Verdict
    cost: int | None = None
    bound: int | None = None
    gained: int | None = None
    least_gained: int | None = None
    terms: tuple[tuple[str, int], ...] = ()


def explain_layout(
    layout: Layout,
    template: Template,
    *,
    effort: float = 5.0,
    time_limit: float | None = 30.0,
    progress: Callable[[Event], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> tuple[Explained, ...]:
    """Explain every change of a page.

    Parameters
    ----------
    layout
        The page.
    template
        The template it was made from.
    effort, time_limit
        Deterministic seconds, and seconds by the clock, for each change.
    progress
        Called with events while solving.
    stop
        Asked now and then whether to stop.

    Raises
    ------
    UseError
        When the layout was made from another template.
    """
    if not is_same_template(template, layout):
        raise UseError(
            f"the layout was made from the template {layout.template.name!r}"
            f"{' in another version' if layout.template.name == template.name else ''}, not from {template.name!r}"
        )
    halt = stop or (lambda: False)
    changes = all_changes(layout)
    found = []
    for number, change in enumerate(changes, 1):
        if halt():
            found.append(Explained(change.sentence, "skipped"))
            continue

        def tell(event: Event, number: int = number) -> None:
            if progress is not None:
                progress(replace(event, part=f"without change {number} of {len(changes)}"))

        limits = Effort(effort, time_limit, layout.search.seed)
        found.append(_explained(layout, template, change, limits, tell, halt))
    return tuple(found)


def _explained(
    layout: Layout,
    template: Template,
    change: Change,
    effort: Effort,
    tell: Callable[[Event], None],
    halt: Callable[[], bool],
) -> Explained:
    if change.part is None:
        return Explained(change.sentence, "asked")
    if _follows(layout, change):
        return Explained(change.sentence, "follows")
    settings = replace(
        settings_of(template, layout.given, layout.costs.weights),
        forbidden=frozenset({change.part}),
        waive=frozenset(waiver.rule for waiver in layout.waived),
    )
    tried = widened(
        template,
        layout.page,
        settings,
        lambda made: search(Problems(made), effort=effort, progress=tell, stop=halt),
    )
    formulations, outcome = tried.formulations, tried.outcome
    if not outcome.pages:
        # Stopped half-way, nothing is proved.
        proved = outcome.status == "impossible" and not outcome.stopped
        return Explained(change.sentence, "impossible" if proved else "unknown")
    best = outcome.pages[0]
    terms = terms_of(formulations[best.solution.problem], best.solution)
    cost = settings.rates.total(terms)
    bound = cost if best.proved else min(cost, best.bound)
    names = sorted({*terms, *layout.costs.terms})
    differences = [
        (name, settings.rates.of(name, terms.get(name, 0)) - settings.rates.of(name, layout.costs.terms.get(name, 0)))
        for name in names
    ]
    return Explained(
        change.sentence,
        "proved" if best.proved else "bracket",
        cost,
        bound,
        cost - layout.costs.total,
        bound - layout.costs.total,
        tuple(sorted(((n, d) for n, d in differences if d), key=lambda pair: (-abs(pair[1]), pair[0]))),
    )


def _follows(layout: Layout, change: Change) -> bool:
    """Whether something went because the slot it belongs to did."""
    if change.part is None or change.part.kind != "dropped":
        return False
    element = next(e for e in layout.reference if e.id == change.part.slot)
    return element.tie in ("mat", "carried") and element.on in layout.dropped
