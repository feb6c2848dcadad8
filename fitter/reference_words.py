"""Step 2, words on a page that lies on its side: they stay upright as the drawing turns, and look for a place (R2)."""

from __future__ import annotations

from dataclasses import replace

from fitter.pages import Page
from fitter.reference_boxes import around, covers, extents, moved, step_inside
from fitter.template import TEXT_ROLES, Element, Point, Template

_UPRIGHT_ROLES = frozenset({"title", "journaling", "embellishment"})


def stays_upright(element: Element, template: Template) -> bool:
    """Whether width and height stay when the page turns: writing, ornaments, and mats of writing."""
    if element.tie == "mat":
        host = next(e for e in template.elements if e.id == element.on)
        return stays_upright(host, template)
    return element.role in _UPRIGHT_ROLES and not (element.limits.vertical and element.role == "title")


def loose_words(elements: list[Element], template: Template, page: Page) -> frozenset[str]:
    """Return words that keep their width on a page on its side, with what rides on them, if the safe box has room.

    They look for another place (R2), so that the drawing need not shrink for them.
    """
    safe = page.safe
    room = safe[2] - safe[0], safe[3] - safe[1]
    words = {e.id for e in elements if e.role in TEXT_ROLES and stays_upright(e, template)}
    groups = {name: around([e for e in elements if name in (e.id, e.on)]) for name in words}
    fitting = {n for n, b in groups.items() if b[2] - b[0] <= room[0] and b[3] - b[1] <= room[1]}
    return frozenset(e.id for e in elements if e.id in fitting or e.on in fitting)


def words_inside(elements: list[Element], page: Page, loose: frozenset[str]) -> list[Element]:
    """Move loose words into the safe box, each with what rides on them."""
    safe, steps = page.safe, {}
    for name in loose:
        box = around([e for e in elements if name in (e.id, e.on)])
        steps[name] = (step_inside(box[0], box[2], safe[0], safe[2]), step_inside(box[1], box[3], safe[1], safe[3]))
    return [
        moved(e, steps[e.on if e.on in loose else e.id]) if e.id in loose and not e.bleeds else e for e in elements
    ]


def released(element: Element, drawn: Element, frame: list[Element], template: Template, step: Point) -> Element:
    """Let go of words that lay within what carries them and no longer do: they look for another place (R2).

    Words keep their width and height when the drawing lies on its side, their carrier does not.  From then on they
    slide with the drawing (by ``step``).
    """
    if element.tie != "carried" or element.role not in TEXT_ROLES:
        return element
    before = next(extents(e) for e in template.elements if e.id == drawn.on)
    now = next(extents(e) for e in frame if e.id == element.on)
    if not covers(before, extents(drawn)) or covers(now, extents(element)):
        return element
    return moved(replace(element, on=None, tie=None), step)
