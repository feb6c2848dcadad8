"""The benchmark's own parts: what it measures, whom it measures against, and how it judges.

No search of the fitter is timed here; pages are tiny, HiGHS ends by itself and the annealer counts instead of timing.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import count
from pathlib import Path
from types import SimpleNamespace

import pytest

from fitter.reference import Member, reference_layout
from fitter.seeing.importance import GRID_TOTAL
from fitter.template_reader import read_template
from solver.search import Effort, search
from tests.bench import anneal as annealing
from tests.bench.anneal import anneal
from tests.bench.generator import FEWEST, KINDS, MOST, drawing, kind_of
from tests.bench.instances import DRAWINGS, SEEN, Instance, instances
from tests.bench.machine import Run
from tests.bench.mip import solve_mip
from tests.bench.peers import run_peers
from tests.bench.placing import formulated, judged, layout_of
from tests.bench.plots import draw_plots
from tests.bench.pricing import PageState, Pricing
from tests.bench.records import PeerRecord, Record, Step
from tests.bench.slicing import BESIDE, STACKED, boxes, coefficients, fitted, slicing_layout
from tests.bench.solve import blank, contradictions, gap_at, overclaimed, reached
from tests.bench.summary import contrast, is_wrong, quantile, range_of, summary
from tests.proofs import enumeration
from tests.proofs.spots import Wishes

SOON = 10.0
"""Seconds a proof by HiGHS may take at most; it takes a fraction of one."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Instance]:
    """Return all instances by name."""
    return {i.name: i for i in instances(tmp_path_factory.mktemp("drawings"))}


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the annealer count its looks at the clock, 8,000 to a second: it does the same on any machine."""
    looks = count()
    monkeypatch.setattr(annealing, "time", SimpleNamespace(perf_counter=lambda: next(looks) / 8_000))


def test_every_drawing_is_read_without_complaint(tmp_path: Path) -> None:
    """The reader takes all drawings, ignores nothing, and finds from six to thirty elements, photos among them."""
    for number in range(DRAWINGS):
        path = tmp_path / f"{number}.svg"
        path.write_text(drawing(number), encoding="utf-8")
        template = read_template(path)
        assert not template.notes, (number, template.notes)
        assert FEWEST <= len(template.elements) <= MOST
        assert sum(e.role == "photo" for e in template.elements) >= 2


def test_a_drawing_is_the_same_every_time() -> None:
    """A number stands for one drawing, and different numbers for different ones."""
    assert drawing(7) == drawing(7)
    assert len({drawing(number) for number in range(DRAWINGS)}) == DRAWINGS


@pytest.mark.parametrize("kind", KINDS)
def test_kinds_are_what_they_are_called(kind: str, pages: dict[str, Instance]) -> None:
    """Tilted drawings have tilted slots, clusters clusters, underlays photos on photos, rich ones many elements."""
    for instance in (i for i in pages.values() if i.group == kind):
        elements = instance.template.elements
        shown = [e for e in elements if e.role == "photo"]
        under = any(
            e.role == "photo" and any(o.role == "photo" and _overlap(e.box, o.box) for o in shown if o is not e)
            for e in elements
        )
        assert any(e.tilt for e in elements) == (kind == "tilted")
        assert (kind == "clusters") == any(e.cluster for e in elements)
        assert under == (kind == "underlay") or kind == "tilted"
        assert len(elements) >= 20 or kind != "rich"


def _overlap(a: tuple[int, int, int, int], b: tuple[int, int, int, int]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_instances_cover_what_is_asked(pages: dict[str, Instance]) -> None:
    """At least sixty pages, 2 to 12 photos and 0 to 400 words on drawings, refits to four sizes, keep boxes."""
    drawn = [i for i in pages.values() if i.group in KINDS]
    assert len(drawn) >= 60
    assert {min(len(i.photos) for i in drawn), max(len(i.photos) for i in drawn)} == {2, 12}
    assert {min(i.words for i in drawn), max(i.words for i in drawn)} == {0, 400}
    assert len({i.page.trim for i in drawn if i.refitted}) >= 4
    assert sum(any(p.keep for p in i.photos) for i in drawn) >= 20
    assert {kind_of(n) for n in range(5)} == set(KINDS)


def test_the_quick_selection_has_some_of_everything(tmp_path: Path) -> None:
    """Few pages, but of every group and of every range of photo counts."""
    quick = instances(tmp_path, quick=True)
    assert len(quick) <= 30
    assert {i.group for i in quick} == {"starter", "tiny", *KINDS}
    assert {range_of(len(i.photos)) for i in quick} == {"1–4", "5–6", "7–8", "9–12"}


def test_slicing_recurrence_by_hand() -> None:
    """Worked by hand: 3:2 over 1:1 with a gap of ½, w = (h + ½ − 1)·0.6…; and the same beside a third photo."""
    # Stacked at width 3 they are 2 and 3 high, with the gap 5.5: w = 0.6·5.5 − 0.3 = 3.
    alpha, beta = coefficients((0, 1, STACKED), (1.5, 1.0), 0.5)
    assert (alpha, beta) == (pytest.approx(0.6), pytest.approx(-0.3))
    # Beside them a 2:1 photo, 11 wide at that height: 3 + 0.5 + 11.
    alpha, beta = coefficients((0, 1, STACKED, 2, BESIDE), (1.5, 1.0, 2.0), 0.5)
    assert alpha * 5.5 + beta == pytest.approx(14.5)
    found = boxes((0, 1, STACKED, 2, BESIDE), (1.5, 1.0, 2.0), 0.5, 5.5)
    wanted = {0: (0, 0, 3, 2), 1: (0, 2.5, 3, 3), 2: (3.5, 0, 11, 5.5)}
    assert {n: pytest.approx(box) for n, box in wanted.items()} == found


def test_slicing_trees_keep_every_aspect_and_fill_their_box() -> None:
    """In random trees every box has its photo's aspect, and boxes and gaps make up the width the recurrence says."""
    dice = random.Random(4)
    for _ in range(50):
        count = dice.randint(2, 7)
        aspects = [dice.uniform(0.5, 2) for _ in range(count)]
        tree: tuple[int, ...] = (0,)
        for photo in range(1, count):
            tree = (*tree, photo, dice.choice((BESIDE, STACKED)))
        found = fitted(tree, aspects, 0.01, (0.0, 0.0, 10.0, 8.0))
        if found is None:
            continue
        for photo, (_, _, w, h) in found.items():
            assert w / h == pytest.approx(aspects[photo])
        left, top = (min(box[a] for box in found.values()) for a in (0, 1))
        right, bottom = (max(box[a] + box[a + 2] for box in found.values()) for a in (0, 1))
        alpha, beta = coefficients(tree, aspects, 0.01)
        assert right - left == pytest.approx(alpha * (bottom - top) + beta)
        assert right - left <= 10 + 1e-9 and bottom - top <= 8 + 1e-9


def test_a_slicing_page_crops_nothing(pages: dict[str, Instance]) -> None:
    """On upright slots the peer's page is legal and loses nothing of any photo."""
    instance = pages["uneven-four-4p-0w"]
    page = judged(slicing_layout(instance.template, instance.page, instance.given), instance.template)
    assert not page.broken
    assert page.report.costs.terms["crop-loss"] < 1000 * len(instance.photos)
    assert page.report.costs.terms["crop-loss"] < _crop_loss_as_drawn(instance)


def _crop_loss_as_drawn(instance: Instance) -> float:
    slots = [
        e for e in reference_layout(instance.template, instance.page, Member(0, False)).elements if e.role == "photo"
    ]
    shares = []
    for slot, photo in zip(slots, instance.photos, strict=True):
        ratio = (slot.size[0] / slot.size[1]) / (photo.pixels[0] / photo.pixels[1])
        shares.append(1 - min(ratio, 1 / ratio))
    return 1e6 * sum(shares)


TINY = ("widen-shift", "drop-or-swap", "common-scalings", "row-or-column", "bleeding-slot")


@pytest.mark.usefixtures("counted")
@pytest.mark.parametrize("name", TINY)
def test_peers_agree_with_enumeration_on_tiny_pages(name: str, pages: dict[str, Instance]) -> None:
    """HiGHS proves the enumerated optimum; the annealer's page is legal and never below it."""
    instance = pages[f"tiny-{name}"]
    problems = [f.problem for f in formulated(instance) if not f.problem.openings]
    optimum = enumeration.optimum(
        instance.template, instance.page, Wishes(instance.photos, instance.without)
    )
    assert optimum is not None
    found = solve_mip(problems, SOON)
    assert found.proved and found.solution is not None
    page = judged(layout_of(instance, formulated(instance), found.solution, 0, 0), instance.template)
    assert not page.broken and page.cost == optimum
    assert abs(found.bound - optimum) <= page.rounding
    records = {p.peer: p for p in run_peers(instance, formulated(instance), 0.5, 0, ("annealing",))}
    annealed = records["annealing"]
    assert annealed.legal and annealed.cost is not None and annealed.cost >= optimum


@pytest.mark.parametrize("name", ["three-across-strip-2p-0w", "tilted-trio-2p-60w", "band-over-three-2p-0w"])
def test_the_annealer_prices_a_page_as_the_checker_does(name: str, pages: dict[str, Instance]) -> None:
    """On tilted, lapping and bleeding slots its price of a page breaks no row and is the checker's cost."""
    instance = pages[name]
    formulations = formulated(instance)
    problems = [f.problem for f in formulations]
    outcome = search(problems, top=1, effort=Effort(0.3, None, 0))
    solution = outcome.pages[0].solution
    places = [0] * (2 * len(solution.columns) + 1)
    for (kind, block), value in solution.places.items():
        places[-1 if block < 0 else 2 * block + "xy".index(kind)] = value
    state = PageState(solution.columns, tuple(places), solution.riders, solution.member, solution.group)
    cost, broken, faults = Pricing(problems[solution.problem]).price(state)
    page = judged(layout_of(instance, formulations, solution, 0, 0), instance.template)
    assert (broken, faults) == (0, 0)
    assert abs(cost - page.cost) <= page.rounding


@pytest.mark.usefixtures("counted")
def test_the_annealer_repeats_nothing_illegal(pages: dict[str, Instance]) -> None:
    """What it hands back with next to no time is a legal page or none."""
    instance = pages["three-across-strip-3p-60w"]
    formulations = formulated(instance)
    found = anneal([f.problem for f in formulations if not f.problem.openings], 0.6)
    assert found.priced > 10
    if found.solution is not None:
        assert not judged(layout_of(instance, formulations, found.solution, 0, 0), instance.template).broken


@pytest.fixture
def record(pages: dict[str, Instance]) -> Record:
    """Return a proved page of 100,000."""
    return replace(
        blank(pages["quiet-single-1p-0w"]), status="proved", cost=100_000, bound=100_000, terms_agree=True, gap=0.0,
        gap_at_10=0.0, best=100_000, first=0.1, near=0.2, nearer=0.3, proof=0.4, total=0.4, formulate=0.1, effort=0.4,
    )  # fmt: skip


def _peer(record: Record, peer: str, cost: int | None, **fields: object) -> PeerRecord:
    exact = peer in ("exhaustive", "mip", "annealing")
    return PeerRecord(record.name, record.group, record.photos, peer, exact, 1.0, cost, **fields)  # type: ignore[arg-type]


def test_a_peer_below_the_bound_is_a_failure(record: Record) -> None:
    """Pages of the same kind below the bound, and bounds above the page, contradict the proof; others do not."""
    assert not contradictions(record, [_peer(record, "annealing", 100_000), _peer(record, "slicing", 50_000)], 5, False)
    assert not contradictions(record, [_peer(record, "naive", 90_000, violations=1, rules="R3")], 5, False)
    below = contradictions(record, [_peer(record, "annealing", 99_000)], 5, False)
    above = contradictions(record, [_peer(record, "mip", None, bound=100_100)], 5, False)
    none = contradictions(replace(record, cost=None, bound=None), [_peer(record, "mip", 99_000)], 5, True)
    broken = contradictions(record, [_peer(record, "mip", 100_000, violations=1, rules="R3")], 5, False)
    assert "R3" in broken[0] and "99000" in below[0] and "100100" in above[0] and none
    assert is_wrong(replace(record, failures=below[0]))


def test_a_term_that_differs_is_wrong(record: Record) -> None:
    """A page whose terms are not the checker's ends the run with a failure, as does one that is missing."""
    assert not is_wrong(record)
    assert is_wrong(replace(record, terms_agree=False))
    assert is_wrong(replace(record, status="none", cost=None))


def test_times_come_from_the_steps() -> None:
    """Within 5 % is reached with the first step near enough; the gap at a time is that of the last step before it."""
    steps = [Step(1.0, 200, None), Step(2.0, 104, 10), Step(12.0, 100, 100)]
    assert (reached(steps, 1.05, 100, 0), reached(steps, 1.01, 100, 0)) == (2.0, 12.0)
    assert gap_at(10.0, steps) == pytest.approx(94 / 104)
    assert gap_at(0.5, steps) is None
    assert gap_at(20.0, steps) == 0


def test_a_bound_taken_back_is_a_failure() -> None:
    """A bound is a promise: none reported on the way may be above the last."""
    steps = [Step(1.0, 200, 50), Step(2.0, 150, 60)]
    assert not overclaimed(steps, 60)
    assert "60" in overclaimed(steps, 59)[0]


def test_unreached_counts_as_latest() -> None:
    """A quantile is the nearest rank, with what never happened after everything that did."""
    assert quantile([3.0, None, 1.0], 0.5) == 3.0
    assert quantile([3.0, None, 1.0], 0.9) is None
    assert quantile([], 0.5) is None


def test_tables_and_plots_are_written(record: Record, tmp_path: Path) -> None:
    """A run of one page and its peers makes a whole summary and three pictures, and leaves nothing half written."""
    peers = [_peer(record, "mip", 100_000, bound=100_000, proved=True), _peer(record, "naive", 900_000)]
    text = summary([record], peers, [], Run(True, 1.0, 0, 1.0, 0.0))
    assert "| 1–4 | 1 | 0 | 100 % | 0.10 / 0.10 | 0.20 / 0.20 |" in text
    assert "mip proves 1 of the 1 proved pages too" in text
    drawn = draw_plots([record], peers, tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(drawn)
    assert all((tmp_path / name).read_bytes().startswith(b"\x89PNG") for name in drawn)
    assert math.isclose(record.gap or 0, 0)


def test_twins_differ_in_what_their_photos_show_alone(tmp_path: Path) -> None:
    """A twin has the same page and pixels; its photos show something, each something else, with faces and without."""
    pages = instances(tmp_path, quick=True, twins=True)
    twins = [i for i in pages if i.seen]
    plain = {i.name: i for i in pages if not i.seen}
    assert len(twins) == sum(i.group != "tiny" for i in plain.values())
    for twin in twins:
        before = plain[twin.name.removesuffix(SEEN)]
        bare = tuple(replace(photo, detected=(), importance=()) for photo in twin.photos)
        assert replace(twin, name=before.name, photos=bare) == before
        assert all(sum(map(sum, photo.importance)) == GRID_TOTAL for photo in twin.photos)
        assert len({photo.importance for photo in twin.photos}) == len(twin.photos)
        assert not any(photo.keep and photo.detected for photo in twin.photos)
    assert {bool(p.detected) for i in twins for p in i.photos} == {True, False}


def test_content_is_compared_page_by_page(record: Record) -> None:
    """The table holds ratios of pairs; faces given up are counted on the pages with content."""
    twin = replace(record, name=record.name + SEEN, seen=True, effort=0.6, columns=300, formulate=0.2, waived=1)
    text = contrast([replace(record, columns=200), twin])
    assert "| 1–4 | 1 | 1, 1 | 1.50× / 1.50× | 0 % / 0 % | 0 % / 0 % | 1.50× / 1.50× | 2.00× / 2.00× | 1 |" in text
