"""Which demands clash: the smallest set of wishes and rules that no page keeps, and the nearest page without one.

A demand is something a page has to keep that can be taken back: a wish, words, a marked region, a freedom that is
switched off, the least resolution, margins, that all photos are shown.  The set is found by taking demands back one
after the other for as long as the page stays *proved* impossible (a deletion filter: Chinneck and Dravnieks 1991, from
memory); so no demand can be taken from the set without a page becoming possible, or at least not being proved to be
impossible within the limits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fitter.formulate import Problems, Settings, formulate
from fitter.layout import Wishes
from fitter.pages import Page
from fitter.template import Template
from fitter.units import INCH
from solver.progress import Event
from solver.search import Effort, search
from solver.solution import Status

TRIAL = Effort(seconds=2.0, wall=6.0)
_SLIM = INCH // 8


@dataclass(frozen=True)
class Case:
    """A page with all that is asked of it."""

    page: Page
    settings: Settings


@dataclass(frozen=True)
class Demand:
    """Something asked for that can be taken back.

    ``what`` names it, ``remedy`` says how it is taken back; ``relax`` returns the case without it.
    """

    what: str
    remedy: str
    relax: Callable[[Case], Case]


@dataclass(frozen=True)
class Clash:
    """Demands that cannot all be kept, and the cheapest page without one of them (its cost, and whether proved)."""

    demands: tuple[Demand, ...]
    given_up: Demand | None = None
    cost: int = 0
    proved: bool = False

    def sentences(self) -> tuple[str, ...]:
        """Return what it says to the user."""
        names = [demand.what for demand in self.demands]
        told = f"{names[0]} cannot be had" if len(names) == 1 else f"these cannot be had together: {'; '.join(names)}"
        if self.given_up is None:
            return (f"{told}; and more is in the way",)
        known = "the best" if self.proved else "one"
        return (f"{told}. The nearest page: {self.given_up.remedy}; {known} then costs {self.cost / 1e6:.3f}",)


def clash(template: Template, page: Page, settings: Settings) -> Clash | None:
    """Return the smallest set of demands found that clash; ``None`` when it is none of them, or nothing is proved."""
    whole = Case(page, settings)
    suspects = demands(whole)
    if not suspects or status_of(template, whole, suspects) == "impossible":
        return None
    kept = list(suspects)
    for demand in suspects:
        fewer = [d for d in kept if d is not demand]
        if status_of(template, whole, [d for d in suspects if d not in fewer]) == "impossible":
            kept = fewer
    nearest: list[tuple[int, int, bool]] = []
    for number, demand in enumerate(kept):
        eased = demand.relax(whole)
        outcome = search(Problems(formulate(template, eased.page, eased.settings)), effort=TRIAL)
        if outcome.pages:
            nearest.append((outcome.pages[0].solution.cost, number, outcome.pages[0].proved))
    if not nearest:
        return Clash(tuple(kept)) if kept else None
    cost, number, proved = min(nearest)
    return Clash(tuple(kept), kept[number], cost, proved)


def status_of(template: Template, case: Case, without: Sequence[Demand]) -> Status:
    """Return whether there is a page without some demands: ``impossible`` is a proof, anything else none."""
    for demand in without:
        case = demand.relax(case)
    found: list[bool] = []

    def hear(event: Event) -> None:
        if event.kind == "first":
            found.append(True)

    problems = Problems(formulate(template, case.page, case.settings))
    return search(problems, effort=TRIAL, progress=hear, stop=lambda: bool(found)).status


def demands(case: Case) -> tuple[Demand, ...]:
    """Return what can be taken back, what is blamed last first."""
    settings = case.settings
    found: list[Demand] = []
    if case.page.margin > _SLIM or case.page.gutter:
        found.append(Demand("the margins", "with margins of 1/8 in and no gutter", _slim))
    if settings.photos:
        name = f"the least resolution of {settings.min_ppi} ppi"
        found.append(Demand(name, "with a lower --min-ppi", lambda c: _set(c, min_ppi=1)))
    if any(photo.detected for photo in settings.photos):
        found.append(Demand("the regions found in photos", "without these regions", lambda c: _bare(c, "detected")))
    if any(photo.keep for photo in settings.photos):
        found.append(Demand("the keep boxes you marked", "with smaller keep boxes or none", lambda c: _bare(c, "keep")))
    for freedom in sorted(settings.without):
        found.append(Demand(f"{freedom} switched off", f"with {freedom} allowed again", _allowing(freedom)))
    for ids in settings.needs:
        which = settings.items[ids[0]].which
        name = "the title" if which == "title" else "the words" if len(settings.needs) == 1 else which
        found.append(Demand(name, f"with {name} shortened or left out", _wordless(ids)))
    found += _wished(settings.wishes)
    if len(settings.photos) > settings.leave_out + 1:
        many = f"all {len(settings.photos)} photos" if not settings.leave_out else f"{len(settings.photos)} photos"
        found.append(Demand(many, "with fewer photos", lambda c: _set(c, leave_out=len(c.settings.photos))))
    return tuple(found)


def _wished(wishes: Wishes) -> list[Demand]:
    found = []
    for pin in wishes.pins:
        option = f"--pin {Path(pin[0]).name}={pin[1]}"
        found.append(Demand(option, f"without {option}", _dropping("pins", pin)))
    for field, name in (("stay", "pin"), ("avoid", "avoid"), ("bigger", "bigger"), ("smaller", "smaller")):
        for value in getattr(wishes, field):
            option = f"--{name} {Path(value).name}"
            found.append(Demand(option, f"without {option}", _dropping(field, value)))
    return found


def _dropping(field: str, value: object) -> Callable[[Case], Case]:
    def relax(case: Case) -> Case:
        wishes = case.settings.wishes
        left = tuple(v for v in getattr(wishes, field) if v != value)
        return _set(case, wishes=replace(wishes, **{field: left}))  # type: ignore[arg-type]

    return relax


def _allowing(freedom: str) -> Callable[[Case], Case]:
    return lambda case: _set(case, without=case.settings.without - {freedom})


def _wordless(ids: tuple[int, ...]) -> Callable[[Case], Case]:
    return lambda case: _set(case, needs=tuple(other for other in case.settings.needs if other != ids))


def _slim(case: Case) -> Case:
    return replace(case, page=replace(case.page, margin=min(case.page.margin, _SLIM), gutter={}))


def _bare(case: Case, field: str) -> Case:
    return _set(case, photos=tuple(replace(photo, **{field: ()}) for photo in case.settings.photos))  # type: ignore[arg-type]


def _set(case: Case, **fields: object) -> Case:
    return replace(case, settings=replace(case.settings, **fields))  # type: ignore[arg-type]
