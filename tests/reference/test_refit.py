"""The template refitted to other page sizes, against factors worked out by hand.

12×12 → 8.5×11 is everything ×8.5/12, → 5×7 ×5/12, → 4×6 ×4/12, 8.5×11 → 12×12 ×12/11: common practice, no source.
A4 is 210 × 297 mm (ISO 216).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from fitter import read_photos, read_template
from fitter.pages import SIDES, Page, parse_page_size
from fitter.reference import MEMBERS, Member, reference_layout
from fitter.starters import starter_names
from fitter.template import Element, Template
from fitter.words import given_count
from tests.proofs.fitting import INCH, fit, slot, sound, template

PLAIN = Member(0, False)
SIZES = ("8.5x11in", "5x7in", "4x6in", "a4", "12x12in")
FACTORS = {
    ("12x12in", "8.5x11in"): 8.5 / 12,
    ("12x12in", "5x7in"): 5 / 12,
    ("12x12in", "4x6in"): 4 / 12,
    ("12x12in", "a4"): 210_000 / 304_800,
    ("8.5x11in", "12x12in"): 12 / 11,
}


def page(size: str) -> Page:
    """Return a page of a size, with default bleed and margin."""
    name, trim = parse_page_size(size)
    return Page(name, trim)


def sample(size: str) -> Template:
    """Return a template with an inner margin of 1 in, which clears the safe box at every factor used here."""
    width, height = (side / INCH for side in parse_page_size(size)[1])
    return template(
        (width, height),
        slot("ground", -0.125, -0.125, width + 0.25, height + 0.25, "background", bleeds=SIDES),
        slot("photo-1", 1, 1, 4, 3),
        slot("photo-2", 5.25, 1, width - 6.25, 3),
        slot("card", 1, 4.5, 3, height - 5.5, "journaling"),
        Element("round", "photo", "ellipse", (int(5.5 * INCH), int(6 * INCH)), (2 * INCH, 2 * INCH)),
    )


@pytest.mark.parametrize(("drawn", "wanted"), list(FACTORS))
def test_everything_is_scaled_by_the_factor_worked_out_by_hand(drawn: str, wanted: str) -> None:
    """Sizes and distances are the drawing's times the factor, the block centred on the page."""
    made, factor, target = sample(drawn), FACTORS[drawn, wanted], page(wanted)
    reference = reference_layout(made, target, PLAIN)
    assert reference.transform.scale == pytest.approx(factor, abs=1e-8)
    spare = [(t - s * factor) / 2 for t, s in zip(target.trim, made.size, strict=True)]
    for element in made.elements:
        found = reference.element(element.id)
        if element.role == "background":
            assert found.box == target.bleed_box
            continue
        for axis in (0, 1):
            assert abs(found.size[axis] - element.size[axis] * factor) <= 1.01
            assert abs(found.center[axis] - element.center[axis] * factor - spare[axis]) <= 2


def test_a_twelve_inch_page_becomes_a_letter_page_by_hand() -> None:
    """A 4 × 3 in slot at (1, 1) of 12×12 becomes 2.8333 × 2.125 in at (0.7083, 1.9583) of 8.5×11."""
    found = reference_layout(sample("12x12in"), page("8.5x11in"), PLAIN).element("photo-1")
    assert [side / INCH for side in found.size] == pytest.approx([2.8333, 2.125], abs=1e-3)
    assert [side / INCH for side in found.box[:2]] == pytest.approx([0.7083, 1.9583], abs=1e-3)


def test_the_same_page_is_left_as_drawn() -> None:
    """Refitting to the drawn size changes nothing at all."""
    made = sample("12x12in")
    assert reference_layout(made, page("12x12in"), PLAIN).elements == made.elements


def test_the_smallest_side_is_scaled_along() -> None:
    """A slot of at least 2 in on 12×12 is one of at least 2/3 in on 4×6."""
    from fitter.template import Limits

    made = template((12, 12), slot("a", 2, 2, 4, 4, limits=Limits(smallest_side=2 * INCH)))
    found = reference_layout(made, page("4x6in"), PLAIN).element("a")
    assert found.limits.smallest_side == round(2 * INCH / 3)


def test_what_does_not_clear_the_safe_box_shrinks_further() -> None:
    """A slot 1/4 in from the edge of 12×12 ends on the safe line of 4×6, not at 1/12 in."""
    made = template((12, 12), slot("a", 0.25, 0.25, 11.5, 5), slot("b", 0.25, 5.5, 11.5, 6.25))
    target = page("4x6in")
    reference = reference_layout(made, target, PLAIN)
    safe = target.safe
    a = reference.element("a")
    assert 0 <= a.box[0] - safe[0] <= 8 and 0 <= safe[2] - a.box[2] <= 8
    assert reference.transform.scale == pytest.approx(3.5 / 11.5, abs=1e-3)


BAND = slot("band", -0.125, -0.125, 1.625, 12.25, "paper", bleeds=("left", "top", "bottom"))


@pytest.mark.parametrize("wanted", ["8.5x11in", "5x7in", "4x6in", "a4"])
def test_a_band_along_an_edge_keeps_its_thickness_and_spans_the_page(wanted: str) -> None:
    """A band 1 1/2 in wide inside the trim is as wide times the factor, from bleed line to bleed line."""
    target = page(wanted)
    made = template((12, 12), BAND, slot("photo-1", 3, 3, 6, 6))
    found = reference_layout(made, target, PLAIN).element("band")
    left, top, right, bottom = target.bleed_box
    assert left - 1 <= found.box[0] <= left and found.box[1] <= top and found.box[3] >= bottom
    assert abs(found.box[2] - 1.5 * INCH * target.trim[0] / (12 * INCH)) <= 2
    assert right > found.box[2]


def test_what_lies_on_a_band_goes_with_it() -> None:
    """An ornament carried by a band at the bottom edge stays in the band, though the block is centred."""
    band = slot("band", -0.125, 10.5, 12.25, 1.625, "paper", bleeds=("left", "right", "bottom"))
    bloom = slot("bloom", 1, 11, 0.5, 0.5, "embellishment", on="band", tie="carried")
    reference = reference_layout(template((12, 12), band, bloom), page("8.5x11in"), PLAIN)
    host, rider = reference.element("band"), reference.element("bloom")
    assert host.box[1] < rider.box[1] and rider.box[3] < host.box[3]
    assert 11 * INCH - host.box[1] == pytest.approx(1.5 * INCH * 8.5 / 12, abs=2)


def test_what_lies_on_a_band_stays_with_it_when_the_drawing_slides() -> None:
    """Slid by an inch the drawing's other things move by an inch; band and ornament do not."""
    bloom = slot("bloom", 0.25, 5, 0.5, 0.5, "embellishment", on="band", tie="carried")
    made = template((12, 12), BAND, bloom, slot("photo-1", 3, 3, 6, 6))
    still, slid = (reference_layout(made, page("8.5x11in"), PLAIN, step) for step in (0, INCH))
    for name in ("band", "bloom"):
        assert slid.element(name) == still.element(name)
    assert slid.element("photo-1").center[1] == still.element("photo-1").center[1] + INCH


@pytest.mark.parametrize("name", starter_names())
@pytest.mark.parametrize("size", SIZES)
def test_members_are_exact_flips_of_one_another(name: str, size: str) -> None:
    """Mirrored and half-turned pages are the same numbers counted from the other sides."""
    made, target = read_template(name), page(size)
    width, height = target.trim
    members = {m: {e.id: e for e in reference_layout(made, target, m).elements} for m in MEMBERS}
    for quarter in (0, 90):
        base = members[Member(quarter, False)]  # type: ignore[arg-type]
        across, down = (Member(quarter, True), Member(quarter + 180, True))  # type: ignore[arg-type]
        if quarter:
            across, down = down, across
        turned = Member(quarter + 180, False)  # type: ignore[arg-type]
        for key, e in base.items():
            x, y = e.center
            assert members[across][key].center == (width - x, y)
            assert members[down][key].center == (x, height - y)
            assert members[turned][key].center == (width - x, height - y)
            for other in (across, down, turned):
                assert members[other][key].size == e.size
                assert members[other][key].tilt == (e.tilt if other == turned else -e.tilt)


def points(element: Element) -> Iterator[tuple[float, float]]:
    """Yield vertices of a polygon, or points of an ellipse every tenth of a degree, tilted and placed."""
    w, h = element.size
    local: list[tuple[float, float]] = [(sx * w / 2, sy * h / 2) for sx in (-1, 1) for sy in (-1, 1)]
    if element.shape == "ellipse":
        turns = [math.radians(k / 10) for k in range(3600)]
        local = [(w / 2 * math.cos(t), h / 2 * math.sin(t)) for t in turns]
    elif element.shape == "path":
        local = [(float(x), float(y)) for x, y in element.outline]
    cos, sin = math.cos(math.radians(element.tilt)), math.sin(math.radians(element.tilt))
    for x, y in local:
        yield element.center[0] + x * cos - y * sin, element.center[1] + x * sin + y * cos


@pytest.mark.parametrize("name", starter_names())
def test_starters_obey_the_edge_rule_on_every_page_size_and_every_way_round(name: str) -> None:
    """R1, on all sizes and eight pages: bleeding sides pass the bleed line, all others end inside the safe box.

    Words carried by a band stay upright when the band is turned upright, and may then be wider than the band: such
    a page goes without the spot.
    """
    made = read_template(name)
    for size in SIZES:
        target = page(size)
        safe, line = target.safe, target.bleed_box
        for member in MEMBERS:
            for element in reference_layout(made, target, member).elements:
                if member.quarter and element.tie == "carried" and element.role in ("title", "journaling"):
                    continue
                xs, ys = zip(*points(element), strict=True)
                reach = {"left": -min(xs), "top": -min(ys), "right": max(xs), "bottom": max(ys)}
                for index, side in enumerate(("left", "top", "right", "bottom")):
                    sign = -1 if index < 2 else 1
                    where = f"{name} {size} {member} {element.id} {side}"
                    if side in element.bleeds:
                        assert reach[side] >= sign * line[index] - 3, where  # type: ignore[index]
                    else:
                        assert reach[side] <= sign * safe[index] + 3, where  # type: ignore[index]


PHOTOS = ("creek.jpg", "dandelions.jpg", "figs.jpg")


@pytest.mark.parametrize(("number", "name"), list(enumerate(starter_names())))
def test_starters_fit_other_page_sizes(number: int, name: str, demo_photos: Path) -> None:
    """From template to page on two sizes each: some page, all rules kept, costs as the checker finds them."""
    made = read_template(name)
    taken = read_photos([demo_photos / p for p in PHOTOS[: 2 if len(made.elements) > 8 else 1]])
    words = [given_count(30)] if any(e.role == "journaling" for e in made.elements) else []
    for size in (SIZES[number % 5], SIZES[(number + 2) % 5]):
        result = fit(made, taken, texts=words, page=page(size), effort=0.3, min_ppi=50)
        assert result.layouts, (name, size, result.reasons)
        sound(result.layouts[0])
