"""Free rectangles of the reference layout that may take an added slot."""

from __future__ import annotations

from fitter.formulate.cards import least_title_cards
from fitter.formulate.lines import usual_gap
from fitter.pages import Page
from fitter.reference import Reference
from fitter.reference_boxes import empty_rectangles, extents
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
    fitting = [r for r in empty_rectangles(frame, grown) if _holds(r, needed)]
    return max(fitting, key=lambda r: (r[2] - r[0]) * (r[3] - r[1]), default=None)


def _holds(room: Box, needed: tuple[tuple[int, int], ...]) -> bool:
    return any(width <= room[2] - room[0] and height <= room[3] - room[1] for width, height in needed)
