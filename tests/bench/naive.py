"""The naive fill: what a page becomes when the template is filled and nothing is weighed.

The template stays as drawn.  Photos go into its slots in reading order; what is left over is left out.  The page is
judged by the same checker as the fitter's; see :mod:`tests.bench.drawn` for the rest.
"""

from __future__ import annotations

from fitter.layout import Given, GivenPhoto, Layout, PlacedPhoto
from fitter.pages import Page
from fitter.reference import Member, reference_layout
from fitter.template import Element, Template
from tests.bench.drawn import as_drawn, centred, emptied, finished, words_of

BANDS = 6


def naive_layout(template: Template, page: Page, given: Given) -> Layout:
    """Return the naive page with its costs as the checker finds them."""
    reference = reference_layout(template, page, Member(0, False))
    shown = _photos(reference.elements, page, given.photos)
    texts = words_of(reference.elements, given)
    gone = emptied(reference.elements, {*shown, *texts})
    placed = [as_drawn(e, shown, texts) for e in reference.elements if e.id not in gone]
    return finished(template, page, given, reference, placed, gone)


def _photos(elements: tuple[Element, ...], page: Page, photos: tuple[GivenPhoto, ...]) -> dict[str, PlacedPhoto]:
    slots = sorted(
        (e for e in elements if e.role == "photo"),
        key=lambda e: (BANDS * e.center[1] // page.trim[1], e.center[0], e.id),
    )
    ordered = sorted(photos, key=lambda photo: photo.order)
    return {slot.id: centred(photo, slot.size) for slot, photo in zip(slots, ordered, strict=False)}
