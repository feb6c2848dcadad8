"""Free rectangles of the reference layout that may take an added slot."""

from __future__ import annotations

from fitter.pages import Page
from fitter.reference import Reference
from fitter.reference_boxes import extents
from fitter.template import Element
from fitter.units import INCH

SMALLEST_ROOM = (2 * INCH, 3 * INCH // 2)
MOST_ROOMS = 2
GAP = INCH // 8


def free_rooms(page: Page, reference: Reference) -> tuple[Element, ...]:
    """Return the largest free rectangles, largest first, as elements of role ``paper``.

    They lie inside the safe box, 1/8 in clear of everything but backgrounds, and do not meet each other.
    """
    safe = page.safe
    taken = [extents(e) for e in reference.elements if e.role != "background"]
    rooms: list[tuple[int, int, int, int]] = []
    for _ in range(MOST_ROOMS):
        best = _largest(safe, taken + rooms)
        if best is None:
            break
        rooms.append(best)
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


def _largest(
    safe: tuple[int, int, int, int], taken: list[tuple[int, int, int, int]]
) -> tuple[int, int, int, int] | None:
    """Return the largest rectangle clear of all taken ones; sides at the safe box or beside something taken."""
    grown = [(a - GAP, b - GAP, c + GAP, d + GAP) for a, b, c, d in taken]
    lefts = sorted({safe[0], *(b[2] for b in grown if safe[0] < b[2] < safe[2])})
    rights = sorted({safe[2], *(b[0] for b in grown if safe[0] < b[0] < safe[2])})
    best: tuple[int, tuple[int, int, int, int]] | None = None
    for left in lefts:
        for right in rights:
            if right - left < SMALLEST_ROOM[0]:
                continue
            blocking = sorted((b[1], b[3]) for b in grown if b[0] < right and b[2] > left)
            top = safe[1]
            for low, high in [*blocking, (safe[3], safe[3])]:
                bottom = min(low, safe[3])
                if bottom - top >= SMALLEST_ROOM[1]:
                    area = (right - left) * (bottom - top)
                    if best is None or area > best[0]:
                        best = (area, (left, top, right, bottom))
                top = max(top, high)
    return None if best is None else best[1]
