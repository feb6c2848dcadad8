"""Free rectangles of the reference layout that may take an added slot."""

from __future__ import annotations

from fitter.formulate.cards import least_title_cards
from fitter.formulate.lines import usual_gap
from fitter.pages import Page
from fitter.reference import Reference
from fitter.reference_boxes import extents
from fitter.template import Element
from fitter.units import INCH

SMALLEST_ROOM = (2 * INCH, 3 * INCH // 2)
MOST_ROOMS = 2
LEAST_GAP = INCH // 8
Box = tuple[int, int, int, int]


def free_rooms(page: Page, reference: Reference, title: str | None = None) -> tuple[Element, ...]:
    """Return the largest free rectangles, largest first, as elements of role ``paper``.

    They lie as far from the page's edges as the drawing does at its nearest side, clear of everything but backgrounds
    by the drawing's most frequent gap, and do not meet each other.  Where there are too few, smaller ones that hold the
    title come last, anywhere in the safe box and 1/8 in clear of everything.
    """
    frame = _frame(page, reference)
    gap = usual_gap(reference.elements, LEAST_GAP) or LEAST_GAP
    taken = [extents(e) for e in reference.elements if e.role != "background"]
    rooms: list[Box] = []

    def add(frame: Box, gap: int, needed: tuple[tuple[int, int], ...]) -> None:
        while len(rooms) < MOST_ROOMS and (best := _largest(frame, taken + rooms, gap, needed)) is not None:
            rooms.append(best)

    add(frame, gap, (SMALLEST_ROOM,))
    if title is not None:
        add(page.safe, LEAST_GAP, least_title_cards(title))
    return tuple(
        Element(
            f"added-{number}",
            "paper",
            "rect",
            ((left + right) // 2, (top + bottom) // 2),
            (2 * ((right - left) // 2), 2 * ((bottom - top) // 2)),
        )
        for number, (left, top, right, bottom) in enumerate(rooms, 1)
    )


def _frame(page: Page, reference: Reference) -> Box:
    """Return the safe box, less what the drawing leaves white at the side where that is least."""
    drawn = [extents(e) for e in reference.elements if not e.bleeds and e.role != "background"]
    if not drawn:
        return page.safe
    width, height = page.trim
    left, top = min(b[0] for b in drawn), min(b[1] for b in drawn)
    right, bottom = max(b[2] for b in drawn), max(b[3] for b in drawn)
    white = min(left, top, width - right, height - bottom)
    near, far = page.safe[:2], page.safe[2:]
    return max(near[0], white), max(near[1], white), min(far[0], width - white), min(far[1], height - white)


def _largest(frame: Box, taken: list[Box], gap: int, needed: tuple[tuple[int, int], ...]) -> Box | None:
    """Return the largest rectangle clear of all taken ones; sides at the frame or beside something taken.

    It is at least as wide and as high as one of the sizes that are needed.
    """
    grown = [(a - gap, b - gap, c + gap, d + gap) for a, b, c, d in taken]
    lefts = sorted({frame[0], *(b[2] for b in grown if frame[0] < b[2] < frame[2])})
    rights = sorted({frame[2], *(b[0] for b in grown if frame[0] < b[0] < frame[2])})
    best: tuple[int, Box] | None = None
    for left in lefts:
        for right in rights:
            least = min((height for width, height in needed if width <= right - left), default=None)
            if least is None:
                continue
            blocking = sorted((b[1], b[3]) for b in grown if b[0] < right and b[2] > left)
            top = frame[1]
            for low, high in [*blocking, (frame[3], frame[3])]:
                bottom = min(low, frame[3])
                if bottom - top >= least:
                    area = (right - left) * (bottom - top)
                    if best is None or area > best[0]:
                        best = (area, (left, top, right, bottom))
                top = max(top, high)
    return None if best is None else best[1]
