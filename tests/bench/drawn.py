"""What pages made without weighing anything have in common: everything else stays as the template drew it.

Photos are cropped about their centres.  Words go onto the card in the first of a few usual sizes that fits its box,
or run over at 8 pt; without a card they are missing.  What is in doubt is decided for these pages: colours are chosen
as for any page, and empty slots go with their mats and what they carry.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from fitter.check import recompute
from fitter.crops import window_size
from fitter.layout import (
    Costs,
    Given,
    GivenPhoto,
    Ink,
    Layout,
    Placed,
    PlacedPhoto,
    Search,
    SetText,
    TemplateRef,
)
from fitter.pages import Page
from fitter.painting import paint
from fitter.palette import choose_palette
from fitter.reference import Reference
from fitter.template import Element, Template
from fitter.typesetting import TITLE_SIZES, Setting, set_block, set_title
from fitter.units import INCH

SIZES = (12.0, 13.0, 14.0, 11.0, 10.0, 9.0, 8.0)
"""In the order tried: as large as usual, larger where lines get too long, else smaller."""
LONGEST_LINE = 80
CLEAR = INCH // 8
STEEPEST = 15


def finished(
    template: Template,
    page: Page,
    given: Given,
    reference: Reference,
    placed: Collection[Placed],
    gone: Collection[str],
) -> Layout:
    """Return a painted layout of placed elements with its costs as the checker finds them."""
    files = {e.photo.file for e in placed if e.photo is not None}
    layout = Layout(
        page=page,
        given=given,
        template=TemplateRef(template.name, template.sha256, template.size, template.file),
        transform=reference.transform,
        reference=reference.elements,
        elements=paint(tuple(placed), choose_palette(())),
        dropped=tuple(e.id for e in reference.elements if e.id in gone),
        waived=(),
        left_out=tuple(photo.file for photo in given.photos if photo.file not in files),
        changes=(),
        notes=(),
        costs=Costs(0, {}),
        search=Search("feasible", 0, 1.0, 0, {}, {}),
    )
    return replace(layout, costs=recompute(layout))


def centred(photo: GivenPhoto, size: tuple[int, int]) -> PlacedPhoto:
    """Return a photo cropped about its centre to the proportions of a slot."""
    width, height = window_size(photo.pixels, size)
    left, top = (photo.pixels[0] - width) // 2, (photo.pixels[1] - height) // 2
    ppi = min(width * INCH // size[0], height * INCH // size[1])
    return PlacedPhoto(photo.file, photo.sha256, photo.pixels, (left, top, left + width, top + height), ppi)


def words_of(elements: tuple[Element, ...], given: Given) -> dict[str, SetText]:
    """Return what is set on the first card and on the title, by element; at most one text is."""
    made: dict[str, SetText] = {}
    card = next((e for e in elements if e.role == "journaling"), None)
    if given.texts and card is not None:
        width, height = _room(card)
        tries = [set_block(given.texts[0].text, size_pt=size, width=width) for size in SIZES]
        found = _largest(tries, height)
        if found is not None:
            made[card.id] = _set(found, card, "text-1")
    heading = next((e for e in elements if e.role == "title"), None)
    if given.title is not None and heading is not None:
        width, height = _room(heading)
        tries = [set_title(given.title, size_pt=size, width=width) for size in reversed(TITLE_SIZES)]
        found = _largest(tries, height)
        if found is not None:
            made[heading.id] = _set(found, heading, "title")
    return made


def _room(element: Element) -> tuple[int, int]:
    inner = 0.7071 if element.shape == "ellipse" else 1.0
    return int(element.size[0] * inner) - 2 * CLEAR, int(element.size[1] * inner) - 2 * CLEAR


def _largest(tries: list[Setting | None], height: int) -> Setting | None:
    """Return the first that fits the height with lines not too long, else the first that fits, else the last."""
    could = [setting for setting in tries if setting is not None]
    fitting = [setting for setting in could if setting.ink_height <= height]
    good = [s for s in fitting if s.measure <= LONGEST_LINE]
    return next(iter((*good, *fitting, *could[-1:])), None)


def _set(setting: Setting, on: Element, which: str) -> SetText:
    size = setting.ink_width + setting.ink_width % 2, setting.ink_height + setting.ink_height % 2
    return SetText(
        which=which,
        lines=setting.lines,
        font=setting.font,
        size_pt=setting.size_pt,
        leading_pt=setting.leading_pt,
        color="#333333",
        ink=Ink(on.center, size),
        tilt=on.tilt if abs(on.tilt) <= STEEPEST else 0.0,
        align="center" if which == "title" else "left",
    )


def emptied(elements: tuple[Element, ...], filled: Collection[str]) -> set[str]:
    """Return the slots without content, and what belongs to them."""
    gone = {e.id for e in elements if e.role in ("photo", "journaling", "title") and e.id not in filled}
    while True:
        more = {e.id for e in elements if e.on in gone and e.tie in ("mat", "carried")} - gone
        if not more:
            return gone
        gone |= more


def as_drawn(element: Element, photos: Mapping[str, PlacedPhoto], texts: Mapping[str, SetText]) -> Placed:
    """Return an element as the reference has it, filled."""
    return replace(Placed.drawn(element), photo=photos.get(element.id), text=texts.get(element.id))
