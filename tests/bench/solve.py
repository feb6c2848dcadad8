"""One instance: formulate, search, place and check it, and the naive fill beside it."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import overload

from fitter.changes import changes
from fitter.check import Report, check_layout
from fitter.formulate import Formulation, Settings, formulate
from fitter.formulate.account import terms_of
from fitter.formulate.content import TextItem
from fitter.layout import Costs, Given, Layout, Search, TemplateRef
from fitter.layout_file import layout_from_json, layout_text
from fitter.pages import Page
from fitter.palette import choose_palette, paint
from fitter.place import place
from fitter.words import given_count
from solver.problem import Problem
from solver.progress import Event, gap_of
from solver.search import Effort, search
from solver.solution import Ranked
from tests.bench.instances import Instance
from tests.bench.naive import naive_layout

WALL_SECONDS = 60.0
NEAR = 1.05


@dataclass(frozen=True)
class Record:
    """A line of the table.  Times in seconds from the start of formulating; ``None`` where it did not happen.

    ``status`` is ``proved``, ``feasible``, ``none`` (with ``why``) or ``crash``.  Costs and bounds in
    millionths; ``cost`` is the one the page states, ``solver_cost`` what the solver took it for, which may be
    more on a page not proved.  ``failures`` says what the checker held against the fitter's page; empty when it
    passed.  Crop loss is the mean share lost per photo placed.
    """

    name: str
    template: str
    photos: int
    natural: int
    words: int
    distinct: bool
    keeps: int
    impossible: str
    status: str
    why: str = ""
    formulate: float | None = None
    first: float | None = None
    near: float | None = None
    proof: float | None = None
    total: float | None = None
    place_check: float | None = None
    cost: int | None = None
    solver_cost: int | None = None
    bound: int | None = None
    gap: float | None = None
    columns: int | None = None
    effort: float | None = None
    wall_limit_hit: bool = False
    first_cost: int | None = None
    failures: str = ""
    crop_loss: float | None = None
    overlap: int | None = None
    naive_cost: int | None = None
    naive_crop_loss: float | None = None
    naive_overlap: int | None = None
    naive_violations: int | None = None
    naive_rules: str = ""
    naive_left_out: int | None = None


@dataclass(frozen=True)
class Solved:
    """A record and the page behind it, for a closer look when it failed."""

    record: Record
    layout: Layout | None


class _Timed(Sequence[Problem]):
    """The problems, each formulated when the search first asks for it; ``seconds`` is what that took."""

    def __init__(self, formulations: Sequence[Formulation]) -> None:
        self._formulations = formulations
        self.seconds = 0.0

    def __len__(self) -> int:
        return len(self._formulations)

    @overload
    def __getitem__(self, index: int) -> Problem: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Problem]: ...

    def __getitem__(self, index: int | slice) -> Problem | Sequence[Problem]:
        if isinstance(index, slice):
            return [self[number] for number in range(*index.indices(len(self)))]
        before = time.perf_counter()
        problem = self._formulations[index].problem
        self.seconds += time.perf_counter() - before
        return problem


def given_of(instance: Instance) -> Given:
    """Return what the page was asked for."""
    texts = (given_count(instance.words),) if instance.words else ()
    return Given(photos=instance.photos, texts=texts, title=instance.title)


def settings_of(given: Given) -> Settings:
    """Return the same for formulating; no starter has more than one card, so words never flow."""
    items = [TextItem(n, text.text, f"text-{n + 1}") for n, text in enumerate(given.texts)]
    if given.title is not None:
        items.append(TextItem(len(items), given.title, "title"))
    return Settings(given.photos, tuple(items), tuple((item.index,) for item in items))


def solve(instance: Instance, *, effort: float, seed: int) -> Solved:
    """Fit an instance, time it, and judge both the fitter's and the naive page."""
    template, given = instance.template, given_of(instance)
    page = Page("template", template.size)
    record = Record(
        name=instance.name,
        template=template.name,
        photos=len(instance.photos),
        natural=instance.natural,
        words=instance.words,
        distinct=instance.distinct,
        keeps=sum(len(photo.keep) for photo in instance.photos),
        impossible=instance.impossible,
        status="none",
    )
    record = _with_naive(record, instance, page, given)
    steps: list[tuple[float, int]] = []

    def note(event: Event) -> None:
        # By this clock, which started before formulating; the event's own starts with the search.
        if event.kind in ("first", "better") and event.cost is not None:
            steps.append((time.perf_counter() - started, event.cost))

    started = time.perf_counter()
    formulations = formulate(template, page, settings_of(given))
    problems = _Timed(formulations)
    outcome = search(problems, top=1, effort=Effort(effort, WALL_SECONDS, seed), progress=note)
    total = time.perf_counter() - started
    record = replace(
        record,
        formulate=problems.seconds,
        total=total,
        columns=sum(len(block.columns) for f in formulations for block in f.problem.blocks),
        effort=outcome.effort,
        wall_limit_hit=outcome.wall_limit_hit,
    )
    if not outcome.pages:
        return Solved(replace(record, why=outcome.status), None)
    before = time.perf_counter()
    layout = _layout(instance, page, given, formulations, outcome.pages[0], seed)
    record = _with_times(record, outcome.pages[0], steps, layout.costs.total)
    report = check_layout(layout, template=template)
    faults = _faults(report, layout, outcome.pages[0])
    return Solved(
        replace(
            record,
            place_check=time.perf_counter() - before,
            failures="; ".join(faults),
            crop_loss=_crop_loss(report),
            overlap=report.costs.terms["overlap"],
        ),
        layout,
    )


def _with_times(record: Record, best: Ranked, steps: list[tuple[float, int]], stated: int) -> Record:
    cost, total = best.solution.cost, record.total
    assert total is not None
    near = next((at for at, found in steps if found <= NEAR * cost), total)
    return replace(
        record,
        status="proved" if best.proved else "feasible",
        first=steps[0][0] if steps else total,
        first_cost=steps[0][1] if steps else cost,
        near=near,
        proof=total if best.proved else None,
        cost=stated,
        solver_cost=cost,
        bound=best.bound,
        gap=gap_of(stated, best.bound),
    )


def _layout(
    instance: Instance,
    page: Page,
    given: Given,
    formulations: Sequence[Formulation],
    ranked: Ranked,
    seed: int,
) -> Layout:
    """Return the page as it reads from its file."""
    template, formulation = instance.template, formulations[ranked.solution.problem]
    placed = place(template, formulation, ranked.solution)
    terms = terms_of(formulation, ranked.solution)
    total = formulation.settings.rates.total(terms)
    layout = Layout(
        page=page,
        given=given,
        template=TemplateRef(template.name, template.sha256, template.size, Path(template.file or "").name),
        transform=replace(placed.reference.transform, rescale=placed.rescale),
        reference=placed.reference.elements,
        elements=paint(placed.elements, choose_palette(()), seed),
        dropped=placed.dropped,
        waived=placed.waived,
        left_out=tuple(given.photos[n].file for n in placed.left_out),
        changes=(),
        notes=template.notes,
        costs=Costs(total, terms, {}),
        search=Search(
            "proved" if ranked.proved else "feasible",
            min(ranked.bound, total),
            round(gap_of(total, min(ranked.bound, total)), 6),
            seed,
            {},
            {},
        ),
    )
    layout = replace(layout, changes=changes(layout))
    return layout_from_json(json.loads(layout_text(layout)))


def _faults(report: Report, layout: Layout, ranked: Ranked) -> list[str]:
    """Return everything the checker holds against a page, and a total that contradicts the solver's."""
    broken = [rule for rule in report.rules if rule.status == "broken"]
    found = [f"{v.rule} {v.message}" for rule in broken for v in rule.violations]
    found += [f"{d.term}: stated {d.stated}, recomputed {d.recomputed}" for d in report.cost_differences]
    found += report.differences
    # An unproved page may be cheaper than the solver noticed, but never dearer, nor below its bound.
    slack = sum(len(items) for items in report.details.values())
    total, cost, bound = layout.costs.total, ranked.solution.cost, ranked.bound
    if total > cost + slack:
        found.append(f"costs {total}, more than the {cost} the solver took it for")
    if total < bound - slack:
        found.append(f"costs {total}, less than its bound of {bound}")
    return found


def _crop_loss(report: Report) -> float | None:
    losses = [item.amount / 1e6 for item in report.details["crop-loss"]]
    return sum(losses) / len(losses) if losses else None


def _with_naive(record: Record, instance: Instance, page: Page, given: Given) -> Record:
    layout = naive_layout(instance.template, page, given)
    report = check_layout(layout, template=instance.template)
    if report.differences or report.cost_differences:
        raise AssertionError(f"the naive page is not what it says: {report.lines()}")
    broken = [(rule.rule, len(rule.violations)) for rule in report.rules if rule.status == "broken"]
    return replace(
        record,
        naive_cost=report.costs.total,
        naive_crop_loss=_crop_loss(report),
        naive_overlap=report.costs.terms["overlap"],
        naive_violations=sum(count for _, count in broken),
        naive_rules=" ".join(rule for rule, _ in broken),
        naive_left_out=len(layout.left_out),
    )
