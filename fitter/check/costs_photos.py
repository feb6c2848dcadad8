"""Costs of photos and words: crop loss, resolution, emphasis, order, type, and what was left or waived."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

from fitter.check.report import CostItem
from fitter.check.rules_given import effective_ppi
from fitter.check.rules_text import height_available, mean_line, reading_key
from fitter.check.shapes import area_of, box_overlap, shared_area
from fitter.check.view import View, decimal, round_half_up
from fitter.layout import Placed

Items = tuple[CostItem, ...]
MILLION = 1_000_000
TEXT_PT, TEXT_FILL, TEXT_MEASURE = 20_000, 20_000, 5_000
EMPHASIS, ORDER, LEFT_OUT, WAIVED = 20_000, 3_000, 300_000, 1_000_000


def cost_crop_loss(view: View) -> Items:
    """Charge a million times weight times the share cut away, and the share of the rest that is covered."""
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
    made = []
    for a, b in combinations(view.photos, 2):
        if a.source is not None and a.source == b.source:
            continue
        time = _order(view, a) - _order(view, b)
        one, other = reading_key(view, a), reading_key(view, b)
        if (time < 0 and one > other) or (time > 0 and one < other):
            made.append(CostItem(f"{a.id} + {b.id}", ORDER))
    return tuple(made)


def cost_left_out(view: View) -> Items:
    """300,000 for each given photo that is not placed."""
    shown = {item.photo.file for item in view.photos if item.photo}
    return tuple(CostItem(file, LEFT_OUT) for file in view.given_photos if file not in shown)


def cost_waived(view: View) -> Items:
    """1,000,000 for each waiver."""
    return tuple(CostItem(waiver.element, WAIVED) for waiver in view.layout.waived)


def kept_share(view: View, item: Placed) -> Fraction:
    """Return the share of a picture that its crop and the trim leave."""
    assert item.photo is not None
    left, top, right, bottom = item.photo.crop
    width, height = item.photo.pixels
    cropped = Fraction((right - left) * (bottom - top), width * height)
    if item.tilt:
        return cropped
    inside = box_overlap(item.box, (0, 0, *view.page.trim))
    return cropped * Fraction(inside, item.size[0] * item.size[1])


def covered_share(view: View, item: Placed) -> Fraction:
    """Return the share of a photo's slot that lies under others beyond the reference, at most 1."""
    over = view.above(item)
    total = Fraction(0)
    for other in over:
        elsewhere = other.source is None and other.on not in (None, item.id)
        if not (elsewhere or _is_own(view, other, item) or _has_mat_in(view, other, over)):
            total += max(
                Fraction(0), shared_area(item, other) / area_of(item) - reference_cover(view, item, other)
            )
    return min(Fraction(1), total)


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


def _order(view: View, item: Placed) -> int:
    photo = view.given_photos.get(item.photo.file) if item.photo else None
    return photo.order if photo else 0
