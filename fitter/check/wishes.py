"""R9 wishes, what was wished for single photos and slots; and the cost ``departure`` from the page started from."""

from __future__ import annotations

from collections.abc import Iterator

from fitter.check.report import CostItem, Violation
from fitter.check.view import View
from fitter.earlier import same_content, slot_of
from fitter.layout import Before, Start

DEPARTURE, DEPARTURE_SIZE = 60_000, 30_000


def rule_wishes(view: View) -> tuple[Violation, ...]:
    """R9: what was wished for single photos and slots holds."""
    wishes = view.given.wishes
    found = [
        *_pinned(view, wishes.pins),
        *_avoided(view, wishes.avoid),
        *_sized(view, wishes.bigger, bigger=True),
        *_sized(view, wishes.smaller, bigger=False),
    ]
    if wishes.stay:
        found += _stayed(view, wishes.stay, wishes.start)
    return tuple(found)


def cost_departure(view: View) -> tuple[CostItem, ...]:
    """60,000 for each block with other content than on the page started from, 30,000 for the same in another size.

    And 60,000 for a page that is turned or mirrored otherwise.
    """
    start = view.given.wishes.start
    if start is None:
        return ()
    made = [] if _is_turned_alike(view, start) else [CostItem("page", DEPARTURE)]
    earlier = {before.slot: before for before in start.slots}
    for block in view.blocks:
        before = earlier.get(block.id)
        if before is None:
            continue
        now = slot_of(view.layout, block.id)
        if not same_content(before, now):
            made.append(CostItem(block.id, DEPARTURE))
        elif now.role is not None and now.size != before.size:
            made.append(CostItem(block.id, DEPARTURE_SIZE))
    return tuple(made)


def _is_turned_alike(view: View, start: Start) -> bool:
    turn = view.layout.transform
    return (turn.rotate, turn.mirror) == (start.rotate, start.mirror)


def _pinned(view: View, pins: tuple[tuple[str, str], ...]) -> Iterator[Violation]:
    for file, slot in pins:
        if all(item.photo is None or item.photo.file != file for item in view.pieces.get(slot, ())):
            yield Violation("R9", slot, f"{file} was to stand in {slot}, but does not", other=file)


def _stayed(view: View, slots: tuple[str, ...], start: Start | None) -> Iterator[Violation]:
    if start is None:
        yield Violation("R9", slots[0], f"{slots[0]} was to stay as it was, but the page it was on is not recorded")
        return
    if not _is_turned_alike(view, start):
        yield Violation("R9", "page", f"{slots[0]} was to stay as it was, but the page is turned or mirrored otherwise")
    earlier = {before.slot: before for before in start.slots}
    for slot in slots:
        before, now = earlier.get(slot, Before(slot, None)), slot_of(view.layout, slot)
        moved = now.role is not None and (now.center, now.size, now.turned) != (
            before.center,
            before.size,
            before.turned,
        )
        if moved or not same_content(before, now):
            what = "place or size" if same_content(before, now) else "content"
            yield Violation("R9", slot, f"{slot} was to stay as it was, but its {what} is another")


def _avoided(view: View, slots: tuple[str, ...]) -> Iterator[Violation]:
    for slot in slots:
        now = slot_of(view.layout, slot)
        if now.photos or now.words:
            yield Violation("R9", slot, f"{slot} was to hold neither photo nor words, but does")


def _sized(view: View, files: tuple[str, ...], *, bigger: bool) -> Iterator[Violation]:
    word = "bigger" if bigger else "smaller"
    start = view.given.wishes.start
    for file in files:
        given = view.given_photos.get(file)
        item = next((i for i in view.photos if i.photo is not None and i.photo.file == file), None)
        before = None if given is None or start is None else start.area(given.sha256)
        if before is None:
            yield Violation("R9", file, f"{file} was to become {word}, but its size before is not recorded")
        elif item is None:
            yield Violation("R9", file, f"{file} was to become {word}, but is not on the page")
        else:
            area = item.size[0] * item.size[1]
            if (10 * area < 11 * before) if bigger else (10 * area > 9 * before):
                share = 100 * (area - before) / before
                told = f"{file} in {item.id} was to become at least 10 % {word}; it is {share:+.1f} %"
                yield Violation("R9", item.id, told, other=file)
