"""Planted faults: for every clause of every rule a page that breaks just that rule, and is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import Violation, check_layout
from fitter.earlier import start_of
from fitter.errors import InputError
from fitter.layout import Copy, Fill, GivenPhoto, Layout, Repeat, SetText, Split, Transform, Waiver, Wishes
from fitter.template import Element, Limits
from tests import builders as b


def broken(layout: Layout, rule: str) -> tuple[Violation, ...]:
    """Return the violations of a rule, having made sure that it is the only one broken."""
    report = check_layout(layout)
    assert [r.rule for r in report.rules if r.status != "pass"] == [rule], report.lines()
    assert not report.rules_hold
    assert not report.ok
    assert check_layout(layout, without=frozenset({rule})).ok, "switched off, the rule breaks nothing"
    return next(r.violations for r in report.rules if r.rule == rule)


def one(layout: Layout, rule: str) -> Violation:
    """Return the only violation there is."""
    found = broken(layout, rule)
    assert len(found) == 1, [v.message for v in found]
    assert found[0].element in found[0].message
    return found[0]


def holds(layout: Layout) -> bool:
    return check_layout(layout).ok


@pytest.fixture
def page() -> Layout:
    return b.tiny()


def text_of(layout: Layout, name: str = "card") -> SetText:
    text = b.element(layout, name).text
    assert text is not None
    return text


def test_the_page_to_start_from_obeys_every_rule(page: Layout) -> None:
    """Without a fault nothing is reported."""
    assert holds(page)


# R1 edge


def test_edge_past_the_safe_line(page: Layout) -> None:
    """An element that does not bleed reaches 3.65 mm past the safe line on the right."""
    found = one(b.move(page, "photo-2", dx=10_000), "R1")
    assert (found.element, found.side, found.amount_um) == ("photo-2", "right", 139_700 + 10_000 - 146_050)


def test_edge_past_the_gutter(page: Layout) -> None:
    """A gutter of 3/4 in pushes the safe line on the left; everything at 1/2 in breaks it by 1/4 in."""
    bound = b.priced(replace(page, page=replace(page.page, gutter={"left": 19_050})))
    found = {v.element: v.amount_um for v in broken(bound, "R1")}
    assert found["photo-1"] == 6_350
    assert found["ribbon-1"] == 12_700
    assert "photo-2" not in found


def test_edge_short_of_the_bleed_line(page: Layout) -> None:
    """The background ends 1 mm before the bleed line on the right."""
    short = b.change(page, "bg", center=(75_700, 76_200), size=(157_750, 158_750))
    found = one(short, "R1")
    assert (found.element, found.side, found.amount_um) == ("bg", "right", 1_000)


def test_edge_of_an_ellipse_is_its_real_shape(page: Layout) -> None:
    """A circle may poke its box's corner anywhere, but its own edge must be safe."""
    fine = b.both(page, "bloom", shape="ellipse")
    assert holds(fine)
    assert one(b.move(fine, "bloom", dx=4_000), "R1").amount_um == pytest.approx(4_000 - 0, abs=2)


def test_edge_corner_between_the_lines(page: Layout) -> None:
    """A tilted bleeding paper leaves one corner between bleed line and safe line."""
    tilted = Element("band", "paper", "rect", (5_000, 120_000), (20_000, 8_000), tilt=20.0, bleeds=("left",))
    layout = b.insert(page, tilted, b.place(tilted, fill=b.PALE), 1)
    found = one(layout, "R1")
    assert (found.element, found.side) == ("band", "left")
    # By hand: the corners are at x = 5000 ± 10000·cos 20° ± 4000·sin 20°, so −3029 and −5765 on the left.
    assert found.amount_um == pytest.approx(3_175 - 3_029, abs=2)


def test_edge_bleeding_side_of_its_own_making(page: Layout) -> None:
    """An element says it bleeds where its slot in the template does not."""
    found = one(b.change(page, "paper-1", bleeds=("left",)), "R1")
    assert (found.element, found.side) == ("paper-1", "left")


def test_edge_text_never_bleeds(page: Layout) -> None:
    """Words stand in a slot that bleeds in the template."""
    layout = b.both(page, "title", bleeds=("bottom",))
    found = one(layout, "R1")
    assert (found.element, found.side) == ("title", "bottom")
    assert "text never bleeds" in found.message
    assert holds(b.change(layout, "title", bleeds=()))


def test_edge_pieces_of_a_bleeding_slot_share_its_sides(page: Layout) -> None:
    """Each piece bleeds on its own side; a side on which none bleeds is a fault."""
    halves = [
        replace(
            b.element(page, "bg"),
            id=f"bg.{n}",
            center=(x, 76_200),
            size=(79_376, 158_750),
            split=Split("row", n, 2),
            bleeds=s,
        )
        for n, (x, s) in enumerate(
            [(36_513, ("left", "top", "bottom")), (115_887, ("right", "top", "bottom"))]
        )
    ]
    pieces = b.priced(replace(page, elements=(*halves, *page.elements[1:])))
    assert holds(pieces)
    missing = b.change(pieces, "bg.1", bleeds=("top", "bottom"))
    assert {v.side for v in broken(missing, "R1")} == {"right"}


# R2 text


def test_text_tilted_on_a_level_card(page: Layout) -> None:
    """Words run at 3° on a card without tilt."""
    found = broken(b.change(page, "card", text=replace(text_of(page), tilt=3.0)), "R2")
    assert "3°" in found[0].message


def test_text_follows_a_steep_card(page: Layout) -> None:
    """On a card tilted by 20° words run level; here they follow it."""
    small = b.journaling("Biscuit swam first.", (111_125, 98_425), (40_000, 40_000))
    layout = b.both(
        b.give(page, texts=(replace(page.given.texts[0], text="Biscuit swam first."),)),
        "card",
        tilt=20.0,
        size=(40_000, 40_000),
    )
    layout = b.change(layout, "card", text=small)
    assert holds(layout)
    assert one(b.change(layout, "card", text=replace(small, tilt=20.0)), "R2").element == "card"


def test_text_too_near_the_edge(page: Layout) -> None:
    """The ink is moved 2 mm left, nearer to the card's edge than 1/8 in."""
    text = text_of(page)
    x, y = text.ink.center
    room = (57_150 - text.ink.size[0]) // 2 - 3_175
    found = one(
        b.change(page, "card", text=replace(text, ink=replace(text.ink, center=(x - room - 2_000, y)))), "R2"
    )
    assert (found.element, found.amount_um) == ("card", 2_000)


def test_text_inside_a_circle_means_the_circle(page: Layout) -> None:
    """Ink that fills the box of a round card sticks out of the circle."""
    layout = b.both(page, "card", shape="ellipse")
    assert one(layout, "R2").element == "card"


def test_text_under_a_ribbon(page: Layout) -> None:
    """A ribbon lies across the words; over the rest of the card it may lie."""
    layout = b.change(page, "ribbon-1", center=(111_125, 98_425))
    found = one(layout, "R2")
    assert (found.element, found.other, found.amount_um) == ("card", "ribbon-1", 12_700)
    assert holds(b.change(page, "ribbon-1", center=(111_125, 66_000)))


def test_text_of_too_little_contrast(page: Layout) -> None:
    """#777777 on white has 4.48:1, just under 4.5:1 (published WCAG example); #767676 has 4.54:1."""
    found = one(b.change(page, "card", text=replace(text_of(page), color="#777777")), "R2")
    assert "4.48:1" in found.message
    assert holds(b.change(page, "card", text=replace(text_of(page), color="#767676")))


def on_a_photo(page: Layout) -> Layout:
    """Return the page with the card bare and the second photo under it, in the reference as well."""
    return b.change(b.both(page, "photo-2", center=(111_125, 98_425)), "card", fill=None)


def test_text_directly_on_a_photo(page: Layout) -> None:
    """Words without a panel stand on a photo; with a flat fill between, they may."""
    found = one(on_a_photo(page), "R2")
    assert (found.element, found.other) == ("card", "photo-2")
    assert holds(b.change(on_a_photo(page), "card", fill=b.WHITE))


def test_text_on_an_ornament(page: Layout) -> None:
    """Words stand on a fill that is an ornament."""
    found = one(b.change(page, "card", fill=Fill("motif", "#ffffff", "#dddddd", "leaves")), "R2")
    assert "ornament" in found.message


def test_text_dark_on_the_ground_below(page: Layout) -> None:
    """A title without fill is judged on what it lies on: here a dark background."""
    found = one(b.change(page, "bg", fill=Fill("flat", "#303030")), "R2")
    assert (found.element, found.other) == ("title", "bg")


def test_text_cut_short(page: Layout) -> None:
    """The last line of the words is not set."""
    text = text_of(page)
    found = one(b.change(page, "card", text=replace(text, lines=text.lines[:-1])), "R2")
    assert "words instead of" in found.message


def test_text_lines_in_another_order(page: Layout) -> None:
    """Two lines are swapped."""
    text = text_of(page)
    lines = (text.lines[1], text.lines[0], *text.lines[2:])
    found = broken(b.change(page, "card", text=replace(text, lines=lines)), "R2")
    assert any("differing from word 1" in v.message for v in found)


def test_text_with_a_word_broken_over_lines(page: Layout) -> None:
    """Half a word on the next line is not the given word."""
    text = text_of(page)
    lines = (text.lines[0][:-1], text.lines[0][-1] + " " + text.lines[1][:-9], *text.lines[2:])
    assert broken(b.change(page, "card", text=replace(text, lines=lines)), "R2")


def test_text_states_too_small_an_ink_box(page: Layout) -> None:
    """The ink box is 2 mm narrower than the widest line set anew."""
    text = text_of(page)
    width, height = text.ink.size
    short = b.change(page, "card", text=replace(text, ink=replace(text.ink, size=(width - 2_000, height))))
    assert one(short, "R2").amount_um == pytest.approx(2_000, abs=2)
    low = b.change(page, "card", text=replace(text, ink=replace(text.ink, size=(width, height - 1_000))))
    found = broken(low, "R2")
    assert any(v.amount_um == pytest.approx(1_000, abs=2) for v in found)


def test_text_in_a_font_nobody_has(page: Layout) -> None:
    """A layout names a family that is not bundled."""
    assert (
        "not bundled"
        in one(b.change(page, "card", text=replace(text_of(page), font="Nowhere Sans")), "R2").message
    )


# R3 photos


def with_paper_over_photo(page: Layout, up: int) -> Layout:
    """Return the page with paper and its ribbon moved up over the first photo."""
    return b.move(b.move(page, "paper-1", dy=-up), "ribbon-1", dy=-up)


def test_photos_covered_by_paper(page: Layout) -> None:
    """A paper covers 13,650 of 50,800 µm of a photo's height: 26.9 %, 24.9 % too much."""
    found = one(with_paper_over_photo(page, 20_000), "R3")
    assert (found.element, found.other) == ("photo-1", "paper-1")
    assert found.share == pytest.approx(13_650 / 50_800 - 0.02, abs=1e-9)


def test_photos_covered_by_two_percent_is_legal(page: Layout) -> None:
    """A paper may cover 1.9 % more than in the reference."""
    assert holds(with_paper_over_photo(page, 6_350 + 965))
    assert not holds(with_paper_over_photo(page, 6_350 + 1_100))


def test_photos_covered_in_the_reference_may_stay_so(page: Layout) -> None:
    """What the template itself covers is no fault."""
    up = {"paper-1": (44_450, 78_425), "ribbon-1": (15_875, 75_250)}
    layout = page
    for name, center in up.items():
        layout = b.both(layout, name, center=center)
    assert holds(layout)


def third(page: Layout) -> Layout:
    """Return the page with a third photo in the paper's place."""
    photo = GivenPhoto("c.jpg", "c" * 64, (1270, 1143), order=2)
    layout = b.give(page, photos=(*page.given.photos, photo))
    return b.change(layout, "paper-1", role="photo", fill=None, photo=b.whole(photo, (63_500, 57_150)))


def test_photos_in_a_paper_slot_are_covered_at_most_by_half(page: Layout) -> None:
    """A photo where a paper was drawn may lie under other slots, up to half of it."""
    cover = Element("patch", "paper", "rect", (44_450, 80_000), (63_500, 20_000))
    fine = b.insert(third(page), cover, b.place(cover, fill=b.PALE), 7)
    assert holds(fine)
    more = replace(cover, center=(44_450, 90_000), size=(63_500, 40_000))
    found = one(b.insert(third(page), more, b.place(more, fill=b.PALE), 7), "R3")
    assert (found.element, found.other) == ("paper-1", "patch")
    # The patch is 70,000 … 110,000; the photo 69,850 … 127,000.
    assert found.share == pytest.approx(40_000 / 57_150 - 0.5, abs=1e-9)


def test_photos_too_near_each_other(page: Layout) -> None:
    """Photos drawn 1/4 in apart stand 850 µm apart; 1/16 in is 1,587.5."""
    found = one(b.move(page, "photo-2", dx=-5_500), "R3")
    assert {found.element, found.other} == {"photo-1", "photo-2"}
    assert found.amount_um == pytest.approx(1_587.5 - 850, abs=1)


def test_photos_too_near_words(page: Layout) -> None:
    """A card drawn apart from a photo touches it."""
    found = one(b.move(page, "card", dy=-6_350), "R3")
    assert {found.element, found.other} == {"photo-2", "card"}
    assert found.amount_um == pytest.approx(1_587.5, abs=1)


# R4 given


def test_given_photo_twice(page: Layout) -> None:
    """One photo is shown in both slots, the other nowhere."""
    layout = b.change(page, "photo-2", photo=b.cropped(b.A, (0, 0, 1350, 1200), (57_150, 50_800)))
    found = {v.element: v.message for v in broken(layout, "R4")}
    assert set(found) == {"a.jpg", "b.jpg"}
    assert "2 times" in found["a.jpg"]


def test_given_photo_missing(page: Layout) -> None:
    """A photo is neither placed nor listed as left out."""
    layout = b.priced(replace(b.remove(page, "photo-2"), left_out=()))
    assert one(layout, "R4").element == "b.jpg"


def test_given_photo_left_out_without_leave(page: Layout) -> None:
    """One photo is left out where none may be; with leave it is legal."""
    layout = b.remove(page, "photo-2")
    assert holds(layout)
    assert one(b.give(layout, leave_out=0), "R4").element == "b.jpg"


def test_given_photo_both_placed_and_left_out(page: Layout) -> None:
    """The list of what was left out names a photo that is there."""
    assert one(replace(page, left_out=("a.jpg",)), "R4").element == "a.jpg"


def test_given_photo_nobody_gave(page: Layout) -> None:
    """A stranger's photo is on the page besides the given ones."""
    photo = GivenPhoto("c.jpg", "c" * 64, (1270, 1143))
    layout = b.change(page, "paper-1", role="photo", fill=None, photo=b.whole(photo, (63_500, 57_150)))
    assert one(layout, "R4").element == "c.jpg"


def test_given_photo_of_another_version(page: Layout) -> None:
    """The placed photo has another hash than the given one of that name."""
    photo = b.element(page, "photo-1").photo
    assert photo is not None
    assert one(b.change(page, "photo-1", photo=replace(photo, sha256="f" * 64)), "R4").element == "photo-1"


def test_given_words_missing(page: Layout) -> None:
    """The words are not set anywhere; their card became a paper."""
    layout = b.change(page, "card", role="paper", text=None)
    assert one(layout, "R4").element == "text-1"


def test_given_title_missing(page: Layout) -> None:
    """The title is not set."""
    assert one(b.remove(page, "title"), "R4").element == "title"


def test_given_slot_without_photo(page: Layout) -> None:
    """A photo slot is left empty."""
    layout = b.give(b.change(page, "photo-2", photo=None), photos=(b.A,))
    assert one(layout, "R4").element == "photo-2"


def test_given_card_without_words(page: Layout) -> None:
    """A journaling card holds no words."""
    layout = b.give(b.change(page, "card", text=None), texts=())
    assert one(layout, "R4").element == "card"


def test_given_dropped_list_is_wrong(page: Layout) -> None:
    """The list of dropped slots names one that is there, or forgets one that is not."""
    assert one(replace(page, dropped=("bloom",)), "R4").element == "bloom"
    assert one(replace(b.remove(page, "bloom"), dropped=()), "R4").element == "bloom"


# R5 keep


def test_keep_box_cut_by_the_crop(page: Layout) -> None:
    """A crop of the right half cuts a face at 600 … 900 px by 150 px, which is 12.7 mm on the page."""
    photo = b.cropped(b.A, (750, 300, 1500, 900), (63_500, 50_800))
    found = one(b.change(page, "photo-1", photo=photo), "R5")
    assert (found.element, found.amount_um) == ("photo-1", 12_700)


def test_keep_box_cut_by_a_round_slot(page: Layout) -> None:
    """A face in the corner of a picture is cut by an oval slot, though it is inside the crop."""
    corner = replace(b.B, keep=((0.0, 0.0, 0.1, 0.1),))
    layout = b.both(b.give(page, photos=(b.A, corner)), "photo-2", shape="ellipse")
    assert one(layout, "R5").element == "photo-2"
    assert holds(
        b.both(
            b.give(page, photos=(b.A, replace(b.B, keep=((0.4, 0.4, 0.1, 0.1),)))), "photo-2", shape="ellipse"
        )
    )


def test_keep_box_beyond_the_safe_line(page: Layout) -> None:
    """In a photo that bleeds on the right a face reaches the trim: 9.5 mm past the safe line."""
    size = (73_026, 50_800)
    layout = b.both(page, "photo-2", center=(119_062, 38_100), size=size, bleeds=("right",))
    face = replace(b.B, keep=((0.9, 0.4, 0.1, 0.1),))
    layout = b.change(
        b.give(layout, photos=(b.A, face)), "photo-2", photo=b.cropped(face, (0, 0, 1350, 939), size)
    )
    found = one(layout, "R5")
    assert (found.element, found.amount_um) == ("photo-2", 155_575 - 146_050)


def test_keep_box_under_a_ribbon(page: Layout) -> None:
    """Decoration lies on a face by 10.16 of its 12.7 mm width."""
    layout = b.change(page, "ribbon-1", center=(44_450, 38_100))
    found = one(layout, "R5")
    assert (found.element, found.other, found.amount_um) == ("photo-1", "ribbon-1", 10_160)


def test_keep_box_detected_by_software_can_be_waived(page: Layout) -> None:
    """A detected face may be waived, a marked one never."""
    crop = b.cropped(b.A, (750, 300, 1500, 900), (63_500, 50_800))
    waiver = (Waiver("R5", "photo-1", "no page keeps every face"),)
    marked = b.priced(replace(b.change(page, "photo-1", photo=crop), waived=waiver))
    assert one(marked, "R5").element == "photo-1"
    detected = b.give(marked, photos=(replace(b.A, keep=(), detected=b.A.keep), b.B))
    report = check_layout(detected)
    assert report.ok
    assert [r.status for r in report.rules if r.rule == "R5"] == ["waived"]
    assert report.costs.terms["waived"] == 1_000_000
    assert one(b.priced(replace(detected, waived=())), "R5").waivable


# R6 true


def test_true_photo_is_stretched(page: Layout) -> None:
    """A crop of 1500 × 1100 px in a 5:4 slot stretches the picture by 9 %."""
    found = one(b.change(page, "photo-1", photo=b.cropped(b.A, (0, 50, 1500, 1150), (63_500, 50_800))), "R6")
    assert found.element == "photo-1"
    assert found.share == pytest.approx(1500 / 1375 - 1)


def test_true_crop_may_be_a_pixel_off(page: Layout) -> None:
    """One pixel a side is rounding, three are not."""
    assert holds(b.change(page, "photo-1", photo=b.cropped(b.A, (0, 0, 1500, 1199), (63_500, 50_800))))
    assert not holds(b.change(page, "photo-1", photo=b.cropped(b.A, (0, 0, 1500, 1197), (63_500, 50_800))))


def test_true_crop_outside_the_picture(page: Layout) -> None:
    """A crop of more than the picture has."""
    photo = b.cropped(b.A, (0, 0, 1600, 1280), (63_500, 50_800))
    assert "not inside" in one(b.change(page, "photo-1", photo=photo), "R6").message


def test_true_photo_tilted_on_its_own(page: Layout) -> None:
    """A photo is tilted by 2° in a level slot."""
    assert one(b.change(page, "photo-2", tilt=2.0), "R6").element == "photo-2"


def test_true_photo_turned_over(page: Layout) -> None:
    """A round slot tilted by 60° would tilt the picture with it."""
    layout = b.both(page, "photo-2", shape="ellipse", tilt=60.0, size=(50_800, 50_800))
    layout = b.change(layout, "photo-2", photo=b.cropped(b.B, (75, 0, 1275, 1200), (50_800, 50_800)))
    assert "upright" in one(layout, "R6").message


def test_true_circle_stretched(page: Layout) -> None:
    """A round photo slot becomes an oval."""
    layout = b.both(page, "photo-2", shape="ellipse", size=(50_800, 50_800))
    photo = b.cropped(b.B, (75, 0, 1275, 1200), (50_800, 50_800))
    layout = b.change(layout, "photo-2", photo=photo)
    assert holds(layout)
    oval = b.change(
        layout, "photo-2", size=(50_800, 45_720), photo=b.cropped(b.B, (0, 0, 1333, 1200), (50_800, 45_720))
    )
    assert one(oval, "R6").element == "photo-2"


TRIANGLE = ((-3_175, 3_175), (3_175, 3_175), (0, -3_175))


def test_true_outline_changed(page: Layout) -> None:
    """A triangle's tip is moved; a triangle of half the size is still the same shape."""
    layout = b.both(page, "bloom", shape="path", outline=TRIANGLE)
    assert holds(layout)
    half = tuple((x // 2, y // 2) for x, y in TRIANGLE)
    assert holds(b.change(layout, "bloom", size=(3_174, 3_174), outline=half))
    moved = (*TRIANGLE[:2], (2_000, -3_175))
    assert one(b.change(layout, "bloom", outline=moved), "R6").element == "bloom"


def test_true_shape_changed(page: Layout) -> None:
    """A rectangle of the template becomes an oval."""
    assert one(b.change(page, "paper-1", shape="ellipse"), "R6").element == "paper-1"


def test_true_ornament_stretched(page: Layout) -> None:
    """An embellishment is squeezed to two thirds of its height."""
    found = one(b.change(page, "bloom", size=(6_350, 4_234)), "R6")
    assert found.element == "bloom"


# R7 ties


def test_ties_mat_off_centre(page: Layout) -> None:
    """A mat moved by 1/2 mm shows uneven borders, both told."""
    found = broken(b.move(page, "mat-1", dx=500), "R7")
    assert {(v.element, v.other, v.side, v.amount_um) for v in found} == {
        ("mat-1", "photo-1", "left", 500),
        ("mat-1", "photo-1", "right", 500),
    }


def test_ties_mat_around_every_piece(page: Layout) -> None:
    """A split slot's mat covers the whole row; a mat of the first piece's size alone is a fault."""
    halves = [
        replace(b.A, file=f, sha256=f[0] * 64, keep=(), pixels=(600, 1016), order=n)
        for n, f in ((0, "a.jpg"), (2, "d.jpg"))
    ]
    layout = b.give(page, photos=(halves[0], b.B, halves[1]))
    size, at = (30_000, 50_800), layout.elements.index(b.element(layout, "photo-1"))
    pieces = tuple(
        replace(
            b.element(layout, "photo-1"),
            id=f"photo-1.{n}",
            center=(x, 38_100),
            size=size,
            split=Split("row", n, 2),
            photo=b.whole(photo, size),
        )
        for n, (x, photo) in enumerate(zip((27_700, 61_200), halves, strict=True))
    )
    layout = b.priced(replace(layout, elements=(*layout.elements[:at], *pieces, *layout.elements[at + 1 :])))
    assert holds(layout)
    found = broken(b.change(layout, "mat-1", center=(27_700, 38_100), size=(36_350, 57_150)), "R7")
    assert ("mat-1", "right", 33_500) in {(v.element, v.side, v.amount_um) for v in found}


def test_ties_tilted_mat(page: Layout) -> None:
    """Borders of tilted slots are measured along their sides."""
    layout = b.both(b.both(page, "photo-2", tilt=3.0, size=(50_800, 45_156)), "card", size=(57_150, 57_150))
    layout = b.change(layout, "photo-2", photo=b.whole(b.B, (50_800, 45_156)))
    mat = Element(
        "mat-2", "paper", "rect", (111_125, 38_100), (54_000, 48_356), tilt=3.0, on="photo-2", tie="mat"
    )
    layout = b.insert(layout, mat, b.place(mat, fill=b.PALE), 3)
    assert holds(layout)
    found = broken(b.move(layout, "mat-2", dx=300), "R7")
    # By hand: 300·cos 3° = 299.6 along the slot.
    assert {v.side: v.amount_um for v in found}["left"] == 300


def test_ties_mat_left_behind(page: Layout) -> None:
    """A slot is dropped but its mat stays."""
    found = one(b.remove(page, "photo-1", "corner-1"), "R7")
    assert (found.element, found.other) == ("mat-1", "photo-1")
    assert holds(b.remove(page, "photo-1", "corner-1", "mat-1"))


def test_ties_carried_left_behind(page: Layout) -> None:
    """A slot is dropped but the corner it carried stays."""
    found = one(b.remove(page, "photo-1", "mat-1"), "R7")
    assert (found.element, found.other) == ("corner-1", "photo-1")


def test_ties_carried_off_its_corner(page: Layout) -> None:
    """A carried corner is moved by 1 mm."""
    found = one(b.move(page, "corner-1", dy=1_000), "R7")
    assert (found.element, found.other, found.amount_um) == ("corner-1", "photo-1", 1_000)


def test_ties_carried_of_its_own_size(page: Layout) -> None:
    """A carried corner is 1 mm smaller than its carrier's scale makes it."""
    found = one(b.change(page, "corner-1", size=(5_350, 5_350)), "R7")
    assert (found.element, found.amount_um) == ("corner-1", 1_000)


def test_ties_carried_scales_with_its_carrier(page: Layout) -> None:
    """A carrier of 4/5 size carries its corner at 4/5 of size and offset, by hand."""
    photo = b.change(page, "photo-1", size=(50_800, 40_640), photo=b.whole(b.A, (50_800, 40_640)))
    layout = b.change(photo, "mat-1", size=(57_150, 46_990))
    # Carrier's top-left corner 19,050, 17,780; offset was 16,510 − 12,700 = 3,810, times 4/5 = 3,048.
    fine = b.change(layout, "corner-1", center=(19_050 + 3_048, 17_780 + 3_048), size=(5_080, 5_080))
    assert holds(fine)
    assert one(layout, "R7").element == "corner-1"


def test_ties_lap_too_deep(page: Layout) -> None:
    """A ribbon overlapped its paper by 12.7 mm; 2 mm more are 15.7 %."""
    found = one(b.move(page, "ribbon-1", dx=2_000), "R7")
    assert {found.element, found.other} == {"paper-1", "ribbon-1"}
    assert (found.side, found.amount_um) == ("across", 2_000)


def test_ties_lap_within_a_tenth_or_apart(page: Layout) -> None:
    """1.2 mm of 12.7 are within a tenth, and lapped blocks may part altogether."""
    assert holds(b.move(page, "ribbon-1", dx=1_200))
    assert holds(b.change(page, "ribbon-1", center=(111_125, 66_000)))


def test_ties_lap_no_longer_contained(page: Layout) -> None:
    """Down the page the ribbon lay within the paper; now it hangs over its end by half."""
    found = one(b.move(page, "ribbon-1", dy=127_000 - 95_250), "R7")
    assert (found.side, found.amount_um) == ("down", 6_350)


# R8 limits


def test_limits_role_not_allowed(page: Layout) -> None:
    """A slot that may only be paper becomes a ribbon."""
    layout = b.change(b.redraw(page, "paper-1", limits=Limits(may_be=("paper",))), "paper-1", role="ribbon")
    assert one(layout, "R8").element == "paper-1"


def test_limits_fixed_moved(page: Layout) -> None:
    """A pinned slot is moved by 400 µm."""
    layout = b.move(b.redraw(page, "paper-1", limits=Limits(fixed=True)), "paper-1", dx=400)
    found = one(layout, "R8")
    assert (found.element, found.amount_um) == ("paper-1", 400)


def test_limits_fixed_dropped(page: Layout) -> None:
    """A pinned slot is gone."""
    layout = b.remove(b.redraw(page, "bloom", limits=Limits(fixed=True)), "bloom")
    assert one(layout, "R8").element == "bloom"


def test_limits_smallest_side(page: Layout) -> None:
    """A slot is 4 mm under the smallest side its author allows."""
    layout = b.redraw(page, "photo-2", limits=Limits(smallest_side=54_800))
    found = one(layout, "R8")
    assert (found.element, found.amount_um) == ("photo-2", 4_000)


@pytest.mark.parametrize("size", [7.5, 14.5])
def test_limits_type_size_of_journaling(page: Layout, size: float) -> None:
    """Journaling is set in a size outside 8 to 14 pt."""
    words = "Biscuit swam out to the red buoy and back, twice, and slept all the way home."
    layout = b.give(page, texts=(replace(page.given.texts[0], text=words),))
    layout = b.change(layout, "card", text=b.journaling(words, (111_125, 98_425), (57_150, 57_150), size))
    found = broken(layout, "R8")
    assert any(f"{size:g} pt" in v.message for v in found)


def test_limits_type_size_of_titles(page: Layout) -> None:
    """A title of 20 pt is no title."""
    assert "20 pt" in one(b.change(page, "title", text=b.title_text((76_200, 138_112), 20.0)), "R8").message


def test_limits_lines_too_short(page: Layout) -> None:
    """Lines of about 17 characters make bad reading, unless there is only one line."""
    text = b.journaling(b.WORDS, (111_125, 98_425), (38_000, 57_150), 8.0)
    found = one(b.change(page, "card", text=text), "R8")
    assert "characters a line" in found.message
    short = b.give(page, texts=(replace(page.given.texts[0], text="Biscuit swam."),))
    assert holds(
        b.change(short, "card", text=b.journaling("Biscuit swam.", (111_125, 98_425), (57_150, 57_150)))
    )


def test_limits_lines_too_long(page: Layout) -> None:
    """Lines of over 80 characters across the whole page, at 8 pt."""
    layout = b.remove(page, "paper-1", "ribbon-1", "bloom")
    layout = b.both(layout, "card", center=(76_200, 98_425), size=(139_000, 57_150))
    text = b.journaling(b.WORDS, (76_200, 98_425), (139_000, 57_150), 8.0)
    assert "characters a line" in one(b.change(layout, "card", text=text), "R8").message


def test_limits_resolution(page: Layout) -> None:
    """A photo of 300 px on 2.5 in gives 120 ppi; 150 is the least, unless waived."""
    small = GivenPhoto("a.jpg", "a" * 64, (300, 240))
    layout = b.give(page, photos=(small, b.B))
    layout = b.change(layout, "photo-1", photo=b.whole(small, (63_500, 50_800)))
    found = one(layout, "R8")
    assert (found.element, found.other, found.waivable) == ("photo-1", "a.jpg", True)
    assert "120 ppi" in found.message
    assert holds(b.priced(replace(layout, waived=(Waiver("R8", "photo-1", "nothing sharper was given"),))))


def test_limits_resolution_misstated(page: Layout) -> None:
    """A layout states 300 ppi where its crop gives 600."""
    photo = b.element(page, "photo-1").photo
    assert photo is not None
    assert "states 300 ppi" in one(b.change(page, "photo-1", photo=replace(photo, ppi=300)), "R8").message


def test_limits_photo_under_an_inch(page: Layout) -> None:
    """A photo slot shrinks to 9/10 in wide; one drawn so small may stay."""
    size = (22_860, 20_320)
    layout = b.change(page, "photo-2", size=size, photo=b.whole(b.B, size))
    found = one(layout, "R8")
    assert (found.element, found.amount_um) == ("photo-2", 25_400 - 20_320)
    assert holds(b.change(b.both(page, "photo-2", size=size), "photo-2", photo=b.whole(b.B, size)))


def test_limits_switched_off_freedoms_are_not_used(page: Layout) -> None:
    """The user switched mirroring off, yet the page is mirrored."""
    mirrored = b.priced(replace(page, transform=Transform(mirror=True)))
    assert holds(mirrored)
    assert one(b.give(mirrored, without=("mirror-page",)), "R8").other == "mirror-page"


# copies of a cluster


def repeating(page: Layout, *copies: Copy) -> Layout:
    """Return the page with its bloom repeated, each copy placed as the reference has it."""
    bloom = replace(next(e for e in page.reference if e.id == "bloom"), cluster="spot")
    made = [
        replace(bloom, id=f"bloom~{n}", center=(copy.at[0] + 3_175, copy.at[1] + 3_175))
        for n, copy in enumerate(copies, 2)
    ]
    return b.priced(
        replace(
            page,
            transform=Transform(repeat=Repeat("spot", copies)),
            reference=(*(bloom if e.id == "bloom" else e for e in page.reference), *made),
            elements=(*page.elements, *(b.place(e, fill=b.PALE) for e in made)),
        )
    )


BELOW = Copy(0, False, (139_700, 104_775))


def test_copies_of_a_cluster_may_stand_beside_it(page: Layout) -> None:
    """Three copies below each other, one of them mirrored and upside down, are legal."""
    others = (Copy(180, True, (139_700, 114_300)), Copy(0, True, (139_700, 120_650)))
    assert holds(repeating(page, BELOW, *others))


def test_true_copy_of_another_size(page: Layout) -> None:
    """A copy is larger than the cluster."""
    found = broken(b.both(repeating(page, BELOW), "bloom~2", size=(6_352, 6_352)), "R6")
    assert {v.element for v in found} == {"bloom~2"}


def test_true_copy_elsewhere_than_stated(page: Layout) -> None:
    """The copy stands 1 µm lower than its record says."""
    layout = b.both(repeating(page, BELOW), "bloom~2", center=(142_875, 107_951))
    assert one(layout, "R6").other == "bloom"


def test_true_copy_lies_on_something(page: Layout) -> None:
    """The copy covers a quarter of the cluster itself."""
    layout = repeating(page, Copy(0, False, (139_700, 97_000)))
    assert one(layout, "R6").other == "bloom"


def test_true_ornaments_are_not_turned_with_a_copy(page: Layout) -> None:
    """A copy is turned by a quarter, and the ornament with it."""
    assert one(repeating(page, replace(BELOW, turn=90)), "R6").element == "bloom~2"


def test_true_copy_is_missing(page: Layout) -> None:
    """The record speaks of one copy more than there are, or of a cluster that is not there."""
    layout = repeating(page, BELOW)
    more = replace(layout.transform, repeat=Repeat("spot", (BELOW, replace(BELOW, at=(139_700, 114_300)))))
    assert one(b.priced(replace(layout, transform=more)), "R6").element == "spot"
    with pytest.raises(InputError, match="repeats the cluster 'spot', which is not in the reference"):
        check_layout(replace(page, transform=Transform(repeat=Repeat("spot", (BELOW,)))))


def test_limits_four_copies(page: Layout) -> None:
    """Three copies are the most."""
    copies = [Copy(0, False, (139_700, 104_775 + 6_350 * n)) for n in range(3)]
    assert one(repeating(page, *copies, Copy(0, False, (139_700, 82_550))), "R8").element == "spot"


def test_limits_repeated_although_switched_off(page: Layout) -> None:
    """The user switched copies off."""
    assert one(b.give(repeating(page, BELOW), without=("repeat-cluster",)), "R8").other == "repeat-cluster"


# R9 wishes


def wishing(layout: Layout, **wishes: object) -> Layout:
    """Return the layout started from the tiny page, with wishes."""
    return b.give(layout, wishes=Wishes(start=start_of(b.tiny()), **wishes))  # type: ignore[arg-type]


def test_r9_what_holds(page: Layout) -> None:
    """Wishes that hold break nothing."""
    layout = wishing(page, pins=(("a.jpg", "photo-1"),), stay=("photo-1", "card", "paper-1"), avoid=("paper-1",))
    assert holds(layout)


def test_r9_a_photo_is_not_where_it_was_pinned(page: Layout) -> None:
    """A photo pinned to another slot than it stands in."""
    assert one(wishing(page, pins=(("a.jpg", "photo-2"),)), "R9").other == "a.jpg"


def test_r9_a_slot_did_not_stay(page: Layout) -> None:
    """A slot that was to stay is moved by a tenth of an inch."""
    assert "place or size" in one(wishing(b.move(page, "paper-1", dy=-2_540), stay=("paper-1",)), "R9").message


def test_r9_a_slot_that_stays_has_other_content(page: Layout) -> None:
    """A slot that was to stay was dropped."""
    assert "content" in one(wishing(b.remove(page, "bloom"), stay=("bloom",)), "R9").message


def test_r9_nothing_to_compare_with(page: Layout) -> None:
    """A slot is to stay, but no page is recorded."""
    assert "not recorded" in one(b.give(page, wishes=Wishes(stay=("bloom",))), "R9").message


@pytest.mark.parametrize("slot", ["photo-1", "card", "title"])
def test_r9_an_avoided_slot_holds_something(page: Layout, slot: str) -> None:
    """A photo, words or the title in a slot that was to hold none."""
    assert one(wishing(page, avoid=(slot,)), "R9").element == slot


@pytest.mark.parametrize("wish", ["bigger", "smaller"])
def test_r9_a_photo_kept_its_size(page: Layout, wish: str) -> None:
    """A photo that was to change its size has the same."""
    assert "+0.0 %" in one(wishing(page, **{wish: ("a.jpg",)}), "R9").message


def test_r9_a_little_is_not_enough(page: Layout) -> None:
    """A photo that was to become smaller is so by 7.8 % of its area; by hand."""
    size = (60_960, 48_768)
    layout = b.change(page, "photo-1", size=size, photo=b.whole(b.A, size))
    layout = b.change(layout, "mat-1", size=(67_310, 55_118))
    layout = b.change(
        layout,
        "corner-1",
        center=(44_450 - round(27_940 * 0.96), 38_100 - round(21_590 * 0.96)),
        size=(6_096, 6_096),
    )
    assert "-7.8 %" in one(wishing(layout, smaller=("a.jpg",)), "R9").message
