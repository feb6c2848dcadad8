"""What the checker says a cost of a page is, and bare pages of papers to say it of."""

from __future__ import annotations

from dataclasses import replace

from fitter.check import check_layout
from fitter.layout import Layout
from fitter.template import Element
from tests import builders as b

MM = 1_000


def cost(layout: Layout, name: str) -> int:
    """Return one term of a page's cost, in millionths."""
    return check_layout(layout).costs.terms[name]


def boxed(boxes: list[tuple[int, int, int, int]], frame: tuple[int, int], *dropped: int) -> Layout:
    """Return a page of papers at left, top, width and height, some of them dropped."""
    drawing = [
        Element(f"paper-{n}", "paper", "rect", (x + w // 2, y + h // 2), (w, h)) for n, (x, y, w, h) in enumerate(boxes)
    ]
    placed = tuple(b.place(e, fill=b.PALE) for n, e in enumerate(drawing) if n not in dropped)
    layout = b.tiny()
    return b.priced(
        replace(
            layout,
            page=replace(layout.page, trim=frame),
            template=replace(layout.template, size=frame),
            given=replace(layout.given, photos=(), texts=(), title=None),
            reference=tuple(drawing),
            elements=placed,
            dropped=tuple(f"paper-{n}" for n in dropped),
        )
    )
