"""Rules on what was given and how it is shown: R4 given, R6 true, R8 limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from fitter.check.copies import false_copies, too_many_copies
from fitter.check.report import Violation, by, millimetres
from fitter.check.rules_text import mean_line
from fitter.check.shapes import TOLERANCE, shared_area
from fitter.check.switched_off import switched_off
from fitter.check.view import View, decimal, is_text
from fitter.layout import Placed, PlacedPhoto
from fitter.template import Element
from fitter.units import INCH, format_length

STEEPEST_PHOTO = 45
JOURNALING_PT = (8.0, 14.0)
TITLE_PT = (24.0, 96.0)
MEASURE = (22, 80)
SMALLEST_PHOTO = INCH


def rule_given(view: View) -> tuple[Violation, ...]:
    """R4: every given photo is there once, or left out with leave; all words and the title are set."""
    return (
        *_photos_once(view),
        *_left_out(view),
        *_all_words(view),
        *_slots_filled(view),
        *_dropped_list(view),
    )


def rule_true(view: View) -> tuple[Violation, ...]:
    """R6: nothing is distorted, turned over or stacked otherwise."""
    found: list[Violation] = []
    for item in view.elements:
        if item.photo is not None:
            found.extend(_true_crop(item, item.photo))
        found.extend(_upright(view, item))
        found.extend(_proportions(view, item))
    found.extend(_restacked(view))
    found.extend(false_copies(view))
    return tuple(found)


def rule_limits(view: View) -> tuple[Violation, ...]:
    """R8: the template's limits, type sizes, measure, resolution, the smallest photo, freedoms switched off."""
    found: list[Violation] = []
    for item in view.elements:
        origin = view.origin(item)
        if origin is not None:
            found.extend(_template_limits(view, item, origin))
        found.extend(_type(item))
        found.extend(_resolution(view, item))
        found.extend(_photo_size(view, item, origin))
    for element in view.layout.reference:
        if element.limits.fixed and element.id in view.dropped:
            found.append(
                Violation("R8", element.id, f"{element.id} is fixed in the template, but is not on the page")
            )
    found.extend(too_many_copies(view))
    found.extend(switched_off(view))
    return tuple(found)


def effective_ppi(item: Placed, photo: PlacedPhoto) -> Fraction:
    """Return pixels per inch on the page, the smaller of both directions, not rounded."""
    left, top, right, bottom = photo.crop
    return min(Fraction((right - left) * INCH, item.size[0]), Fraction((bottom - top) * INCH, item.size[1]))


def _photos_once(view: View) -> Iterator[Violation]:
    shown = Counter(item.photo.file for item in view.photos if item.photo)
    for file, times in shown.items():
        if file not in view.given_photos:
            yield Violation("R4", file, f"photo {file} is on the page but was not given")
        elif times > 1:
            yield Violation("R4", file, f"photo {file} is on the page {times} times instead of once")
    for item in view.photos:
        photo = item.photo
        given = view.given_photos.get(photo.file) if photo else None
        if photo and given and (photo.sha256, photo.pixels) != (given.sha256, given.pixels):
            yield Violation(
                "R4",
                item.id,
                f"{item.id} shows another version of {photo.file} than was given",
                other=photo.file,
            )
    for file in view.given_photos:
        if file not in shown and file not in view.layout.left_out:
            yield Violation("R4", file, f"photo {file} was given but is not on the page")


def _left_out(view: View) -> Iterator[Violation]:
    shown = {item.photo.file for item in view.photos if item.photo}
    for file in view.layout.left_out:
        if file in shown or file not in view.given_photos:
            yield Violation(
                "R4", file, f"photo {file} is listed as left out, but was not given or is on the page"
            )
    missing = [file for file in view.given_photos if file not in shown]
    if len(missing) > view.given.leave_out and set(missing) <= set(view.layout.left_out):
        yield Violation(
            "R4",
            missing[-1],
            f"{len(missing)} photos are left out ({', '.join(missing)}); {view.given.leave_out} may be",
        )


def _all_words(view: View) -> Iterator[Violation]:
    holders = Counter(item.text.which for item in view.texts if item.text)
    for n in range(len(view.given.texts)):
        if f"text-{n + 1}" not in holders:
            yield Violation("R4", f"text-{n + 1}", f"text-{n + 1} was given but is not on the page")
    if view.given.title is not None and holders["title"] != 1:
        yield Violation("R4", "title", f"the title is on the page {holders['title']} times instead of once")


def _slots_filled(view: View) -> Iterator[Violation]:
    for item in view.elements:
        if (item.role == "photo") != (item.photo is not None):
            state = "has no photo" if item.photo is None else f"is a {item.role} and holds a photo"
            yield Violation("R4", item.id, f"{item.id} {state}")
        if is_text(item) != (item.text is not None):
            state = (
                f"is for {item.role} but holds no words"
                if item.text is None
                else "holds words without a text role"
            )
            yield Violation("R4", item.id, f"{item.id} {state}")


def _dropped_list(view: View) -> Iterator[Violation]:
    for name in sorted(view.dropped ^ set(view.layout.dropped)):
        state = (
            "is not on the page, nor listed as dropped"
            if name in view.dropped
            else "is listed as dropped but is on the page"
        )
        yield Violation("R4", name, f"{name} {state}")


def _true_crop(item: Placed, photo: PlacedPhoto) -> Iterator[Violation]:
    left, top, right, bottom = photo.crop
    if not (0 <= left < right <= photo.pixels[0] and 0 <= top < bottom <= photo.pixels[1]):
        yield Violation("R6", item.id, f"{item.id} shows a window that is not inside {photo.file}")
        return
    (w, h), across, down = item.size, right - left, bottom - top
    # Both sides of the crop may each be a pixel off the slot's aspect.
    if abs(across * h - down * w) > w + h:
        want = down * w / h
        yield Violation(
            "R6",
            item.id,
            f"{item.id} distorts {photo.file}: its crop is {across} px wide instead of {want:.0f} px",
            share=abs(across - want) / want,
        )


def _upright(view: View, item: Placed) -> Iterator[Violation]:
    origin = view.origin(item)
    wanted = origin.tilt if origin is not None else 0.0
    if abs(item.tilt - wanted) > 1e-6:
        yield Violation("R6", item.id, f"{item.id} is tilted by {item.tilt:g}°, its slot by {wanted:g}°")
    elif item.photo is not None and abs(item.tilt) > STEEPEST_PHOTO:
        yield Violation(
            "R6", item.id, f"{item.id} tilts a photo by {item.tilt:g}°; it would not stand upright"
        )


def _proportions(view: View, item: Placed) -> Iterator[Violation]:
    origin = view.origin(item)
    if origin is None:
        return
    if item.shape != origin.shape:
        yield Violation("R6", item.id, f"{item.id} is a {item.shape}, its slot a {origin.shape}")
        return
    rigid = origin.shape != "rect" or "embellishment" in (item.role, origin.role)
    (w, h), (w0, h0) = item.size, origin.size
    # A mat keeps its border instead, which R7 watches.
    off = abs(Fraction(w * h0 - h * w0, w0 + h0)) if rigid and origin.tie != "mat" else Fraction(0)
    if off > TOLERANCE:
        yield Violation(
            "R6",
            item.id,
            f"{item.id} is {w}×{h} µm, out of its proportions of {w0}×{h0}",
            amount_um=by(off),
        )
        return
    if origin.shape == "path" and not _same_outline(item, origin):
        yield Violation("R6", item.id, f"{item.id} has another outline than its slot")


def _same_outline(item: Placed, origin: Element) -> bool:
    across, down = Fraction(item.size[0], origin.size[0]), Fraction(item.size[1], origin.size[1])
    return len(item.outline) == len(origin.outline) and all(
        abs(x - x0 * across) <= TOLERANCE and abs(y - y0 * down) <= TOLERANCE
        for (x, y), (x0, y0) in zip(item.outline, origin.outline, strict=True)
    )


def _restacked(view: View) -> Iterator[Violation]:
    """Find what lies above something that lies above it in the reference; what it hides is named first."""
    below: list[Placed] = []
    for item in view.elements:
        if item.source is None:
            continue
        place = view.stacking[item.source]
        passed = [o for o in below if o.source is not None and view.stacking[o.source] > place]
        if passed:
            other = next((o for o in passed if shared_area(o, item) > 0), passed[0])
            told = f"{item.id} lies above {other.id}, which lies above it in the template"
            yield Violation("R6", item.id, told, other=other.id)
        below.append(item)


def _template_limits(view: View, item: Placed, origin: Element) -> Iterator[Violation]:
    limits = origin.limits
    if limits.may_be is not None and item.role != origin.role and item.role not in limits.may_be:
        yield Violation(
            "R8",
            item.id,
            f"{item.id} became {item.role}; its slot may be {', '.join(limits.may_be) or 'nothing else'}",
        )
    if limits.fixed:
        moved = max(
            abs(a - b)
            for a, b in zip((*item.center, *item.size), (*origin.center, *origin.size), strict=True)
        )
        if moved > 0 or item.role != origin.role or item.turned or view.is_split(origin.id):
            yield Violation(
                "R8",
                item.id,
                f"{item.id} is fixed in the template and was changed"
                + (f" (by {millimetres(moved)})" if moved else ""),
                amount_um=moved or None,
            )
    short = limits.smallest_side - min(item.size)
    if short > TOLERANCE:
        yield Violation(
            "R8",
            item.id,
            f"{item.id} is {millimetres(short)} under its least side, {format_length(limits.smallest_side)}",
            amount_um=short,
        )


def _type(item: Placed) -> Iterator[Violation]:
    text = item.text
    if text is None:
        return
    title = text.which == "title"
    low, high = TITLE_PT if title else JOURNALING_PT
    if not low <= text.size_pt <= high:
        kind = "a title" if title else "journaling"
        yield Violation(
            "R8", item.id, f"{item.id} sets {text.size_pt:g} pt; {kind} may have {low:g} to {high:g} pt"
        )
    mean = mean_line(text.lines)
    too_short = mean < MEASURE[0] and len(text.lines) > 1
    if not title and (too_short or mean > MEASURE[1]):
        yield Violation(
            "R8",
            item.id,
            f"{item.id} has {float(mean):.1f} characters a line; {MEASURE[0]} to {MEASURE[1]} are allowed",
        )


def _resolution(view: View, item: Placed) -> Iterator[Violation]:
    photo = item.photo
    if photo is None:
        return
    effective = effective_ppi(item, photo)
    if effective < view.given.min_ppi:
        yield Violation(
            "R8",
            item.id,
            f"{item.id} prints {photo.file} at {int(effective)} ppi; the least is {view.given.min_ppi}",
            other=photo.file,
            waivable=True,
        )
    if photo.ppi != int(effective):
        yield Violation(
            "R8",
            item.id,
            f"{item.id} states {photo.ppi} ppi; its crop and size give {int(effective)}",
            other=photo.file,
        )


def _photo_size(view: View, item: Placed, origin: Element | None) -> Iterator[Violation]:
    """Find photo slots under an inch that the template does not draw so small; a refit is no excuse."""
    short = SMALLEST_PHOTO - min(item.size)
    if item.photo is None or short <= TOLERANCE or (origin is not None and _drawn_small(view, origin)):
        return
    yield Violation("R8", item.id, f"{item.id} is a photo slot {millimetres(short)} under 1 in", amount_um=short)


def _drawn_small(view: View, origin: Element) -> bool:
    """Whether a photo slot is under an inch in the template; refitted sizes are rounded by up to 2 µm."""
    return origin.role == "photo" and min(origin.size) + 2 < SMALLEST_PHOTO * decimal(view.layout.transform.scale)
