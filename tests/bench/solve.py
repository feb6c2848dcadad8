"""One instance: formulate, search, place and check it, and the peers beside it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import overload

from fitter.attempts import attempt, obeying, widened
from fitter.formulate import Formulations, Problems
from fitter.layout import Layout
from solver.problem import Problem
from solver.progress import Event, gap_of
from solver.search import Effort, search
from solver.solution import Outcome, Ranked
from tests.bench.instances import Instance
from tests.bench.peers import PEERS, run_peers
from tests.bench.placing import Judged, judged, layout_of, settings_of
from tests.bench.records import GAP_AT, NEAR, NEARER, PeerRecord, Record, Step

WALL_SECONDS = 60.0
LEAST_PEER_SECONDS = 2.0
"""Peers get as long as the fitter took, but never less than this."""


@dataclass(frozen=True)
class Solved:
    """A record, what was known when, the peers, and the page for a closer look when it failed."""

    record: Record
    steps: tuple[Step, ...] = ()
    peers: tuple[PeerRecord, ...] = ()
    layout: Layout | None = None


class _Timed(Problems):
    """The problems, each formulated when the search first asks for it; ``seconds`` is what that took."""

    seconds = 0.0

    @overload
    def __getitem__(self, index: int) -> Problem: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Problem]: ...

    def __getitem__(self, index: int | slice) -> Problem | Sequence[Problem]:
        before = time.perf_counter()
        found = super().__getitem__(index)
        self.seconds += time.perf_counter() - before
        return found


def blank(instance: Instance) -> Record:
    """Return what is known of an instance before it is fitted."""
    return Record(
        name=instance.name,
        group=instance.group,
        template=instance.template.name,
        page="own" if not instance.refitted else instance.page.name,
        refitted=instance.refitted,
        elements=len(instance.template.elements),
        photos=len(instance.photos),
        natural=instance.natural,
        words=instance.words,
        distinct=instance.distinct,
        keeps=sum(len(photo.keep) for photo in instance.photos),
        impossible=instance.impossible,
        seen=instance.seen,
    )


def solve(instance: Instance, *, effort: float, seed: int, peers: Sequence[str] = PEERS) -> Solved:
    """Fit an instance, time it, let the peers fit it too, and judge all their pages."""
    steps: list[Step] = []

    def note(event: Event) -> None:
        # By this clock, which started before formulating; the event's own starts with the search.
        last = steps[-1] if steps else Step(0.0, None, None)
        cost = _best(min, last.cost, event.cost)
        bound = _best(max, last.bound, event.bound)
        if (cost, bound) != (last.cost, last.bound):
            steps.append(Step(time.perf_counter() - started, cost, bound))

    def searched(formulations: Formulations) -> Outcome:
        nonlocal spent, formulating
        steps.clear()
        problems = _Timed(formulations)
        outcome = search(problems, top=1, effort=Effort(effort, WALL_SECONDS, seed), progress=note)
        spent, formulating = spent + outcome.effort, formulating + problems.seconds
        return outcome

    started = time.perf_counter()
    spent = formulating = 0.0
    # As for users: where there is no page on the usual lattice, on the wider one.
    tried = widened(instance.template, instance.page, settings_of(instance.given), searched)
    settings, formulations, outcome = tried.settings, tried.formulations, tried.outcome
    if not outcome.pages and any(photo.detected for photo in instance.photos):
        # As for users: where it is proved that no page shows all faces that were found, some are given up; where none
        # was found, that they could be helps to find one that shows them.
        proved_none = outcome.status == "impossible"
        helped = replace(settings, waive=frozenset({"R5"}))
        tried = attempt(instance.template, instance.page, helped, searched)
        formulations, outcome = tried.formulations, tried.outcome
        outcome = outcome if proved_none else obeying(outcome, formulations)
    total = time.perf_counter() - started
    record = replace(
        blank(instance),
        formulate=formulating,
        total=total,
        columns=sum(len(block.columns) for f in formulations for block in f.problem.blocks),
        effort=spent,
        wall_limit_hit=outcome.wall_limit_hit,
        why="" if outcome.pages else outcome.status,
    )
    page = None
    if outcome.pages:
        best = outcome.pages[0]
        before = time.perf_counter()
        page = judged(layout_of(instance, formulations, best.solution, best.bound, seed), instance.template)
        took = time.perf_counter() - before
        claimed = overclaimed(steps, best.bound)
        steps = [replace(s, bound=None if s.bound is None else min(s.bound, best.bound)) for s in steps]
        last = Step(total, best.solution.cost, best.bound)
        if not steps or replace(steps[-1], seconds=total) != last:
            steps.append(last)
        record = _with_page(replace(record, place_check=took), page, best, steps)
        record = replace(record, failures="; ".join([*([record.failures] if record.failures else []), *claimed]))
    found = run_peers(instance, formulations, max(LEAST_PEER_SECONDS, total), seed, peers)
    record = _with_best(record, found, steps, page, proved_none=outcome.status == "impossible")
    return Solved(record, tuple(steps), tuple(found), None if page is None else page.layout)


def overclaimed(steps: Sequence[Step], bound: int) -> list[str]:
    """Return a fault when a higher bound was reported on the way than what holds in the end."""
    most = max((step.bound for step in steps if step.bound is not None), default=0)
    return [f"reported a bound of {most} on the way, but ends with {bound}"] if most > bound else []


def _best(better: Callable[[list[int]], int], *known: int | None) -> int | None:
    found = [value for value in known if value is not None]
    return better(found) if found else None


def _with_page(record: Record, page: Judged, best: Ranked, steps: list[Step]) -> Record:
    first = next(step for step in steps if step.cost is not None)
    bound = min(best.bound, page.cost)
    return replace(
        record,
        status="proved" if best.proved else "feasible",
        first=first.seconds,
        first_cost=first.cost,
        proof=record.total if best.proved else None,
        cost=page.cost,
        solver_cost=best.solution.cost,
        bound=best.bound,
        waived=len(page.layout.waived),
        gap=0.0 if best.proved else gap_of(page.cost, bound),
        gap_at_10=gap_at(GAP_AT, steps),
        terms_agree=not page.report.cost_differences,
        terms=" ".join(f"{name}{difference:+}" for name, difference in page.term_differences.items()),
        failures="; ".join(_faults(page, best)),
        crop_loss=page.crop_loss,
        overlap=page.report.costs.terms["overlap"],
    )


def gap_at(seconds: float, steps: Sequence[Step]) -> float | None:
    """Return the certified gap known at a time; ``None`` without a page by then."""
    known = [step for step in steps if step.seconds <= seconds]
    if not known or known[-1].cost is None:
        return None
    return gap_of(known[-1].cost, known[-1].bound or 0)


def reached(steps: Sequence[Step], factor: float, best: int, slack: int) -> float | None:
    """Return when a page first cost no more than a factor of the best, rounding apart."""
    return next((s.seconds for s in steps if s.cost is not None and s.cost <= factor * best + slack), None)


def _faults(page: Judged, ranked: Ranked) -> list[str]:
    """Return everything the checker holds against a page, and a total that contradicts the solver's."""
    report = page.report
    found = [f"{v.rule} {v.message}" for rule in report.rules if rule.status == "broken" for v in rule.violations]
    found += [f"{d.term}: stated {d.stated}, recomputed {d.recomputed}" for d in report.cost_differences]
    found += report.differences
    # An unproved page may be cheaper than the solver noticed, but never dearer, nor below its bound.
    cost, bound = ranked.solution.cost, ranked.bound
    if page.cost > cost + page.rounding:
        found.append(f"costs {page.cost}, more than the {cost} the solver took it for")
    if page.cost < bound - page.rounding:
        found.append(f"costs {page.cost}, less than its bound of {bound}")
    return found


def _with_best(
    record: Record, peers: Sequence[PeerRecord], steps: Sequence[Step], page: Judged | None, *, proved_none: bool
) -> Record:
    """Add the best page anyone found, when the fitter came near it, and what contradicts its proofs."""
    slack = 0 if page is None else page.rounding
    legal = [(peer.cost, peer) for peer in peers if peer.legal and peer.cost is not None]
    costs = [cost for cost, peer in legal if peer.exact] + ([] if record.cost is None else [record.cost])
    beaten = [peer.peer for cost, peer in legal if record.cost is None or cost < record.cost - slack]
    faults = [*([record.failures] if record.failures else []), *contradictions(record, peers, slack, proved_none)]
    record = replace(record, beaten_by=" ".join(beaten), failures="; ".join(faults))
    if not costs:
        return record
    best = min(costs)
    near, nearer = (reached(steps, factor, best, slack) for factor in (NEAR, NEARER))
    return replace(record, best=best, near=near, nearer=nearer)


def contradictions(record: Record, peers: Sequence[PeerRecord], slack: int, proved_none: bool) -> list[str]:
    """Return what peers prove wrong: pages below the bound, bounds above the page, pages where none can be."""
    found = []
    for peer in peers:
        if (
            peer.exact
            and peer.legal
            and peer.cost is not None
            and (proved_none or peer.cost < (record.bound or 0) - slack)
        ):
            found.append(f"{peer.peer} has a page at {peer.cost}, below the bound of {record.bound}")
        if peer.bound is not None and record.cost is not None and peer.bound > record.cost + slack:
            found.append(f"{peer.peer} proves a bound of {peer.bound}, above the page at {record.cost}")
        if peer.exact and peer.rules:
            found.append(f"{peer.peer}'s page breaks {peer.rules}, which no row of the problem forbids")
    return found
