"""Costs of photos and words: crop loss, resolution, emphasis, order, type, and what was left or waived."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations, pairwise

import shapely

from fitter.check.reading_order import out_of_order
from fitter.check.report import CostItem
from fitter.check.rules_given import effective_ppi
from fitter.check.rules_text import mean_line
from fitter.check.shapes import area_of, is_plain, shape_of, shared_area
from fitter.check.text_area import height_available
from fitter.check.view import View, decimal, round_half_up
from fitter.layout import Grid, Placed
from fitter.template import Point

Items = tuple[CostItem, ...]
MILLION = 1_000_000
TEXT_PT, TEXT_FILL, TEXT_MEASURE = 20_000, 20_000, 5_000
EMPHASIS, ORDER, LEFT_OUT, WAIVED = 20_000, 3_000, 300_000, 1_000_000


def cost_crop_loss(view: View) -> Items:
    """Charge a million times weight times the importance cut away, and the share of the rest that is covered."""
    made = []
    for item in view.photos:
        weight, kept = decimal(view.weight(item)), kept_share(view, item)
        amount = round_half_up(weight * MILLION * (1 - kept))
        amount += round_half_up(weight * MILLION * kept * covered_share(view, item))
        made.append(CostItem(item.id, amount))
    return tuple(made)


def cost_ppi(view: View) -> Items:
    """Linear through 0 at the target, 50,000 at two thirds and 200,000 at half of it, and on below."""
    target = Fraction(view.given.target_ppi)
    made = []
    for item in view.photos:
        assert item.photo is not None
        share = effective_ppi(item, item.photo) / target
        made.append(CostItem(item.id, _ppi_price(share)))
    return tuple(made)


def cost_text(view: View) -> Items:
    """Type sizes outside 10–12 pt, cards filled too little or too much, lines too short or long."""
    made = []
    for item in view.texts:
        text = item.text
        assert text is not None
        if item.role != "journaling":
            continue
        size = decimal(text.size_pt)
        amount = round_half_up(TEXT_PT * max(Fraction(0), 10 - size, size - 12))
        room = height_available(view, item)
        if not room * Fraction(60, 100) <= text.ink.size[1] <= room * Fraction(95, 100):
            amount += TEXT_FILL
        if not 45 <= mean_line(text.lines) <= 75:
            amount += TEXT_MEASURE
        made.append(CostItem(item.id, amount))
    return tuple(made)


def cost_emphasis(view: View) -> Items:
    """20,000 for each pair of which the photo of more weight has the smaller slot."""
    made = []
    for a, b in combinations(view.photos, 2):
        more = view.weight(a) - view.weight(b)
        larger = a.size[0] * a.size[1] - b.size[0] * b.size[1]
        if (more > 0 > larger) or (more < 0 < larger):
            made.append(CostItem(f"{a.id} + {b.id}", EMPHASIS))
    return tuple(made)


def cost_order(view: View) -> Items:
    """3,000 for each pair of photos read in the wrong order of time."""
    return tuple(CostItem(f"{a.id} + {b.id}", ORDER) for a, b in out_of_order(view))


def cost_left_out(view: View) -> Items:
    """300,000 for each given photo that is not placed."""
    shown = {item.photo.file for item in view.photos if item.photo}
    return tuple(CostItem(file, LEFT_OUT) for file in view.given_photos if file not in shown)


def cost_waived(view: View) -> Items:
    """1,000,000 for each waiver."""
    return tuple(CostItem(waiver.element, WAIVED) for waiver in view.layout.waived)


def kept_share(view: View, item: Placed) -> Fraction:
    """Return the share of a picture's importance that its crop and the trim leave."""
    assert item.photo is not None
    shown: tuple[Fraction, ...] = tuple(map(Fraction, item.photo.crop))
    if not item.tilt:
        x0, y0, x1, y1 = item.box
        inside = max(0, x0), max(0, y0), min(view.page.trim[0], x1), min(view.page.trim[1], y1)
        shown = _pixels_of(item, inside)
    return importance_in(view.importance(item), item.photo.pixels, shown)


def importance_in(grid: Grid, pixels: Point, box: Sequence[Fraction | int]) -> Fraction:
    """Return the share of a picture's importance inside a box of pixels: the sum over the cells of the overlaps.

    Examples
    --------
    >>> importance_in(((1, 0), (0, 1)), (100, 100), (0, 0, 75, 50))
    Fraction(1, 2)
    """
    across = _overlaps(pixels[0], len(grid[0]), box[0], box[2])
    down = _overlaps(pixels[1], len(grid), box[1], box[3])
    cells = len(grid) * len(grid[0])
    rows = (
        high * sum(value * wide for value, wide in zip(row, across, strict=True) if wide)
        for row, high in zip(grid, down, strict=True)
        if high
    )
    return Fraction(sum(rows) * cells, sum(map(sum, grid)) * pixels[0] * pixels[1])


def _overlaps(side: int, count: int, low: Fraction | int, high: Fraction | int) -> list[Fraction]:
    """Return how much of each of some equal cells along a side lies between two places."""
    edges = [Fraction(i * side, count) for i in range(count + 1)]
    return [max(Fraction(0), min(b, Fraction(high)) - max(a, Fraction(low))) for a, b in pairwise(edges)]


def covered_share(view: View, item: Placed) -> Fraction:
    """Return the share of the importance in a photo's slot that lies under others beyond the reference, at most 1."""
    over = view.above(item)
    inside = importance_under(view, item, item)
    total = Fraction(0)
    for other in over:
        elsewhere = other.source is None and other.on not in (None, item.id)
        if elsewhere or _is_own(view, other, item) or _has_mat_in(view, other, over) or not inside:
            continue
        now = shared_area(item, other) / area_of(item)
        if now:
            beyond = max(Fraction(0), 1 - reference_cover(view, item, other) / now)
            total += beyond * importance_under(view, item, other) / inside
    return min(Fraction(1), total)


def importance_under(view: View, item: Placed, other: Placed) -> Fraction:
    """Return the importance of a photo where another element (or itself) lies on its slot, as a share of the whole."""
    assert item.photo is not None
    grid, pixels = view.importance(item), item.photo.pixels
    if is_plain(item) and is_plain(other):
        x0, y0, x1, y1 = item.box
        a0, b0, a1, b1 = other.box
        common = max(x0, a0), max(y0, b0), min(x1, a1), min(y1, b1)
        if common[0] >= common[2] or common[1] >= common[3]:
            return Fraction(0)
        return importance_in(grid, pixels, _pixels_of(item, common))
    shape = shape_of(item).intersection(shape_of(other))
    level = shapely.affinity.rotate(shape, -item.tilt, origin=item.center)
    (width, height), (x0, y0, x1, y1) = pixels, item.photo.crop
    across, down = len(grid[0]) / width, len(grid) / height
    wide, high = across * (x1 - x0) / item.size[0], down * (y1 - y0) / item.size[1]
    moves = across * x0 - item.box[0] * wide, down * y0 - item.box[1] * high
    placed = shapely.affinity.affine_transform(level, [wide, 0, 0, high, *moves])
    total = 0.0
    for row, values in enumerate(grid):
        strip = shapely.clip_by_rect(placed, 0, row, len(values), row + 1)
        for column, value in enumerate(values):
            if value and not strip.is_empty:
                total += value * shapely.clip_by_rect(strip, column, row, column + 1, row + 1).area
    return Fraction(total) / sum(map(sum, grid))


def _pixels_of(item: Placed, box: tuple[int, int, int, int]) -> tuple[Fraction, ...]:
    """Return where a box of the page lies in the picture of an upright slot, in pixels."""
    assert item.photo is not None
    edges = []
    for number, edge in enumerate(box):
        axis = number % 2
        near, far = item.photo.crop[axis], item.photo.crop[axis + 2]
        edges.append(near + Fraction((far - near) * (edge - item.box[axis]), item.size[axis]))
    return tuple(edges)


def reference_cover(view: View, item: Placed, other: Placed) -> Fraction:
    """Return the share of a photo's slot that the same other element covers in the reference.

    0 unless the slot was drawn for a photo, and the other element was drawn, above it.
    """
    origin, cover = view.origin(item), view.origin(other)
    if origin is None or cover is None or origin.role != "photo":
        return Fraction(0)
    if view.stacking[cover.id] <= view.stacking[origin.id]:
        return Fraction(0)
    return shared_area(origin, cover) / area_of(origin)


def _is_own(view: View, other: Placed, item: Placed) -> bool:
    """Whether the other element is a mat or carried one drawn on the photo's own slot."""
    origin = view.origin(other)
    return origin is not None and origin.tie in ("mat", "carried") and origin.on == item.source


def _has_mat_in(view: View, other: Placed, over: tuple[Placed, ...]) -> bool:
    """Whether a mat of this slot is among those above, so that only the mat counts."""
    if other.source is None:
        return False
    origins = (view.origin(o) for o in over)
    return any(o is not None and o.tie == "mat" and o.on == other.source for o in origins)


def _ppi_price(share: Fraction) -> int:
    if share >= 1:
        return 0
    if share >= Fraction(2, 3):
        return round_half_up(50_000 * (1 - share) * 3)
    return round_half_up(50_000 + 150_000 * (Fraction(2, 3) - share) * 6)
