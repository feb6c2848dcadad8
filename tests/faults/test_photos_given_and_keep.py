"""Planted faults against rules R3 to R5: for every clause a page that breaks just that, and is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.layout import GivenPhoto, Layout, Waiver
from fitter.template import Element
from tests import builders as b
from tests.faults.planted import broken, holds, one

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
        b.both(b.give(page, photos=(b.A, replace(b.B, keep=((0.4, 0.4, 0.1, 0.1),)))), "photo-2", shape="ellipse")
    )


def test_keep_box_beyond_the_safe_line(page: Layout) -> None:
    """In a photo that bleeds on the right a face reaches the trim: 9.5 mm past the safe line."""
    size = (73_026, 50_800)
    layout = b.both(page, "photo-2", center=(119_062, 38_100), size=size, bleeds=("right",))
    face = replace(b.B, keep=((0.9, 0.4, 0.1, 0.1),))
    layout = b.change(b.give(layout, photos=(b.A, face)), "photo-2", photo=b.cropped(face, (0, 0, 1350, 939), size))
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
