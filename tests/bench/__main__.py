"""``python -m tests.bench``: run the benchmark, write CSV, Markdown and plots.

Not part of the tests: it takes an hour or two (``--quick``: under ten minutes) and asserts nothing.  The exit code is
1 when a page broke a rule, was not found, costs what it does not say, or contradicts what a peer proved.
"""

from __future__ import annotations

import argparse
import csv
import os
import sys
import tempfile
import time
import traceback
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from pathlib import Path

from fitter.layout_file import write_layout
from tests.bench.commands import Command, commands
from tests.bench.instances import Instance, instances
from tests.bench.machine import Run
from tests.bench.peers import PEERS
from tests.bench.plots import draw_plots
from tests.bench.solve import Solved, blank, solve
from tests.bench.summary import is_late, is_wrong, summary

DEFAULT_EFFORT = 10.0


def main() -> int:
    """Run the benchmark; exit code 1 when anything was wrong or a command failed."""
    asked = _arguments()
    out = asked.out
    out.mkdir(parents=True, exist_ok=True)
    started, load = time.perf_counter(), os.getloadavg()[0]
    chosen = instances(out / "drawings", quick=asked.quick and asked.only is None, twins=asked.seen)
    if asked.only is not None:
        chosen = [i for i in chosen if asked.only in i.name]
    if not chosen:
        print(f"no instance has {asked.only!r} in its name", file=sys.stderr)
        return 2
    print(f"{len(chosen)} instances, effort {asked.effort:g} deterministic seconds each", flush=True)
    solve(chosen[0], effort=0.1, seed=asked.seed, peers=())  # loads every library, so that no clock counts it
    solved = []
    for number, instance in enumerate(chosen, 1):
        solved.append(_one(number, instance, asked))
        _write(out, solved)
    ran: list[Command] = []
    if asked.only is None and not asked.no_commands:
        with tempfile.TemporaryDirectory(prefix="fitter-bench-") as folder:
            for command in commands(Path(folder), quick=asked.quick, effort=asked.effort):
                ran.append(command)
                took = f"{command.seconds:.2f} s, {command.megabytes:.0f} MB"
                print(f"{command.what}: {took}, exit {command.code}", flush=True)
    records, peers = [s.record for s in solved], [p for s in solved for p in s.peers]
    run = Run(asked.quick, asked.effort, asked.seed, time.perf_counter() - started, load)
    text = summary(records, peers, ran, run)
    _replace(out / "bench.md", text)
    drawn = draw_plots(records, peers, out)
    print(f"\n{text}\nWritten to {out}: bench.csv, peers.csv, steps.csv, bench.md, {', '.join(drawn)}")
    return 1 if any(is_wrong(r) for r in records) or any(command.code for command in ran) else 0


def _one(number: int, instance: Instance, asked: argparse.Namespace) -> Solved:
    try:
        solved = solve(instance, effort=asked.effort, seed=asked.seed, peers=asked.peers)
    except Exception as failure:  # one crash must not end the run; it is counted and shown
        _replace(asked.out / f"{instance.name}.txt", traceback.format_exc())
        what = f"{type(failure).__name__}: {failure}"
        solved = Solved(replace(blank(instance), status="crash", failures=what[:300]))
    record = solved.record
    if record.failures and solved.layout is not None:
        write_layout(solved.layout, asked.out / f"{instance.name}.json", overwrite=True)
    gap = "" if record.gap is None else f" gap {100 * record.gap:.0f} %"
    late = " LATE" if is_late(record, asked.effort) else ""
    failed = f" FAILED {record.failures}" if record.failures else ""
    rivals = " ".join(f"{p.peer} {p.cost}{'!' if p.rules else '='[: p.proved]}" for p in solved.peers)
    print(
        f"{number:4} {record.name:36} {record.status:9}{record.why} cost {record.cost}{gap}"
        f" first {record.first or 0:.2f} near {record.near or 0:.2f} total {record.total or 0:.2f} | {rivals}"
        f"{late}{failed}",
        flush=True,
    )
    return solved


def _write(out: Path, solved: list[Solved]) -> None:
    """Write what is known so far; a run that is broken off leaves whole tables."""
    _write_csv(out / "bench.csv", [asdict(s.record) for s in solved])
    _write_csv(out / "peers.csv", [asdict(p) for s in solved for p in s.peers])
    _write_csv(out / "steps.csv", [{"name": s.record.name, **asdict(step)} for s in solved for step in s.steps])


def _write_csv(path: Path, rows: Iterable[Mapping[str, object]]) -> None:
    kept = list(rows)
    if not kept:
        return
    beside = path.with_suffix(".part")
    with beside.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, list(kept[0]))
        writer.writeheader()
        for row in kept:
            writer.writerow({k: round(v, 5) if isinstance(v, float) else v for k, v in row.items()})
    beside.replace(path)


def _replace(path: Path, text: str) -> None:
    beside = path.with_suffix(".part")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="about an eighth of the instances")
    parser.add_argument("--seen", action="store_true", help="each page also with photos that show something")
    parser.add_argument("--out", type=Path, default=Path("fitter-bench"), metavar="DIR", help="(%(default)s)")
    parser.add_argument(
        "--effort",
        type=float,
        default=DEFAULT_EFFORT,
        metavar="S",
        help="deterministic seconds for each instance (%(default)g)",
    )
    parser.add_argument("--seed", type=int, default=0, metavar="N", help="of the search and the peers (%(default)d)")
    parser.add_argument("--only", metavar="NAME", help="only instances with this in their name, no commands")
    parser.add_argument("--no-commands", action="store_true", help="leave out the whole commands")
    parser.add_argument(
        "--peers", nargs="*", default=PEERS, choices=PEERS, metavar="PEER", help=f"of {', '.join(PEERS)} (all)"
    )
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
