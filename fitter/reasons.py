"""Why no page exists, in the user's words, and what would help.

Every reason is verified: the page is formulated again with just that wish or rule relaxed, and the reason is given
when a page exists then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from fitter.clashes import TRIAL, clash
from fitter.formulate import Formulation, Problems, Settings, formulate
from fitter.formulate.columns import block_configs
from fitter.formulate.content import TextItem
from fitter.formulate.divided_blocks import MOST_PIECES
from fitter.formulate.rooms import MOST_ROOMS
from fitter.pages import Page
from fitter.template import Element, Template
from fitter.typesetting import JOURNALING_SIZES, block_heights
from fitter.units import INCH
from solver.search import search

_SQUARE_INCH = INCH * INCH
_SHARES = (1.0, 0.85, 0.7, 0.55, 0.4, 0.25)


def reasons(template: Template, page: Page, settings: Settings, formulations: Sequence[Formulation]) -> tuple[str, ...]:
    """Return what clashes; at least one sentence."""
    found: list[str] = []
    if not settings.wishes.bind:
        found += _words_too_long(template, page, settings, formulations)
        found += _photos_without_slot(settings, formulations)
    if not found:
        together = clash(template, page, settings)
        found += () if settings.wishes.bind else _relaxed(template, page, settings)
        found += () if together is None else together.sentences()
    if not found:
        found.append(
            "no combination of the photos, the words and this template fits the page; use a larger page, another "
            "template, fewer photos or fewer words"
        )
    return tuple(found)


def _words_too_long(
    template: Template, page: Page, settings: Settings, formulations: Sequence[Formulation]
) -> Iterator[str]:
    for ids in settings.needs:
        item = settings.items[ids[0]]
        offered = any(
            any(t in ids for t in c.texts) for f in formulations for block in f.problem.blocks for c in block.columns
        )
        if offered:
            continue
        if item.is_title:
            yield f"the title {item.text[:40]!r} fits no spot of the template at 24 pt; shorten it or use a larger page"
            continue
        if item.slot is not None and all(e.element.id != item.slot for f in formulations for e in f.scene.atoms):
            yield f"the text is meant for the slot {item.slot!r}, which the template does not have"
            continue
        count = len(item.text.split())
        need = _area_needed(item.text)
        largest = max(
            (a.element.size[0] * a.element.size[1] for f in formulations for a in f.scene.blocks), default=0
        )
        fits = _words_that_fit(template, page, settings, formulations, item)
        yield (
            f"{count:,} words need about {need / _SQUARE_INCH:.0f} sq in at 8 pt and no spot of the template "
            f"(the largest has {largest / _SQUARE_INCH:.0f} sq in) takes them; "
            f"{f'shorten to about {fits:,} words, ' if fits else ''}use a larger page, "
            "or divide the text among several slots with --text SLOT=FILE"
        )


def _area_needed(text: str) -> int:
    """Return the smallest area of a card for a text at the smallest size, of a comfortable measure."""
    widths = [INCH * w for w in (2, 3, 4, 5, 6, 8)]
    table = block_heights(text, widths, JOURNALING_SIZES[:1])
    areas = [
        (w + INCH // 4) * (int(h) + INCH // 4) for w, h in zip(widths, table.ink_height[0], strict=True) if h > 0
    ]
    return min(areas, default=0)


def _words_that_fit(
    template: Template, page: Page, settings: Settings, formulations: Sequence[Formulation], item: TextItem
) -> int:
    """Return about how many of the words there is a page with, whole in one spot; 0 if there is none with few."""
    words = item.text.split()
    low, high = 0, len(words)
    while low < high:
        middle = (low + high + 1) // 2
        if _takes(settings, formulations, replace(item, index=0, text=" ".join(words[:middle]))):
            low = middle
        else:
            high = middle - 1
    for share in _SHARES:
        count = int(low * share)
        count = count - count % 10 if count > 20 else count
        items = tuple(replace(i, text=" ".join(words[:count])) if i == item else i for i in settings.items)
        needs = tuple((item.index,) if item.index in ids else ids for ids in settings.needs)
        if count and _possible(template, page, replace(settings, items=items, needs=needs)):
            return count
    return 0


def _takes(settings: Settings, formulations: Sequence[Formulation], item: TextItem) -> bool:
    trial = replace(settings, photos=(), items=(item,), needs=((0,),))
    return any(
        config.item == 0 or any(carried.item == 0 for carried in config.carried)
        for f in formulations
        for atom in f.scene.blocks
        for config in block_configs(f.scene, atom, trial, f.scalings)
    )


def _photos_without_slot(settings: Settings, formulations: Sequence[Formulation]) -> Iterator[str]:
    held = {
        photo for f in formulations for block in f.problem.blocks for c in block.columns for photo in c.photos
    }
    for number, photo in enumerate(settings.photos):
        if number in held:
            continue
        largest = max(photo.pixels) / settings.min_ppi
        why = "its keep boxes do not fit any slot" if photo.keep else (
            f"at {settings.min_ppi} ppi its {photo.pixels[0]}×{photo.pixels[1]} pixels reach {largest:.1f} in at most"
        )
        yield f"photo {Path(photo.file).name} fits no slot: {why}"


def _relaxed(template: Template, page: Page, settings: Settings) -> Iterator[str]:
    """Try each wish or rule relaxed by itself."""
    trials: list[tuple[Callable[[], bool], str]] = []
    if settings.needs:
        trials.append(
            (
                lambda: _possible(template, page, replace(settings, items=(), needs=())),
                "the photos fit without the words: shorten or leave out the words or the title",
            )
        )
    for out in range(1, min(len(settings.photos), 4)):
        trials.append(
            (
                lambda out=out: _possible(template, page, replace(settings, leave_out=settings.leave_out + out)),  # type: ignore[misc]
                f"{len(settings.photos)} photos are too many: a page exists with {out} fewer "
                f"(--leave-out {settings.leave_out + out})",
            )
        )
    if any(photo.keep for photo in settings.photos):
        bare = tuple(replace(p, keep=(), detected=()) for p in settings.photos)
        trials.append(
            (
                lambda: _possible(template, page, replace(settings, photos=bare)),
                "the keep boxes you marked cannot all stay clear of edges and overlaps; make them smaller",
            )
        )
    if settings.without:
        trials.append(
            (
                lambda: _possible(template, page, replace(settings, without=frozenset())),
                f"a page exists once these are allowed again: {', '.join(sorted(settings.without))}",
            )
        )
    if page.margin or page.gutter:
        slim = replace(page, margin=min(page.margin, INCH // 8), gutter={})
        trials.append(
            (
                lambda: _possible(template, slim, settings),
                "the margins leave too little room: a page exists with margins of 1/8 in and no gutter",
            )
        )
    shown = False
    for works, sentence in trials:
        if "fewer" in sentence and shown:
            continue
        if works():
            shown = shown or "fewer" in sentence
            yield sentence


def _possible(template: Template, page: Page, settings: Settings) -> bool:
    return bool(search(Problems(formulate(template, page, settings)), effort=TRIAL).pages)


def most_photos(drawings: Iterable[Sequence[Element]], settings: Settings) -> int:
    """Return the most photos any page could hold, whatever their shapes, on the best of some drawings."""
    return max(_most_photos(elements, settings) for elements in drawings)


def _most_photos(elements: Sequence[Element], settings: Settings) -> int:
    each = MOST_PIECES if settings.may("add-slot") else 1
    slots = 0
    for element in elements:
        if element.role == "photo":
            slots += 1 if element.shape != "rect" or element.limits.fixed else each
        elif element.role in ("paper", "journaling") and element.tie is None and settings.may("swap-role"):
            slots += 0 if element.is_strip else each
    return slots + (MOST_ROOMS if settings.may("add-slot") else 0)


def too_many(count: int, most: int) -> str:
    """Return the sentence for photos that outnumber every place there is."""
    return (
        f"{count} photos cannot all be on one page: this template has room for {most} at most; give fewer, "
        f"allow --leave-out {count - most}, or use a template with more slots"
    )


