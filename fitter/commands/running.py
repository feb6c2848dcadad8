"""One run of ``fit`` from request to files: read, let :func:`fitter.fit_page` work, check, draw, report.

Enters: a :class:`Request`.  Leaves: files in the output folder and an exit code.  Everything that can be
refused without solving is refused before it: outputs that exist, folders that cannot be written, bad input.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitter.cache import Cache
from fitter.commands.check import at_hand
from fitter.commands.interrupts import Interrupts, in_background
from fitter.commands.options import favour, parse_freedoms, parse_page, parse_weights
from fitter.commands.outputs import Plan, Staging, refuse_existing, refuse_originals, staging, writable
from fitter.commands.starting import Beginning, begin, parse_pins
from fitter.commands.summary import Record, json_document, summary
from fitter.errors import (
    EXIT_DONE,
    EXIT_IMPOSSIBLE,
    EXIT_INTERRUPTED,
    EXIT_RULE_BROKEN,
    FitterError,
    UseError,
)
from fitter.presets import PRESETS
from fitter.progress_line import ProgressLine
from fitter.units import INCH
from solver.progress import Event

if TYPE_CHECKING:
    from fitter.api import FitResult
    from fitter.check.report import Report
    from fitter.layout import GivenText, Layout
    from fitter.photos import Photo
    from fitter.template import Template


class InternalError(FitterError):
    """Our own work broke a rule: a mistake of this program, not of the user."""

    exit_code = EXIT_RULE_BROKEN


@dataclass(frozen=True)
class Request:
    """What the user asked for, as written; see ``fitter fit --help``."""

    template: str | None
    photos: tuple[str, ...]
    words: int = 0
    texts: tuple[str, ...] = ()
    title: str | None = None
    page: str | None = None
    bleed: str | None = None
    margin: str | None = None
    gutter: tuple[str, ...] = ()
    top: int = 3
    out: Path = Path(".")
    overwrite: bool = False
    target_ppi: int = 300
    min_ppi: int = 150
    proof_ppi: int = 150
    only: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    favourite: tuple[str, ...] = ()
    weights: tuple[str, ...] = ()
    leave_out: int = 0
    seed: int = 0
    effort: float = 20.0
    time_limit: float | None = 60.0
    as_json: bool = False
    start: Path | None = None
    pin: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    bigger: tuple[str, ...] = ()
    smaller: tuple[str, ...] = ()
    preset: str | None = None
    vary: tuple[str, ...] = ()
    said: frozenset[str] = frozenset()
    """Names of the options the user wrote; what else there is comes from the layout started from."""


def run_fit(request: Request) -> int:
    """Do everything ``fitter fit`` does and return its exit code."""
    plan = Plan(request.out)
    refuse_originals(plan.files, request.photos)
    refuse_existing(plan.files, overwrite=request.overwrite)
    progress = ProgressLine()
    notes: list[str] = []
    with writable(plan.folder), Interrupts() as stop:
        started = time.perf_counter()
        try:
            result = in_background(lambda: solve(request, progress, stop, notes.append))
            seconds = time.perf_counter() - started
            record = Record(plan=plan, result=result, notes=tuple(notes), fit_seconds=seconds)
            if result.layouts:
                record = write_all(request, record, progress, stop)
        finally:
            progress.clear()
    code = exit_code(record.result)
    if request.as_json:
        click.echo(json_document(record, code))
    click.echo(summary(record), err=request.as_json)
    return code


def exit_code(result: FitResult) -> int:
    """Return the code that tells a calling program how the run ended."""
    if result.interrupted:
        return EXIT_INTERRUPTED
    return EXIT_DONE if result.layouts else EXIT_IMPOSSIBLE


def solve(request: Request, progress: ProgressLine, stop: Interrupts, note: Callable[[str], None]) -> FitResult:
    """Read what the request names and fit it (steps 1 to 4); ``note`` hears of what was skipped."""
    from fitter.template_reader import read_template

    start = None if request.start is None else begin(request.start)
    earlier = None if start is None else start.layout
    template = read_template(request.template) if request.template is not None else _template_of(start)
    own = template.size if earlier is None else earlier.page.trim
    page = parse_page(request.page, request.bleed, request.margin, request.gutter, own)
    photos = _photos(request, start, progress, note)
    texts, title = _words(request, earlier)

    from fitter.api import Options, fit_page
    from fitter.wishes import make_wishes

    pins, stay = parse_pins(request.pin)
    wishes = make_wishes(
        template,
        photos,
        start=earlier,
        pins=pins,
        stay=stay,
        avoid=request.avoid,
        bigger=request.bigger,
        smaller=request.smaller,
    )
    options = Options(
        page=page or (None if earlier is None else earlier.page),
        top=request.top,
        vary=request.vary,
        target_ppi=_said(request, earlier, "target_ppi"),
        min_ppi=_said(request, earlier, "min_ppi"),
        without=_without(request, earlier),
        weights=_weights(request, earlier),
        wishes=wishes,
        leave_out=_said(request, earlier, "leave_out"),
        seed=_said(request, earlier, "seed"),
        effort=request.effort,
        time_limit=request.time_limit,
    )
    return fit_page(template, photos, texts=texts, title=title, options=options, progress=progress, stop=stop)


def _template_of(start: Beginning | None) -> Template:
    if start is None:
        raise UseError("name a template, or a layout to start from")
    return start.template()


def _said(request: Request, earlier: Layout | None, name: str) -> int:
    """Return a number: as the user wrote it, else as in the layout started from, else the usual one."""
    usual: int = getattr(request, name)
    if earlier is None or name in request.said:
        return usual
    return earlier.search.seed if name == "seed" else int(getattr(earlier.given, name))


def _without(request: Request, earlier: Layout | None) -> frozenset[str]:
    said = parse_freedoms(request.only, request.without)
    return said if earlier is None or said else frozenset(earlier.given.without)


def _weights(request: Request, earlier: Layout | None) -> dict[str, float]:
    """Return factors on costs: the preset's, else those of the layout started from, and over them single ones."""
    base: Mapping[str, float] = {} if earlier is None else earlier.costs.weights
    if request.preset is not None:
        base = PRESETS[request.preset]
    return {**base, **parse_weights(request.weights)}


def _words(request: Request, earlier: Layout | None) -> tuple[list[GivenText], str | None]:
    from fitter.words import clean_text, clean_title, given_count, parse_text_option

    texts = [parse_text_option(option) for option in request.texts]
    if request.words:
        texts = [given_count(request.words)]
    if earlier is not None and not {"words", "texts"} & request.said:
        texts = list(earlier.given.texts)
        for text in texts:
            clean_text(text.text, what=f"--from {request.start}: a text")  # refuses what no text file may hold
    if request.title is not None:
        return texts, clean_title(request.title)
    return texts, None if earlier is None else earlier.given.title


def _photos(
    request: Request, start: Beginning | None, progress: ProgressLine, note: Callable[[str], None]
) -> list[Photo]:
    """Read the photos named, or those of the layout started from."""
    from fitter.noticed import notice
    from fitter.photos import read_photos
    from fitter.seeing.look import Looker

    named = [Path(name).absolute() for name in request.photos]
    if not named and start is not None:
        named = start.photo_paths()
        refuse_originals(Plan(request.out).files, named)
    with Cache.of_user() as cache:
        looker = Looker(cache)
        read = read_photos(named, note=note, cache=cache) if named else ()
        seen = notice(read, looker, progress=progress.count)
        photos = favour(seen if start is None else start.weighed(seen), request.favourite)
        cache.flush()
    for before, photo in zip(read, photos, strict=True):
        for remark in photo.notes[len(before.notes) :]:
            note(f"photo {photo.path.name!r}: {remark}")
    for problem in filter(None, (looker.problem, cache.problem)):
        note(problem)
    return photos


def write_all(request: Request, record: Record, progress: ProgressLine, stop: Callable[[], bool]) -> Record:
    """Write, check and draw every layout, then put all files in place at once (steps 5 and 6).

    Once ``stop`` says yes the best page is still completed, and what was not begun of the others left away.

    Raises
    ------
    InternalError
        When a layout as written breaks a rule.
    """
    from fitter.layout_names import relative_to

    plan, started, found = record.plan, time.perf_counter(), record.result.layouts

    def tell(step: str, part: str) -> None:
        elapsed = record.fit_seconds + time.perf_counter() - started
        progress(Event(step, "", elapsed=elapsed, part=part))

    layouts: list[Layout] = []
    with staging(plan.folder) as stage:
        for index, layout in enumerate(found, start=1):
            if index > 1 and stop():
                break
            tell("5 check", f"page {index} of {len(found)}")
            layouts.append(write_layout_checked(relative_to(layout, plan.folder), plan, index, stage))
        checked = time.perf_counter()
        draw_all(layouts, request.proof_ppi, plan, stage, lambda part: tell("6 draw", part), stop)
        record = replace(
            record,
            result=replace(record.result, interrupted=record.result.interrupted or stop()),
            layouts=tuple(layouts),
            check_seconds=checked - started,
            draw_seconds=time.perf_counter() - checked,
        )
        stage.path(plan.run).write_text(record.run_document(), encoding="utf-8")
        record = replace(record, files=tuple(stage.files))
        stage.commit(stale=plan.files)
    return record


def write_layout_checked(layout: Layout, plan: Plan, index: int, stage: Staging) -> Layout:
    """Write one layout, read it back and check what was read."""
    from fitter.check import check_layout
    from fitter.layout_file import read_layout, write_layout

    path = stage.path(plan.layout(index))
    write_layout(layout, path)
    written = read_layout(path)
    report = check_layout(written, base=plan.folder, template=at_hand(written, plan.folder))
    if not report.ok:
        raise InternalError(
            f"INTERNAL ERROR: page {index} does not pass the check ({'; '.join(faults(report))}). This is a "
            "mistake of the program, nothing was written; please report it with the command and the template"
        )
    return written


def faults(report: Report) -> list[str]:
    """Return what a report holds against a layout, a sentence each."""
    broken = [
        f"{result.rule}: {violation.message}"
        for result in report.rules
        if result.status == "broken"
        for violation in result.violations
    ]
    costs = [
        f"cost {wrong.term} stated {wrong.stated:,}, recomputed {wrong.recomputed:,}"
        for wrong in report.cost_differences
    ]
    return [*broken, *costs, *report.search, *report.differences]


def draw_all(
    layouts: Sequence[Layout],
    ppi: int,
    plan: Plan,
    stage: Staging,
    tell: Callable[[str], None],
    stop: Callable[[], bool],
) -> None:
    """Draw the proof of each layout and, of several, the comparison; ``tell`` hears of each picture.

    Once ``stop`` says yes the first proof is completed alone.
    """
    from fitter.proof import draw_comparison, draw_proof, save_png

    for index, layout in enumerate(layouts, start=1):
        if index > 1 and stop():
            return
        tell(f"proof {index} of {len(layouts)}")
        image = draw_proof(layout, base=plan.folder, ppi=ppi)
        save_png(image, stage.path(plan.proof(index)), overwrite=True, ppi=ppi)
    if len(layouts) > 1 and not stop():
        tell("comparison")
        image = draw_comparison(layouts, base=plan.folder)
        width = sum(layout.page.trim[0] for layout in layouts) / INCH
        save_png(image, stage.path(plan.compare), overwrite=True, ppi=round(image.width / width))
