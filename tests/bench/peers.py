"""The peers: each fits the same instance, and is judged by the same checker.

* ``mip`` – the same problem as a mixed-integer program in HiGHS (:mod:`tests.bench.mip`);
* ``annealing`` – simulated annealing over the same freedoms (:mod:`tests.bench.anneal`);
* ``slicing`` – an aspect-exact slicing tree (:mod:`tests.bench.slicing`);
* ``naive`` – the template filled and nothing weighed (:mod:`tests.bench.naive`);
* ``exhaustive`` – every page there is, on tiny ones (:mod:`tests.proofs.enumeration`).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from fitter.formulate import Formulations
from solver.problem import Problem
from solver.solution import Solution
from tests.bench.anneal import anneal
from tests.bench.instances import Instance
from tests.bench.mip import solve_mip
from tests.bench.naive import naive_layout
from tests.bench.placing import Judged, judged, layout_of
from tests.bench.program_costs import UNSTATED
from tests.bench.records import PeerRecord
from tests.bench.slicing import slicing_layout
from tests.proofs import enumeration
from tests.proofs.spots import Wishes

PEERS = ("exhaustive", "mip", "annealing", "slicing", "naive")
EXACT = ("exhaustive", "mip", "annealing")
"""Those that choose among the very pages the fitter chooses among."""


def run_peers(
    instance: Instance, formulations: Formulations, seconds: float, seed: int, wanted: Sequence[str] = PEERS
) -> list[PeerRecord]:
    """Run the peers that fit an instance.

    Parameters
    ----------
    formulations
        Of the instance, all made.
    seconds
        By the clock, for the peers that take as long as they may.
    """
    problems = [f.problem for f in formulations if not f.problem.openings]
    made = []
    if "exhaustive" in wanted and instance.group == "tiny":
        made.append(_exhaustive(instance))
    if "mip" in wanted:
        made.append(_mip(instance, formulations, problems, seconds, seed))
    if "annealing" in wanted:
        made.append(_annealing(instance, formulations, problems, seconds, seed))
    template, page, given = instance.template, instance.page, instance.given
    if "slicing" in wanted and not instance.without:  # it moves and resizes whatever is allowed
        made.append(_drawn(instance, "slicing", lambda: judged(slicing_layout(template, page, given, seed), template)))
    if "naive" in wanted:
        made.append(_drawn(instance, "naive", lambda: judged(naive_layout(template, page, given), template)))
    return made


def _exhaustive(instance: Instance) -> PeerRecord:
    started = time.perf_counter()
    wishes = Wishes(instance.photos, instance.without)
    cost = enumeration.optimum(instance.template, instance.page, wishes)
    took = time.perf_counter() - started
    note = "" if cost is not None else "no page"
    return _record(instance, "exhaustive", took, cost=cost, bound=cost, proved=cost is not None, note=note)


def _mip(
    instance: Instance, formulations: Formulations, problems: Sequence[Problem], seconds: float, seed: int
) -> PeerRecord:
    found = solve_mip(problems, seconds, seed)
    note = UNSTATED if any(lap.price for problem in problems for lap in problem.laps) else ""
    bound = None if found.bound == float("inf") else int(found.bound)
    if found.solution is None and bound is None:
        note = "proves that there is no page"
    page = _page(instance, formulations, found.solution, seed)
    # With a cost that is only bounded the program's optimum is no proof for the page as it is priced.
    proved = found.proved and (page is None or bound is None or page.cost <= bound + page.rounding)
    return _record(instance, "mip", found.seconds, page, bound=bound, proved=proved, note=note)


def _annealing(
    instance: Instance, formulations: Formulations, problems: Sequence[Problem], seconds: float, seed: int
) -> PeerRecord:
    found = anneal(problems, seconds, seed)
    page = _page(instance, formulations, found.solution, seed)
    return _record(instance, "annealing", found.seconds, page, note=f"{found.priced} priced")


def _page(instance: Instance, formulations: Formulations, solution: Solution | None, seed: int) -> Judged | None:
    if solution is None:
        return None
    page = judged(layout_of(instance, formulations, solution, 0, seed), instance.template)
    if page.report.differences:
        raise AssertionError(f"the page is not what it says: {page.report.differences}")
    return page


def _drawn(instance: Instance, peer: str, draw: Callable[[], Judged]) -> PeerRecord:
    started = time.perf_counter()
    page = draw()
    took = time.perf_counter() - started
    if page.report.differences or page.report.cost_differences:
        raise AssertionError(f"the {peer} page is not what it says: {page.report.lines()}")
    return _record(instance, peer, took, page)


def _record(
    instance: Instance,
    peer: str,
    seconds: float,
    page: Judged | None = None,
    *,
    cost: int | None = None,
    bound: int | None = None,
    proved: bool = False,
    note: str = "",
) -> PeerRecord:
    return PeerRecord(
        name=instance.name,
        group=instance.group,
        photos=len(instance.photos),
        peer=peer,
        exact=peer in EXACT,
        seconds=seconds,
        cost=cost if page is None else page.cost,
        bound=bound,
        proved=proved,
        violations=0 if page is None else sum(count for _, count in page.broken),
        rules="" if page is None else " ".join(rule for rule, _ in page.broken),
        crop_loss=None if page is None else page.crop_loss,
        overlap=None if page is None else page.report.costs.terms["overlap"],
        left_out=0 if page is None else len(page.layout.left_out),
        note=note,
    )
