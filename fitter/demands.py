"""What is asked of a page and can be taken back, one thing at a time.

Enters: a :class:`Case`.  Leaves: its :class:`Demand` s, each of which can give the case back without itself.  A case
without a demand allows every page that the case allows, and perhaps more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from fitter.formulate import Settings
from fitter.formulate.content import TextItem
from fitter.pages import Page
from fitter.template import Template
from fitter.units import INCH

Kind = Literal["margins", "ppi", "found", "limit", "few", "photos", "keep", "fixed", "words", "freedom", "wish"]

LEAST_PPI = 30
"""The least resolution that can be asked for."""
_SLIM = INCH // 8


@dataclass(frozen=True)
class Case:
    """A page with all that is asked of it."""

    template: Template
    page: Page
    settings: Settings


@dataclass(frozen=True)
class Demand:
    """Something asked for that can be taken back.

    ``what`` names it; ``remedy`` says what the page is like without it ("with drop allowed again"); ``relax`` returns
    the case without it.  ``text`` is the number of the words it speaks of.
    """

    kind: Kind
    what: str
    remedy: str
    relax: Callable[[Case], Case]
    text: int | None = None


def without(case: Case, demands: tuple[Demand, ...] | list[Demand]) -> Case:
    """Return a case without some of its demands."""
    for demand in demands:
        case = demand.relax(case)
    return case


def demands(case: Case) -> tuple[Demand, ...]:
    """Return what can be taken back, what is blamed last first; what is switched off or wished is blamed first."""
    return (
        *_of_the_page(case),
        *_limits(case),
        *_words(case.settings),
        *_photos(case),
        *_fixed(case),
        *_freedoms(case.settings),
        *_wishes(case.settings),
    )


def _of_the_page(case: Case) -> Iterator[Demand]:
    settings = case.settings
    if case.page.margin > _SLIM or case.page.gutter:
        yield Demand("margins", "the margins", "with margins of 1/8 in and no gutter", _slim)
    if settings.photos and settings.min_ppi > LEAST_PPI:
        what = f"the least resolution of {settings.min_ppi} ppi"
        yield Demand("ppi", what, f"with --min-ppi {LEAST_PPI}", lambda c: asking(c, min_ppi=LEAST_PPI))
    for number, photo in enumerate(settings.photos):
        if photo.detected and "R5" not in settings.waive:
            what = f"the regions found in {Path(photo.file).name}"
            yield Demand("found", what, f"without {what}", _bare("detected", number))


def _limits(case: Case) -> Iterator[Demand]:
    """What the template's author allows of single slots."""
    for element in case.template.elements:
        if element.limits.smallest_side:
            what = f"the smallest side of {element.id} (data-min)"
            yield Demand("limit", what, f"without data-min on {element.id}", _freed(element.id, "smallest_side", 0))
        if element.limits.may_be is not None:
            what = f"{element.id} being only what the template says (data-may-be)"
            yield Demand("limit", what, f"without data-may-be on {element.id}", _freed(element.id, "may_be", None))


def _photos(case: Case) -> Iterator[Demand]:
    settings = case.settings
    count, slots = len(settings.photos), sum(e.role == "photo" for e in case.template.elements)
    if count < slots and count:
        what = "only one photo" if count == 1 else f"only {count} photos"
        yield Demand("few", what, f"with {slots} photos", lambda c: _with_more(c, slots - count))
    least = 0 if settings.needs else 1
    if count - least > settings.leave_out:
        what = f"all {count} photos" if not settings.leave_out else f"{count - settings.leave_out} of {count} photos"
        what = "the photo" if count == 1 else what
        yield Demand("photos", what, "with fewer photos", lambda c: asking(c, leave_out=len(c.settings.photos) - least))
    for number, photo in enumerate(settings.photos):
        if photo.keep:
            what = f"the keep boxes you marked in {Path(photo.file).name}"
            yield Demand("keep", what, f"without {what}", _bare("keep", number))


def _fixed(case: Case) -> Iterator[Demand]:
    for element in case.template.elements:
        if element.limits.fixed:
            what = f"{element.id} fixed by the template (data-fixed)"
            yield Demand("fixed", what, f"without data-fixed on {element.id}", _freed(element.id, "fixed", False))


def _words(settings: Settings) -> Iterator[Demand]:
    for ids in settings.needs:
        item = settings.items[ids[0]]
        what = name_of(settings, item)
        yield Demand("words", what, f"without {what}", _wordless(ids), item.index)
        if len(ids) == 1 and item.slot is not None:
            remedy = f"with {what} in any slot"
            yield Demand("wish", f"--text {item.slot}=", remedy, _anywhere(item.index))


def name_of(settings: Settings, item: TextItem) -> str:
    """Return what some words are called: the title, the 40 words, text 2 (40 words)."""
    if item.is_title:
        return "the title"
    count = len(item.text.split())
    alone = sum(not settings.items[ids[0]].is_title for ids in settings.needs) == 1
    counted = f"{count:,} word{'s' if count != 1 else ''}"
    return f"the {counted}" if alone else f"{item.which.replace('-', ' ')} ({counted})"


def _freedoms(settings: Settings) -> Iterator[Demand]:
    for freedom in sorted(settings.without):
        yield Demand("freedom", f"{freedom} switched off", f"with {freedom} allowed again", _allowing(freedom))


def _wishes(settings: Settings) -> Iterator[Demand]:
    for pin in settings.wishes.pins:
        option = f"--pin {Path(pin[0]).name}={pin[1]}"
        yield Demand("wish", option, f"without {option}", _dropping("pins", pin))
    for field, name in (("stay", "pin"), ("avoid", "avoid"), ("bigger", "bigger"), ("smaller", "smaller")):
        for value in getattr(settings.wishes, field):
            option = f"--{name} {Path(value).name}"
            yield Demand("wish", option, f"without {option}", _dropping(field, value))


def asking(case: Case, **fields: object) -> Case:
    """Return a case with other settings."""
    return replace(case, settings=replace(case.settings, **fields))  # type: ignore[arg-type]


def _slim(case: Case) -> Case:
    return replace(case, page=replace(case.page, margin=min(case.page.margin, _SLIM), gutter={}))


def _bare(field: str, number: int) -> Callable[[Case], Case]:
    def relax(case: Case) -> Case:
        photos = list(case.settings.photos)
        photos[number] = replace(photos[number], **{field: ()})  # type: ignore[arg-type]
        return asking(case, photos=tuple(photos))

    return relax


def _with_more(case: Case, count: int) -> Case:
    """Return a case with copies of its last photo, which may be left out."""
    settings = case.settings
    last = replace(settings.photos[-1], keep=(), detected=())
    return asking(case, photos=(*settings.photos, *[last] * count), leave_out=settings.leave_out + count)


def _freed(slot: str, field: str, value: object) -> Callable[[Case], Case]:
    def relax(case: Case) -> Case:
        elements = tuple(
            replace(e, limits=replace(e.limits, **{field: value})) if e.id == slot else e  # type: ignore[arg-type]
            for e in case.template.elements
        )
        return replace(case, template=replace(case.template, elements=elements))

    return relax


def _wordless(ids: tuple[int, ...]) -> Callable[[Case], Case]:
    return lambda case: asking(case, needs=tuple(other for other in case.settings.needs if other != ids))


def _anywhere(number: int) -> Callable[[Case], Case]:
    def relax(case: Case) -> Case:
        items = tuple(replace(item, slot=None) if item.index == number else item for item in case.settings.items)
        return asking(case, items=items)

    return relax


def _allowing(freedom: str) -> Callable[[Case], Case]:
    return lambda case: asking(case, without=case.settings.without - {freedom})


def _dropping(field: str, value: object) -> Callable[[Case], Case]:
    def relax(case: Case) -> Case:
        wishes = case.settings.wishes
        left = tuple(v for v in getattr(wishes, field) if v != value)
        return asking(case, wishes=replace(wishes, **{field: left}))  # type: ignore[arg-type]

    return relax
