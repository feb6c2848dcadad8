"""The table for people: Markdown from records, commands and the machine."""

from __future__ import annotations

import importlib.metadata
import math
import os
import platform
import subprocess
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from tests.bench.commands import ROOT, Command
from tests.bench.solve import Record

LIBRARIES = ("ortools", "numpy", "shapely", "Pillow", "uharfbuzz")
LATE_FACTOR, LATE_EXTRA = 1.5, 2.0
"""A search is late when it takes longer by the clock than its effort times the first, plus the second, seconds."""


class Run(NamedTuple):
    """What the figures were measured with."""

    quick: bool
    effort: float
    seed: int
    seconds: float
    load: float


def summary(records: Sequence[Record], commands: Sequence[Command], run: Run) -> str:
    """Return the whole summary as Markdown."""
    parts = [
        "# Benchmark",
        _machine(records, run),
        "## By photo count",
        "Times in seconds, median / p90 (nearest rank) over all instances of the row, from the start of "
        "formulating (after import and reading); what was not reached within the effort counts as later than "
        "everything reached (–).",
        _table(records),
        "## Against the naive fill",
        "The template untouched, photos in order, centred crops; means over the instances for which the fitter "
        "has a page. Crop loss is per photo placed. Both pages are priced by the checker; costs in millionths.",
        _naive_table(records),
        "## Whole commands",
        _command_table(commands),
        "## Failures",
        _failures(records, commands, run),
    ]
    return "\n\n".join(parts) + "\n"


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


def _groups(records: Sequence[Record]) -> list[tuple[str, list[Record]]]:
    counts = sorted({record.photos for record in records})
    rows: list[tuple[str, Callable[[Record], bool]]] = [
        (str(count), lambda r, count=count: r.photos == count)  # type: ignore[misc]
        for count in counts
    ]
    rows += [
        ("1–4", lambda r: r.photos <= 4),
        ("5–6", lambda r: 5 <= r.photos <= 6),
        ("7–8", lambda r: r.photos >= 7),
        ("all", lambda r: True),
        ("all, aspects all different", lambda r: r.distinct and r.photos > 1),
    ]
    made = [(name, [r for r in records if wanted(r) and not r.impossible]) for name, wanted in rows]
    return [(name, group) for name, group in made if group]


def _table(records: Sequence[Record]) -> str:
    head = (
        "photos", "pages", "none", "proved", "first", "within 5 %", "proof", "gap", "gap ≤ 15 %", "columns",
    )  # fmt: skip
    rows = []
    for name, group in _groups(records):
        proved = sum(r.status == "proved" for r in group)
        close = sum(r.gap is not None and r.gap <= 0.15 for r in group)
        rows.append(
            (
                name,
                str(len(group)),
                str(sum(r.status in ("none", "crash") for r in group)),
                f"{100 * proved / len(group):.0f} %",
                _pair(r.first for r in group),
                _pair(r.near for r in group),
                _pair(r.proof for r in group),
                _pair((None if r.gap is None else 100 * r.gap for r in group), "{:.0f} %"),
                f"{100 * close / len(group):.0f} %",
                f"{sum(r.columns or 0 for r in group) / len(group):,.0f}",
            )
        )
    return _markdown(head, rows)


def _naive_table(records: Sequence[Record]) -> str:
    head = (
        "photos", "pages", "crop loss", "naive", "overlap", "naive", "cost", "naive",
        "naive pages that break a rule", "violations each", "photos it leaves out",
    )  # fmt: skip
    rows = []
    for name, group in _groups([r for r in records if r.cost is not None]):
        rows.append(
            (
                name,
                str(len(group)),
                _mean((r.crop_loss for r in group), lambda x: f"{100 * x:.1f} %"),
                _mean((r.naive_crop_loss for r in group), lambda x: f"{100 * x:.1f} %"),
                _mean((r.overlap for r in group), lambda x: f"{x:,.0f}"),
                _mean((r.naive_overlap for r in group), lambda x: f"{x:,.0f}"),
                _mean((r.cost for r in group), lambda x: f"{x:,.0f}"),
                _mean((r.naive_cost for r in group), lambda x: f"{x:,.0f}"),
                f"{sum(bool(r.naive_violations) for r in group)}",
                _mean((r.naive_violations for r in group), lambda x: f"{x:.1f}"),
                _mean((r.naive_left_out for r in group), lambda x: f"{x:.1f}"),
            )
        )
    rivals = [r for r in records if r.cost is not None and r.naive_cost is not None and not r.naive_violations]
    worse = [r.name for r in rivals if (r.cost or 0) > (r.naive_cost or 0)]
    note = f"Legal naive pages cheaper than the fitter's: {', '.join(worse) or 'none'}."
    return _markdown(head, rows) + "\n\n" + note


def _command_table(commands: Sequence[Command]) -> str:
    rows = [(c.what, f"{c.seconds:.2f}", f"{c.cpu:.2f}", f"{c.megabytes:.0f}", str(c.code)) for c in commands]
    return _markdown(("command", "seconds", "processor seconds", "peak MB", "exit code"), rows)


def _failures(records: Sequence[Record], commands: Sequence[Command], run: Run) -> str:
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
    lines += [f"- `{c.what}` ended with {c.code}: {' '.join(c.said.split())}" for c in commands if c.code]
    loose = [r.name for r in records if (r.solver_cost or 0) > 1.05 * (r.cost or 0) and r.cost is not None]
    if loose:
        lines.append(f"- priced over 5 % above their true cost by the solver (not wrong): {', '.join(loose)}")
    return "\n".join(lines) or "None."


def is_late(record: Record, effort: float) -> bool:
    """Whether formulating and searching took far longer than the effort allows for."""
    return record.total is not None and record.total > LATE_FACTOR * effort + LATE_EXTRA


def _machine(records: Sequence[Record], run: Run) -> str:
    several = [r for r in records if r.photos > 1]
    libraries = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES)
    lines = [
        f"{datetime.now(UTC):%Y-%m-%d}, {_commit()}, Python {platform.python_version()}, {libraries}",
        f"{_processor()}, {os.cpu_count()} cores, {_memory()}, {platform.system()} {platform.release()}; "
        f"load at the start {run.load:.2f}",
        f"{len(records)} instances{' (quick)' if run.quick else ''}, one after another, effort {run.effort:g} "
        f"deterministic seconds each, seed {run.seed}; {sum(r.distinct for r in several)} of the {len(several)} "
        f"with several photos have all aspects different; {sum(r.keeps > 0 for r in records)} have keep boxes; "
        f"{sum(bool(r.impossible) for r in records)} are marked impossible; {run.seconds:.0f} s in all",
    ]
    return "\n".join(f"- {line}" for line in lines)


def _commit() -> str:
    def git(*words: str) -> str:
        done = subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=False)
        return done.stdout.strip() if done.returncode == 0 else ""

    name = git("rev-parse", "--short", "HEAD")
    changed = git("status", "--porcelain", "--untracked-files=no", "--", "fitter", "solver")
    return (f"commit {name}" if name else "no commit") + (" with changes" if changed else "")


def _processor() -> str:
    try:
        text = Path("/proc/cpuinfo").read_text(encoding="utf-8")
    except OSError:
        return platform.processor() or platform.machine()
    names = [line.partition(":")[2].strip() for line in text.splitlines() if line.startswith("model name")]
    return names[0] if names else platform.machine()


def _memory() -> str:
    try:
        return f"{os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 1e9:.0f} GB"
    except (ValueError, OSError, AttributeError):
        return "memory unknown"


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
