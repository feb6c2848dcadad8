"""``python -m tests.bench``: run the benchmark, write CSV and Markdown.

Not part of the tests: it takes about a quarter of an hour (``--quick``: three minutes) and asserts nothing.
"""

from __future__ import annotations

import argparse
import csv
import os
import sys
import tempfile
import time
import traceback
from dataclasses import asdict, fields
from pathlib import Path

from fitter.layout_file import write_layout
from tests.bench.commands import Command, commands
from tests.bench.instances import Instance, instances
from tests.bench.solve import Record, Solved, solve
from tests.bench.summary import Run, is_late, summary

DEFAULT_EFFORT = 4.0


def main() -> int:
    """Run the benchmark; exit code 1 when a page failed its check, was not found, or a command failed."""
    asked = _arguments()
    out = asked.out
    out.mkdir(parents=True, exist_ok=True)
    started, load = time.perf_counter(), os.getloadavg()[0]
    chosen = [i for i in instances(quick=asked.quick) if asked.only is None]
    if asked.only is not None:
        chosen = [i for i in instances() if asked.only in i.name]
    print(f"{len(chosen)} instances, effort {asked.effort:g} deterministic seconds each", flush=True)
    if chosen:
        solve(chosen[0], effort=0.1, seed=asked.seed)  # loads every library, so that no clock counts it
    records = [_one(n, instance, asked, out) for n, instance in enumerate(chosen, 1)]
    _write_csv(out / "bench.csv", records)
    ran: list[Command] = []
    if asked.only is None and not asked.no_commands:
        with tempfile.TemporaryDirectory(prefix="fitter-bench-") as folder:
            for command in commands(Path(folder), quick=asked.quick, effort=asked.effort):
                ran.append(command)
                took = f"{command.seconds:.2f} s, {command.megabytes:.0f} MB"
                print(f"{command.what}: {took}, exit {command.code}", flush=True)
    run = Run(asked.quick, asked.effort, asked.seed, time.perf_counter() - started, load)
    text = summary(records, ran, run)
    (out / "bench.md").write_text(text, encoding="utf-8")
    print(f"\n{text}\nWritten: {out / 'bench.csv'}, {out / 'bench.md'}")
    wrong = any(r.failures or (r.status in ("none", "crash") and not r.impossible) for r in records)
    return 1 if wrong or any(command.code for command in ran) else 0


def _one(number: int, instance: Instance, asked: argparse.Namespace, out: Path) -> Record:
    try:
        solved = solve(instance, effort=asked.effort, seed=asked.seed)
    except Exception as failure:  # one crash must not end the run; it is counted and shown
        (out / f"{instance.name}.txt").write_text(traceback.format_exc(), encoding="utf-8")
        solved = Solved(_crashed(instance, failure), None)
    record = solved.record
    if record.failures and solved.layout is not None:
        write_layout(solved.layout, out / f"{instance.name}.json", overwrite=True)
    gap = "" if record.gap is None else f" gap {100 * record.gap:.0f} %"
    late = " LATE" if is_late(record, asked.effort) else ""
    failed = f" FAILED {record.failures}" if record.failures else ""
    print(
        f"{number:4} {record.name:32} {record.status:9}{record.why} cost {record.cost}{gap}"
        f" first {record.first or 0:.2f} near {record.near or 0:.2f} total {record.total or 0:.2f}"
        f"{late}{failed}",
        flush=True,
    )
    return record


def _crashed(instance: Instance, failure: Exception) -> Record:
    what = f"{type(failure).__name__}: {failure}"
    return Record(
        name=instance.name,
        template=instance.template.name,
        photos=len(instance.photos),
        natural=instance.natural,
        words=instance.words,
        distinct=instance.distinct,
        keeps=sum(len(photo.keep) for photo in instance.photos),
        impossible=instance.impossible,
        status="crash",
        failures=what[:300],
    )


def _write_csv(path: Path, records: list[Record]) -> None:
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, [field.name for field in fields(Record)])
        writer.writeheader()
        for record in records:
            row = asdict(record)
            writer.writerow({k: round(v, 5) if isinstance(v, float) else v for k, v in row.items()})


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="about a fifth of the instances")
    parser.add_argument("--out", type=Path, default=Path("fitter-bench"), metavar="DIR", help="(%(default)s)")
    parser.add_argument(
        "--effort",
        type=float,
        default=DEFAULT_EFFORT,
        metavar="S",
        help="deterministic seconds for each instance (%(default)g)",
    )
    parser.add_argument("--seed", type=int, default=0, metavar="N", help="of the search (%(default)d)")
    parser.add_argument("--only", metavar="NAME", help="only instances with this in their name, no commands")
    parser.add_argument("--no-commands", action="store_true", help="leave out the whole commands")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
