"""Plots of a run, as PNG.  They only show what the records say.

* ``times.png`` – share of the pages that have a first layout, are near the best, are proved, by time;
* ``gaps.png`` – certified gap at ten seconds, by photo count;
* ``costs.png`` – share of the pages on which everyone's page is within a factor of the best known.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import matplotlib

matplotlib.use("Agg")

import matplotlib.pyplot as plt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, PercentFormatter

from tests.bench.peers import PEERS
from tests.bench.records import GAP_AT, PeerRecord, Record
from tests.bench.summary import RANGES, range_of

# Colours that people with colour-blindness tell apart (Okabe and Ito's set).
INK, PALE = "#333333", "#d9d9d9"
MILESTONES = (
    ("first", "first layout", "#0072b2", "-"),
    ("near", "within 5 % of best", "#009e73", "--"),
    ("nearer", "within 1 %", "#e69f00", "-."),
    ("proof", "proved", "#d55e00", "-"),
)
PEOPLE = {
    "fitter": ("#0072b2", "-", 2.6),
    "exhaustive": ("#000000", ":", 1.6),
    "mip": ("#d55e00", "-", 1.6),
    "annealing": ("#009e73", "--", 1.6),
    "slicing": ("#cc79a7", "-.", 1.6),
    "naive": ("#8c8c8c", "-", 1.6),
}
LABELS = {"mip": "MIP (HiGHS)", "slicing": "slicing tree", "naive": "naive fill"}
STYLE: dict[Any, Any] = {
    "font.size": 10,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.titlesize": 11,
    "axes.titlelocation": "left",
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "legend.frameon": False,
}
WORST_RATIO = 10.0


def draw_plots(records: Sequence[Record], peers: Sequence[PeerRecord], out: Path) -> list[str]:
    """Draw all plots into a folder and return their names."""
    shown = [r for r in records if r.group != "tiny" and not r.impossible]
    if not shown:
        return []
    with plt.rc_context(STYLE):
        made = {
            "times.png": _times(shown),
            "gaps.png": _gaps(shown),
            "costs.png": _costs(shown, [p for p in peers if p.group != "tiny"]),
        }
        for name, figure in made.items():
            beside = out / f"{name}.part"
            figure.savefig(beside, format="png", dpi=150)
            plt.close(figure)
            beside.replace(out / name)
    return list(made)


def _panels(
    records: Sequence[Record], draw: Callable[[Axes, list[Record]], None], width: float = 3.4
) -> tuple[Figure, list[Axes]]:
    """Return a figure with a panel for each range of photo counts that occurs."""
    names = [n for n in (f"{low}–{high}" for low, high in RANGES) if any(range_of(r.photos) == n for r in records)]
    figure, axes = plt.subplots(
        1, len(names), figsize=(width * len(names) + 0.6, 3.9), sharey=True, squeeze=False, layout="constrained"
    )
    figure.get_layout_engine().set(w_pad=0.12)  # type: ignore[union-attr, call-arg]
    for name, axis in zip(names, axes[0], strict=True):
        group = [r for r in records if range_of(r.photos) == name]
        axis.set_title(f"{name} photos ({len(group)} pages)")
        axis.grid(color=PALE, linewidth=0.6)
        axis.set_axisbelow(True)
        draw(axis, group)
    return figure, list(axes[0])


def _times(records: Sequence[Record]) -> Figure:
    ends = [r.total for r in records if r.total]
    starts = [r.first for r in records if r.first]
    low, high = 0.8 * min(starts, default=0.1), 1.2 * max(ends, default=10.0)

    def draw(axis: Axes, group: list[Record]) -> None:
        for what, label, color, line in MILESTONES:
            times = sorted(t for r in group if (t := getattr(r, what)) is not None)
            x = [low, *times, high]
            y = [0.0, *((n + 1) / len(group) for n in range(len(times))), len(times) / len(group)]
            axis.step(x, y, where="post", color=color, linestyle=line, linewidth=1.9, label=label)
        axis.set_xscale("log")
        axis.set_xlim(low, high)
        axis.set_ylim(0, 1.03)
        axis.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}"))
        axis.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
        axis.set_xlabel("seconds")

    figure, axes = _panels(records, draw)
    axes[0].set_ylabel("share of pages")
    handles, labels = axes[0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=len(labels))
    return figure


def _gaps(records: Sequence[Record]) -> Figure:
    counts = sorted({r.photos for r in records})
    figure, axis = plt.subplots(figsize=(0.62 * len(counts) + 2.6, 4.2), layout="constrained")
    for at, count in enumerate(counts):
        group = [r for r in records if r.photos == count]
        gaps = sorted(100 * r.gap_at_10 for r in group if r.gap_at_10 is not None)
        missing = sum(r.gap_at_10 is None for r in group)
        # Pages with about the same gap stand side by side, not on each other.
        rows = [[gap for gap in gaps if round(gap / 2) == row] for row in sorted({round(gap / 2) for gap in gaps})]
        for row in rows:
            wide = min(0.72, 0.09 * (len(row) - 1))
            seats = [at + wide * (n / max(1, len(row) - 1) - 0.5) for n in range(len(row))]
            axis.plot(seats, row, "o", color="#0072b2", alpha=0.55, markersize=4.5, markeredgewidth=0)
        if gaps:
            median = gaps[math.ceil(0.5 * len(gaps) - 1e-9) - 1]
            axis.hlines(median, at - 0.32, at + 0.32, color="#d55e00", linewidth=2.2)
        axis.annotate(
            f"{len(group)}" + (f"\n{missing} none" if missing else ""),
            (at, 1.01), xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=8,
        )  # fmt: skip
    axis.axhline(5, color=INK, linewidth=0.8, linestyle=":")
    axis.annotate("5 %", (1.005, 5), xycoords=("axes fraction", "data"), va="center", fontsize=9)
    axis.set_xticks(range(len(counts)), [str(c) for c in counts])
    axis.set_ylim(-3, 103)
    axis.set_xlim(-0.6, len(counts) - 0.4)
    axis.yaxis.set_major_formatter(PercentFormatter(symbol=" %"))
    axis.grid(axis="y", color=PALE, linewidth=0.6)
    axis.set_axisbelow(True)
    axis.set_xlabel("photos (above: number of pages)")
    axis.set_ylabel(f"certified gap after {GAP_AT:g} s")
    axis.set_title("Each dot a page; the bar is the median", pad=24)
    return figure


def _costs(records: Sequence[Record], peers: Sequence[PeerRecord]) -> Figure:
    def draw(axis: Axes, group: list[Record]) -> None:
        best = {r.name: r.best for r in group if r.best}
        people = {"fitter": [r.cost / best[r.name] for r in group if r.cost is not None and r.name in best]}
        for peer in PEERS:
            theirs = [p for p in peers if p.peer == peer and p.name in best]
            if theirs:
                people[peer] = [p.cost / best[p.name] for p in theirs if p.legal and p.cost is not None]
        for name, ratios in people.items():
            color, line, width = PEOPLE[name]
            kept = sorted(max(r, 0.5) for r in ratios)
            x = [0.5, *kept, WORST_RATIO]
            y = [0.0, *((n + 1) / len(group) for n in range(len(kept))), len(kept) / len(group)]
            axis.step(x, y, where="post", color=color, linestyle=line, linewidth=width, label=LABELS.get(name, name))
        axis.set_xscale("log")
        axis.set_xlim(0.8, WORST_RATIO)
        axis.set_ylim(0, 1.03)
        axis.set_xticks([1, 1.5, 2, 3, 5, 10])
        axis.minorticks_off()
        axis.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}×"))
        axis.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
        axis.set_xlabel("cost against the best page known")

    figure, axes = _panels(records, draw)
    axes[0].set_ylabel("share of pages, legal ones only")
    handles, labels = axes[0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=len(labels))
    return figure
