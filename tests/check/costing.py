"""What the checker says a cost of a page is, and ways to bend a page that several costs are tried on."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

from fitter.check import check_layout
from fitter.layout import Layout, Split, Transform
from tests import builders as b


def cost(layout: Layout, name: str) -> int:
    """Return one term of a page's cost, in millionths."""
    return check_layout(layout).costs.terms[name]


def transformed(layout: Layout, **fields: Any) -> Layout:
    """Return the page made from its template in another way."""
    return b.priced(replace(layout, transform=Transform(**fields)))


def split(layout: Layout, kind: Literal["row", "column", "grid"], boxes: list[tuple[int, int, int, int]]) -> Layout:
    """Return the layout with the second photo slot in pieces (left, top, width, height)."""
    item = b.element(layout, "photo-2")
    pieces = tuple(
        replace(
            item,
            id=f"photo-2.{n}",
            center=(x + w // 2, y + h // 2),
            size=(w, h),
            split=Split(kind, n, len(boxes)),
        )
        for n, (x, y, w, h) in enumerate(boxes)
    )
    at = layout.elements.index(item)
    return b.priced(replace(layout, elements=(*layout.elements[:at], *pieces, *layout.elements[at + 1 :])))
