"""The tables for people: Markdown from records, commands and the machine."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from tests.bench.commands import Command
from tests.bench.instances import SEEN
from tests.bench.machine import Run, hardware, versions
from tests.bench.peers import PEERS
from tests.bench.program_costs import UNSTATED
from tests.bench.records import PeerRecord, Record

RANGES = ((1, 4), (5, 6), (7, 8), (9, 12))
LATE_FACTOR, LATE_EXTRA = 1.5, 2.0
"""A search is late when it takes longer by the clock than its effort times the first, plus the second, seconds."""


def summary(records: Sequence[Record], peers: Sequence[PeerRecord], commands: Sequence[Command], run: Run) -> str:
    """Return the whole summary as Markdown; pages whose photos show something stand in a table of their own."""
    plain = [r for r in records if not r.seen]
    parts = [
        "# Benchmark",
        _setting(records, run),
        medians(plain, peers, run),
        *([] if len(plain) == len(records) else ["## With and without content", contrast(records)]),
        "## By photo count and group",
        "As above; tiny pages apart.",
        _table(_groups(plain), whole=True),
        "## Against the peers",
        "All on the same instances in the same run, judged by the same checker; MIP and annealing as long as the "
        "fitter took, at least two seconds. Cost is against the best page known among all who choose among the same "
        "sizes and places; only pages that break no rule count. Slicing and naive pages are free of these.",
        _peer_table(plain, peers),
        "## Crop loss against the naive fill",
        "Per photo placed; means over the instances for which the fitter has a page.",
        _naive_table(plain, peers),
        "## Whole commands",
        _command_table(commands),
        "## Failures",
        _failures(records, peers, commands, run),
    ]
    return "\n\n".join(parts) + "\n"


def medians(records: Sequence[Record], peers: Sequence[PeerRecord], run: Run) -> str:
    """Return the table of medians with what it was measured on: what goes into DEVELOPERS.md."""
    shown = [r for r in records if r.group != "tiny"]
    lines = [
        f"`{'--quick ' if run.quick else ''}--effort {run.effort:g}` on {versions()}; {hardware(run)}; "
        f"{len(shown)} pages, {sum(r.group != 'starter' for r in shown)} of them drawn from seeds, "
        f"{sum(r.distinct for r in shown)} with all aspects different, {sum(r.refitted for r in shown)} refitted; "
        "all rules, all rotations and mirrors. Seconds by the clock from the start of formulating, median / 90th "
        "percentile; – not reached.",
        _table(_ranges(shown), whole=False),
        _agreement(records, peers),
    ]
    return "\n\n".join(lines)


def contrast(records: Sequence[Record]) -> str:
    """Return the table that compares pages with the same pages whose photos show something.

    Ratios are of a page with content to the page without, median / 90th percentile: of the effort, which does not
    depend on the machine, to proof where both are proved; of the columns; of the time to formulate.
    """
    plain = {r.name: r for r in records if not r.seen}
    pairs = [(plain[r.name.removesuffix(SEEN)], r) for r in records if r.seen]
    head = ("photos", "pairs", "proved without, with", "effort to proof", "gap without", "gap with")
    head += ("columns", "formulating", "faces given up", "crop loss without, with")
    rows = []
    for name in [f"{low}–{high}" for low, high in RANGES]:
        mine = [(a, b) for a, b in pairs if range_of(a.photos) == name]
        if mine:
            both = [(a, b) for a, b in mine if a.status == b.status == "proved"]
            losses = (_mean((r[side].crop_loss for r in mine), lambda x: f"{100 * x:.1f} %") for side in (0, 1))
            rows.append(
                [
                    name,
                    str(len(mine)),
                    ", ".join(str(sum(pair[side].status == "proved" for pair in mine)) for side in (0, 1)),
                    _pair((_ratio(b.effort, a.effort) for a, b in both), "{:.2f}×"),
                    *(_pair((_percent(pair[side].gap) for pair in mine), "{:.0f} %") for side in (0, 1)),
                    _pair((_ratio(b.columns, a.columns) for a, b in mine), "{:.2f}×"),
                    _pair((_ratio(b.formulate, a.formulate) for a, b in mine), "{:.2f}×"),
                    str(sum(b.waived > 0 for _, b in mine)),
                    ", ".join(losses),
                ]
            )
    return _markdown(head, rows)


def _ratio(now: float | None, before: float | None) -> float | None:
    return None if now is None or not before else now / before


def quantile(values: Iterable[float | None], share: float) -> float | None:
    """Return the nearest-rank quantile; ``None`` counts as infinitely late.

    Examples
    --------
    >>> quantile([1.0, None, 2.0], 0.5), quantile([1.0, None, 2.0], 0.9)
    (2.0, None)
    """
    ordered = sorted(math.inf if value is None else value for value in values)
    if not ordered:
        return None
    found = ordered[max(0, math.ceil(share * len(ordered) - 1e-9) - 1)]
    return None if math.isinf(found) else found


def range_of(photos: int) -> str:
    """Return the range a photo count is in."""
    return next((f"{low}–{high}" for low, high in RANGES if low <= photos <= high), "more")


Group = tuple[str, list[Record]]


def _ranges(records: Sequence[Record]) -> list[Group]:
    names = [f"{low}–{high}" for low, high in RANGES]
    made = [(name, [r for r in records if range_of(r.photos) == name and not r.impossible]) for name in names]
    return [(name, group) for name, group in made if group]


def _groups(records: Sequence[Record]) -> list[Group]:
    shown = [r for r in records if r.group != "tiny" and not r.impossible]
    counts = sorted({r.photos for r in shown})
    wanted: list[tuple[str, Callable[[Record], bool]]] = [
        (f"{n} photo{'s' if n > 1 else ''}", lambda r, n=n: r.photos == n)  # type: ignore[misc]
        for n in counts
    ]
    wanted += [(g, lambda r, g=g: r.group == g) for g in dict.fromkeys(r.group for r in shown)]  # type: ignore[misc]
    wanted += [
        ("refitted", lambda r: r.refitted),
        ("aspects all different", lambda r: r.distinct and r.photos > 1),
        ("all", lambda r: True),
    ]
    made = [(name, [r for r in shown if choose(r)]) for name, choose in wanted]
    tiny = ("tiny", [r for r in records if r.group == "tiny"])
    return [(name, group) for name, group in (*made, tiny) if group]


def _table(groups: Sequence[Group], *, whole: bool) -> str:
    head = ["photos", "pages", "none", "proved", "first valid page", "within 5 % of best", "within 1 %", "proof"]
    head += ["gap at 10 s", "gap", "gap ≤ 5 %", *(["columns", "formulating"] if whole else [])]
    rows = []
    for name, group in groups:
        row = [
            name,
            str(len(group)),
            str(sum(r.status in ("none", "crash") for r in group)),
            _share(r.status == "proved" for r in group),
            *(_pair(getattr(r, what) for r in group) for what in ("first", "near", "nearer", "proof")),
            _pair((_percent(r.gap_at_10) for r in group), "{:.0f} %"),
            _pair((_percent(r.gap) for r in group), "{:.0f} %"),
            _share(r.gap is not None and r.gap <= 0.05 for r in group),
        ]
        if whole:
            row += [f"{sum(r.columns or 0 for r in group) / len(group):,.0f}", _pair(r.formulate for r in group)]
        rows.append(row)
    return _markdown(head, rows)


def _percent(share: float | None) -> float | None:
    return None if share is None else 100 * share


def _agreement(records: Sequence[Record], peers: Sequence[PeerRecord]) -> str:
    """Return in a sentence how far costs agree, and what the peers proved."""
    pages = [r for r in records if r.cost is not None]
    agreeing = sum(bool(r.terms_agree) for r in pages)
    proved = {r.name: r for r in pages if r.status == "proved"}
    parts = [f"On {agreeing} of {len(pages)} pages every cost term equals the checker's within the published rounding"]
    for peer in ("exhaustive", "mip"):
        both = [p for p in peers if p.peer == peer and p.proved and p.name in proved]
        # Contradictions are told among the failures, with the rounding taken into account.
        wrong = sum(peer in proved[p.name].failures for p in both)
        if both:
            parts.append(f"{peer} proves {len(both)} of the {len(proved)} proved pages too, {wrong} at another cost")
    return "; ".join(parts) + "."


def _peer_table(records: Sequence[Record], peers: Sequence[PeerRecord]) -> str:
    head: tuple[str, ...] = ("photos", "who", "pages", "legal pages", "best page known", "cost against the best")
    head += ("proved", "seconds", "beats the fitter", "cannot state")
    best = {r.name: r for r in records}
    rows = []
    for name in [f"{low}–{high}" for low, high in RANGES] + ["tiny"]:
        mine = [r for r in records if (r.group == "tiny") == (name == "tiny")]
        mine = mine if name == "tiny" else [r for r in mine if range_of(r.photos) == name]
        if not mine:
            continue
        proofs = [(r.status == "proved", r.total) for r in mine]
        rows.append([name, "fitter", *_standing([(r.cost, r) for r in mine], proofs), "–", "–"])
        for peer in PEERS:
            theirs = [p for p in peers if p.peer == peer and p.name in {r.name for r in mine}]
            if not theirs:
                continue
            beats = sum(p.peer in best[p.name].beaten_by.split() for p in theirs)
            unstated = sorted({p.note for p in theirs if p.note == UNSTATED})
            costs = [(p.cost if p.legal else None, best[p.name]) for p in theirs]
            standing = _standing(costs, [(p.proved, p.seconds) for p in theirs])
            rows.append([name, peer, *standing, str(beats), " ".join(unstated) or "–"])
    return _markdown(head, rows)


def _standing(costs: Sequence[tuple[int | None, Record]], proofs: Sequence[tuple[bool, float | None]]) -> list[str]:
    """Return pages, legal ones, best ones, cost against the best, proofs and seconds."""
    reached = sum(cost is not None and r.best is not None and cost <= 1.0001 * r.best for cost, r in costs)
    ratios = [None if cost is None or not r.best else cost / r.best for cost, r in costs]
    took = quantile((seconds for _, seconds in proofs), 0.5)
    return [
        str(len(costs)),
        str(sum(cost is not None for cost, _ in costs)),
        str(reached),
        _pair(ratios, "{:.2f}×"),
        str(sum(proved for proved, _ in proofs)),
        "–" if took is None else f"{took:.2f}",
    ]


def _naive_table(records: Sequence[Record], peers: Sequence[PeerRecord]) -> str:
    naive = {p.name: p for p in peers if p.peer == "naive"}
    head: tuple[str, ...] = ("photos", "pages", "crop loss", "naive", "overlap", "naive")
    head += ("naive pages that break a rule", "photos it leaves out")
    rows = []
    for name, group in _ranges([r for r in records if r.cost is not None and r.group != "tiny" and r.name in naive]):
        theirs = [naive[r.name] for r in group]
        rows.append(
            [
                name,
                str(len(group)),
                _mean((r.crop_loss for r in group), lambda x: f"{100 * x:.1f} %"),
                _mean((p.crop_loss for p in theirs), lambda x: f"{100 * x:.1f} %"),
                _mean((r.overlap for r in group), lambda x: f"{x:,.0f}"),
                _mean((p.overlap for p in theirs), lambda x: f"{x:,.0f}"),
                str(sum(not p.legal for p in theirs)),
                _mean((p.left_out for p in theirs), lambda x: f"{x:.1f}"),
            ]
        )
    return _markdown(head, rows)


def _command_table(commands: Sequence[Command]) -> str:
    rows = [(c.what, f"{c.seconds:.2f}", f"{c.cpu:.2f}", f"{c.megabytes:.0f}", str(c.code)) for c in commands]
    return _markdown(("command", "seconds", "processor seconds", "peak MB", "exit code"), rows)


def is_wrong(record: Record) -> bool:
    """Whether something is not as it must be: a rule, a cost, a proof, or no page where there should be one."""
    missing = record.status in ("none", "crash") and not record.impossible
    return bool(record.failures) or missing or record.terms_agree is False


def is_late(record: Record, effort: float) -> bool:
    """Whether formulating and searching took far longer than the effort allows for."""
    return record.total is not None and record.total > LATE_FACTOR * effort + LATE_EXTRA


def _failures(records: Sequence[Record], peers: Sequence[PeerRecord], commands: Sequence[Command], run: Run) -> str:
    lines = []
    for r in records:
        if r.failures:
            lines.append(f"- **{r.name}**: {r.failures}")
        if r.status == "none" and not r.impossible:
            lines.append(f"- **{r.name}**: no page ({r.why})")
        if r.status not in ("none", "crash") and r.impossible:
            lines.append(f"- **{r.name}**: is marked impossible ({r.impossible}), but has a page")
        if r.wall_limit_hit:
            lines.append(f"- **{r.name}**: the wall-clock limit was hit")
        if is_late(r, run.effort):
            lines.append(
                f"- **{r.name}** (slow, not wrong): {r.total:.1f} s by the clock, {r.formulate:.1f} of them "
                f"formulating, at an effort of {run.effort:g} ({r.effort:.1f} used)"
            )
        if r.beaten_by:
            costs = [f"{p.peer} {p.cost:,}" for p in peers if p.name == r.name and p.peer in r.beaten_by.split()]
            mine = "no page" if r.cost is None else f"{r.cost:,} ({r.status})"
            lines.append(f"- **{r.name}** (not wrong): {', '.join(costs)} against {mine}")
    lines += [f"- `{c.what}` ended with {c.code}: {' '.join(c.said.split())}" for c in commands if c.code]
    loose = [r.name for r in records if (r.solver_cost or 0) > 1.05 * (r.cost or 0) and r.cost is not None]
    if loose:
        lines.append(f"- priced over 5 % above their true cost by the solver (not wrong): {', '.join(loose)}")
    return "\n".join(lines) or "None."


def _setting(records: Sequence[Record], run: Run) -> str:
    lines = [
        versions(),
        hardware(run),
        f"{len(records)} instances{' (quick)' if run.quick else ''}, one after another, effort {run.effort:g} "
        f"deterministic seconds each, seed {run.seed}; {sum(r.keeps > 0 for r in records)} have keep boxes; "
        f"{sum(bool(r.impossible) for r in records)} are marked impossible; {run.seconds:.0f} s in all",
    ]
    return "\n".join(f"- {line}" for line in lines)


def _share(values: Iterable[bool]) -> str:
    kept = list(values)
    return f"{100 * sum(kept) / len(kept):.0f} %"


def _pair(values: Iterable[float | None], form: str = "{:.2f}") -> str:
    kept = list(values)
    found = (quantile(kept, 0.5), quantile(kept, 0.9))
    return " / ".join("–" if value is None else form.format(value) for value in found)


def _mean(values: Iterable[float | None], form: Callable[[float], str]) -> str:
    kept = [value for value in values if value is not None]
    return form(sum(kept) / len(kept)) if kept else "–"


def _markdown(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [head, ["---"] + ["---:"] * (len(head) - 1), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "/") for cell in line) + " |" for line in lines)
