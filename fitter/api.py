"""The Python interface: fit one page, from data to layouts (steps 2 to 4).

Reads no file but photos for their colours, prints nothing; progress comes by callback.
"""

from __future__ import annotations

import importlib.metadata
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from PIL import Image

from fitter.asked import settings_of
from fitter.attempts import eased
from fitter.change_words import listed
from fitter.changes import changes
from fitter.cost_names import COSTS
from fitter.demands import Case
from fitter.errors import UseError
from fitter.formulate import Formulations, Problems, Settings, formulate
from fitter.formulate.account import terms_of
from fitter.formulate.lattice import lattice
from fitter.formulate.settings import APART
from fitter.freedoms import FREEDOMS, MOST_ALTERNATIVES, VARIED
from fitter.layout import Costs, Given, GivenPhoto, GivenText, Layout, Placed, Search, TemplateRef, Wishes
from fitter.pages import Page, size_name
from fitter.painting import paint
from fitter.palette import choose_palette, photo_hues
from fitter.photos import Photo, given, open_seen
from fitter.place import place
from fitter.reasons import reasons
from fitter.template import Template
from fitter.trials import most_photos
from fitter.units import format_length
from solver.apart import LEAST
from solver.progress import Event
from solver.search import Effort, search
from solver.solution import Outcome, Ranked

PALETTE_PIXELS = 96
_LATER = 0.05


@dataclass(frozen=True)
class Options:
    """How a page is to be fitted.

    Parameters
    ----------
    page
        The page; ``None`` for the template's own size with default bleed and margins.
    top
        How many alternatives, each at least 0.3 apart in the page distance.
    vary
        What each alternative is to differ in from all better ones, each of those named:
        :data:`fitter.freedoms.VARIED`.
    target_ppi, min_ppi
        Resolution wished for, and the least allowed.
    without
        Freedoms switched off, by name (:data:`fitter.freedoms.FREEDOMS`).
    weights
        Factors on the costs, by name (:data:`fitter.cost_names.COSTS`), 0 to 100; see also
        :data:`fitter.presets.PRESETS`.
    wishes
        For single photos and slots, from :func:`fitter.make_wishes`.
    leave_out
        How many photos may be left out.
    seed
        Of the search.
    effort
        Deterministic seconds that each of the search's two virtual workers may use, side by side where there are two
        cores.
    time_limit
        Wall-clock safety net in seconds; ``None`` for none.
    """

    page: Page | None = None
    top: int = 3
    vary: tuple[str, ...] = ()
    target_ppi: int = 300
    min_ppi: int = 150
    without: frozenset[str] = frozenset()
    weights: Mapping[str, float] = field(default_factory=dict)
    wishes: Wishes = field(default_factory=Wishes)
    leave_out: int = 0
    seed: int = 0
    effort: float = 20.0
    time_limit: float | None = 60.0

    def __post_init__(self) -> None:
        unknown = sorted(set(self.without) - set(FREEDOMS))
        if unknown:
            raise UseError(f"there is no freedom {unknown[0]!r}; choose among {', '.join(FREEDOMS)}")
        unknown = sorted(set(self.weights) - set(COSTS))
        if unknown:
            raise UseError(f"there is no cost {unknown[0]!r}; choose among {', '.join(COSTS)}")
        unknown = sorted(set(self.vary) - set(VARIED))
        if unknown:
            names = ", ".join(VARIED)
            raise UseError(f"alternatives cannot be asked to differ in {unknown[0]!r}; choose among {names}")
        if any(not 0 <= weight <= 100 for weight in self.weights.values()):
            raise UseError("the factor of a cost must be between 0 and 100")
        if not 1 <= self.top <= MOST_ALTERNATIVES:
            raise UseError(f"top is {self.top}; between 1 and {MOST_ALTERNATIVES} alternatives can be asked for")
        if not 1 <= self.min_ppi <= self.target_ppi <= 2400:
            raise UseError(
                f"resolutions of {self.min_ppi} (least) and {self.target_ppi} ppi (target) do not make sense; "
                "the least must not exceed the target, and neither 2400"
            )
        if self.leave_out < 0:
            raise UseError("the number of photos that may be left out cannot be negative")
        if self.effort <= 0 or (self.time_limit is not None and self.time_limit <= 0):
            raise UseError("effort and time limit must be larger than zero")


@dataclass(frozen=True)
class FitResult:
    """What came of it.

    ``reasons`` says why no page exists and is empty when one does; ``stats`` holds times and counts that may differ
    from run to run.  ``notices`` are sentences about what went otherwise than planned: a time limit that cut in, a
    process that was lost, memory that ran out.
    """

    layouts: tuple[Layout, ...]
    reasons: tuple[str, ...]
    interrupted: bool
    stats: dict[str, float]
    notices: tuple[str, ...] = ()


def fit_page(
    template: Template,
    photos: Sequence[Photo],
    *,
    texts: Sequence[GivenText] = (),
    title: str | None = None,
    options: Options | None = None,
    progress: Callable[[Event], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> FitResult:
    """Fit photos and words to a template.

    Parameters
    ----------
    template
        From :func:`fitter.read_template`.
    photos
        From :func:`fitter.read_photos`, in reading order of time.
    texts
        Journaling texts; one without a ``slot`` may stand in any card, or flow over the template's.
    title
        The page's title.
    options
        See :class:`Options`.
    progress
        Called with every :class:`~solver.progress.Event`.
    stop
        Asked about ten times a second; when it says yes the best pages so far are returned.

    Returns
    -------
    FitResult
        Layouts best first; photos and template are named by absolute paths until :func:`fitter.write_layout`
        names them relative to the file it writes.

    Raises
    ------
    UseError, InputError
        When options contradict each other or words cannot be set in the bundled fonts.
    """
    options = options or Options()
    started = time.monotonic()
    tell = progress or (lambda event: None)
    halt = stop or (lambda: False)
    page = options.page or Page(size_name(template.size), template.size)
    if not photos and not texts and title is None:
        raise UseError("nothing to put on the page: give photos, words or a title")
    record = given(tuple(photos))
    _check_wishes(options.wishes, record, page)
    asked = Given(
        photos=record,
        texts=tuple(texts),
        title=title,
        leave_out=options.leave_out,
        target_ppi=options.target_ppi,
        min_ppi=options.min_ppi,
        without=tuple(sorted(options.without)),
        wishes=options.wishes,
    )
    settings = settings_of(template, asked, options.weights)
    tell(Event("2 formulate", "formulating", elapsed=0.0, kind="start"))
    stats: dict[str, float] = {}
    if len(record) - options.leave_out > _most_photos(template, page, settings):
        cramped = replace(settings, cramped=True)
        return FitResult((), reasons(Case(template, page, cramped), (), halt), halt(), stats)
    tried = eased(
        template,
        page,
        settings,
        lambda made: _search(made, options, tell, halt, started),
        wishes_at_fault=lambda settings: _wishes_at_fault(template, page, settings, options),
        stop=halt,
    )
    settings, formulations, outcome = tried.settings, tried.formulations, tried.outcome
    stats |= {f"solve: {name}": value for name, value in outcome.facts.items()}
    stats["effort"] = outcome.effort
    stats["columns"] = float(sum(len(block.columns) for f in formulations.made for block in f.problem.blocks))
    stats["wall_limit_hit"] = float(outcome.wall_limit_hit)
    if not outcome.pages:
        why: tuple[str, ...] = ("interrupted before a page was found",)
        if outcome.status == "unknown" and not outcome.stopped:
            why = ("no page was found within the limits; allow more with --effort and --time-limit",)
        elif not outcome.stopped:
            why = reasons(Case(template, page, settings), formulations, halt)
        return FitResult((), why, outcome.stopped, stats, _notices(outcome, options))
    tell(Event("4 place", "placing", outcome.pages[0].solution.cost, elapsed=time.monotonic() - started))
    palette = choose_palette(photo_hues(_small(photos)))
    drawing = None if template.file is None else str(Path(template.file).absolute())
    layouts: list[Layout] = []
    for ranked in outcome.pages:
        if layouts and halt():
            break
        placed = place(template, formulations[ranked.solution.problem], ranked.solution)
        formulation = formulations[ranked.solution.problem]
        terms = terms_of(formulation, ranked.solution)
        painted = paint(placed.elements, palette, options.seed)
        layout = Layout(
            page=page,
            given=asked,
            template=TemplateRef(template.name, template.sha256, template.size, drawing),
            transform=replace(placed.reference.transform, rescale=placed.rescale),
            reference=placed.reference.elements,
            elements=painted,
            dropped=placed.dropped,
            waived=placed.waived,
            left_out=tuple(record[n].file for n in placed.left_out),
            changes=(),
            notes=template.notes + _notes(painted, options, settings),
            costs=Costs(settings.rates.total(terms), terms, dict(options.weights)),
            search=_search_record(ranked, options, settings.rates.total(terms), settings),
        )
        layouts.append(replace(layout, changes=changes(layout)))
    stats["total"] = time.monotonic() - started
    stopped = outcome.stopped or len(layouts) < len(outcome.pages)
    return FitResult(tuple(layouts), (), stopped, stats, _notices(outcome, options))


def _notices(outcome: Outcome, options: Options) -> tuple[str, ...]:
    """Say what went otherwise than planned."""
    settled = len(outcome.pages) == options.top and all(ranked.proved for ranked in outcome.pages)
    notices = outcome.notices
    if outcome.pages and len(outcome.pages) < options.top and not outcome.stopped:
        notices = (_fewer(outcome, options), *notices)
    if not outcome.wall_limit_hit or outcome.stopped or settled:
        return notices
    cut = f"The time limit of {options.time_limit:g} s ended the search early: the same run may give another page."
    return (cut, *notices)


def _fewer(outcome: Outcome, options: Options) -> str:
    """Say why there are fewer pages than were asked for."""
    found = len(outcome.pages)
    apart = f"at least {LEAST / 10:g} different from {'it' if found == 1 else 'them'}"
    if options.vary:
        apart += f" in the page distance and in {listed(options.vary)}"
    why = (
        f"no other page is {apart}"
        if outcome.complete
        else f"no other page {apart} was found within the limits; allow more with --effort and --time-limit"
    )
    return f"{found} of {options.top} pages: {why}."


def _most_photos(template: Template, page: Page, settings: Settings) -> int:
    """Return the most photos any page could hold, counting copies of clusters where the drawing alone has too few."""
    plain = most_photos([template.elements], settings)
    if plain >= len(settings.photos):
        return plain
    return most_photos(formulate(template, page, settings).drawings, settings)


def _wishes_at_fault(template: Template, page: Page, settings: Settings, options: Options) -> bool:
    """Whether there is a page without the wishes."""
    if not settings.wishes.bind:
        return False
    free = formulate(template, page, replace(settings, wishes=Wishes(start=settings.wishes.start)))
    effort = Effort(options.effort, options.time_limit, options.seed)
    return bool(search(Problems(free), effort=effort).pages)


def _check_wishes(wishes: Wishes, record: tuple[GivenPhoto, ...], page: Page) -> None:
    files = {photo.file for photo in record}
    for file in (*(file for file, _ in wishes.pins), *wishes.bigger, *wishes.smaller):
        if file not in files:
            raise UseError(f"a wish speaks of the photo {file}, which is not among those given")
    if wishes.stay and wishes.start is not None and wishes.start.page != page.trim:
        raise UseError(
            f"--pin {wishes.stay[0]}: a slot stays as it is only on a page of the same size; leave --page away, "
            "or this wish"
        )


def _search(
    formulations: Formulations,
    options: Options,
    tell: Callable[[Event], None],
    halt: Callable[[], bool],
    started: float,
) -> Outcome:
    offset = time.monotonic() - started

    def pass_on(event: Event) -> None:
        tell(replace(event, elapsed=event.elapsed + offset))

    def ended() -> bool:
        return halt() or (until is not None and time.monotonic() > until)

    # A little later than the search's own limit, so that the search knows why.
    until = None if options.time_limit is None else time.monotonic() + options.time_limit + _LATER
    return search(
        Problems(formulations, ended),
        top=options.top,
        vary=options.vary,
        effort=Effort(options.effort, options.time_limit, options.seed),
        progress=pass_on,
        stop=halt,
    )


def _small(photos: Sequence[Photo]) -> Iterator[Image.Image]:
    for photo in photos:
        yield open_seen(photo.path, at_least=(PALETTE_PIXELS, PALETTE_PIXELS))


def _notes(elements: tuple[Placed, ...], options: Options, settings: Settings) -> tuple[str, ...]:
    """Say where the page had to be cramped, and of every photo shown below the target resolution.

    Where its file lies is nobody's business.
    """
    cramped = (
        f"There is no page with {format_length(APART)} between photos and words at the usual sizes; "
        "here some may have half of that, and some things may be smaller."
    )
    coarse = (
        f"{Path(e.photo.file).name} in {e.id} is shown at {e.photo.ppi} ppi, below the target of {options.target_ppi}."
        for e in elements
        if e.photo is not None and e.photo.ppi < options.target_ppi
    )
    return (*([cramped] if settings.cramped else []), *coarse)


def _search_record(ranked: Ranked, options: Options, cost: int, settings: Settings) -> Search:
    proved = ranked.proved
    bound = cost if proved else min(cost, ranked.bound)
    versions = {name: importlib.metadata.version(name) for name in ("ortools",)}
    return Search(
        status="proved" if proved else "feasible",
        bound=bound,
        gap=round(max(0.0, (cost - bound) / max(cost, 1)), 6),
        seed=options.seed,
        lattice=lattice(settings),
        versions=versions,
    )
