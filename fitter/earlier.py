"""What a page has in each slot of its template, as plain data: the page another one starts from."""

from __future__ import annotations

from fitter.layout import Before, Layout, Placed, Shown, Start


def start_of(layout: Layout) -> Start:
    """Return a page as another one may start from it."""
    turn = layout.transform
    names = [e.id for e in layout.reference if e.role != "background" and e.tie != "mat"]
    added = tuple(Shown(e.photo.sha256, e.size) for e in layout.elements if e.source is None and e.photo is not None)
    return Start(turn.rotate, turn.mirror, layout.page.trim, tuple(slot_of(layout, name) for name in names), added)


def slot_of(layout: Layout, slot: str) -> Before:
    """Return what a page has in a slot of its template."""
    pieces = [e for e in layout.elements if e.source == slot]
    if not pieces:
        return Before(slot, None)
    pieces.sort(key=lambda e: e.split.index if e.split is not None else 0)
    left, top = (min(e.box[a] for e in pieces) for a in (0, 1))
    right, bottom = (max(e.box[a] for e in pieces) for a in (2, 3))
    first = pieces[0]
    return Before(
        slot=slot,
        role=first.role,
        center=((left + right) // 2, (top + bottom) // 2),
        size=(right - left, bottom - top),
        photos=tuple(Shown(e.photo.sha256, e.size) for e in pieces if e.photo is not None),
        division=None if first.split is None else first.split.kind,
        turned=first.turned,
        words=tuple(e.text.which for e in layout.elements if e.text is not None and _is_on(e, pieces)),
    )


def same_content(one: Before, other: Before) -> bool:
    """Whether two pages have the same in a slot: its role, division, photos in their order, and words."""
    return (one.role, one.division, one.words, [p.sha256 for p in one.photos]) == (
        other.role,
        other.division,
        other.words,
        [p.sha256 for p in other.photos],
    )


def _is_on(item: Placed, pieces: list[Placed]) -> bool:
    """Whether words are in a slot, or on a panel on its photo."""
    return item in pieces or (item.source is None and item.on in {piece.id for piece in pieces})
