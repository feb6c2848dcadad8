"""Pages that cannot be, and pages that can only be with a waiver."""

from __future__ import annotations

import re
from typing import Any

import pytest

from fitter import read_template
from fitter.asked import settings_of
from fitter.check import check_layout
from fitter.errors import UseError
from fitter.formulate import Problems
from fitter.layout import Given, GivenText
from fitter.words import given_count
from solver.search import search
from solver.solution import Outcome
from tests.proofs.fitting import fit, photo, photos, slot, sound, template

ONE = template((6, 6), slot("photo-1", 0.5, 0.5, 5, 5))
CARD = template((6, 6), slot("photo-1", 0.5, 0.5, 5, 3), slot("card", 0.5, 3.75, 5, 1.75, "journaling"))


def test_nine_hundred_words_do_not_fit_and_the_reason_gives_figures() -> None:
    """The sentence names the words, the area they need, the largest spot and how many words would fit."""
    result = fit(CARD, photos((1800, 1200)), words=900, effort=2.0)
    assert result.layouts == () and not result.interrupted
    sentence = " ".join(result.reasons)
    assert "900 words" in sentence
    found = re.search(
        r"need about (\d+) sq in at 8 pt.*largest has (\d+) sq in.*words shortened to about ([\d,]+)", sentence
    )
    assert found, sentence
    need, largest, fewer = (int(n.replace(",", "")) for n in found.groups())
    assert need > largest
    assert 0 < fewer < 900


def test_the_number_of_words_the_reason_names_does_fit() -> None:
    """Shortened to what the sentence says, the words are set."""
    sentence = " ".join(fit(CARD, photos((1800, 1200)), words=900, effort=2.0).reasons)
    fewer = int(re.search(r"shortened to about ([\d,]+)", sentence)[1].replace(",", ""))  # type: ignore[index]
    result = fit(CARD, photos((1800, 1200)), words=fewer, effort=2.0)
    assert result.layouts, result.reasons
    sound(result.layouts[0])


@pytest.mark.parametrize("count", [8, 12, 30])
def test_too_many_photos_are_counted_and_the_reason_leads_to_a_page(count: int) -> None:
    """Leaving out as many as is said ends at once in a page that lists what is missing."""
    taken = [photo(number % 16, 1800, 1800) for number in range(count)]
    allow = ("assign", "add-slot")
    result = fit(ONE, taken, allow=allow, effort=1.0)
    assert result.layouts == ()
    told = " ".join(result.reasons)
    assert f"all {count} photos" in told
    out = int(re.search(r"--leave-out (\d+)", told)[1])  # type: ignore[index]
    assert 0 < out < count
    if count <= 12:
        layout = fit(ONE, taken, allow=allow, effort=1.0, leave_out=out).layouts[0]
        sound(layout)
        assert 0 < len(layout.left_out) <= out


def test_a_keep_box_that_fits_nowhere_is_said_to() -> None:
    """A marked region as wide as the picture cannot show in a slot half as wide as it is high."""
    made = template((6, 6), slot("photo-1", 2, 0.5, 2, 5))
    wide = photo(0, 3000, 1000, keep=((0.02, 0.1, 0.96, 0.8),))
    result = fit(made, [wide], allow=("assign", "crop"), effort=1.0)
    assert result.layouts == ()
    assert any("keep box" in sentence and wide.path.name in sentence for sentence in result.reasons)


def test_words_for_a_slot_that_is_not_there_are_an_error() -> None:
    """A text that names no slot of the template is a mistake in use, told with the slots that can take words."""
    with pytest.raises(UseError, match=r"no such slot.*card"):
        fit(CARD, photos((1800, 1200)), texts=[GivenText("A morning.", 2, slot="kard")])
    asked = Given((), (GivenText("A morning.", 2, slot="kard"),))
    with pytest.raises(UseError, match=r"words can stand in paper-panel, photo-1, photo-2$"):
        settings_of(read_template("ribbon-pair"), asked, {})


def test_nothing_to_put_on_a_page_is_an_error() -> None:
    """A page of nothing is a mistake in use."""
    with pytest.raises(UseError, match="nothing"):
        fit(ONE, [])


def test_a_title_longer_than_any_line_is_said_to() -> None:
    """A title that fits no spot at 24 pt says so."""
    made = template((6, 6), slot("photo-1", 0.5, 0.5, 5, 4), slot("title", 0.5, 4.75, 3, 0.5, "title"))
    result = fit(made, photos((1800, 1440)), title="Wholeheartedly unforgettable midsummer-at-Marrow-Lake", effort=1.0)
    assert result.layouts == ()
    assert any("title" in sentence and "24 pt" in sentence for sentence in result.reasons)


def test_low_resolution_everywhere_is_waived_and_priced() -> None:
    """A picture of 300 × 300 pixels shows at 60 ppi in 5 in: R8 is waived, for a million, and check passes."""
    layout = fit(ONE, photos((300, 300)), allow=("assign",), effort=1.0).layouts[0]
    assert [w.rule for w in layout.waived] == ["R8"]
    assert layout.costs.terms["waived"] == 1_000_000
    report = check_layout(layout)
    assert report.rules_hold and not report.cost_differences
    assert next(r for r in report.rules if r.rule == "R8").status == "waived"


def test_nothing_is_waived_where_a_page_obeys() -> None:
    """The same picture at 60 ppi allowed, or a large one, needs no waiver."""
    assert fit(ONE, photos((300, 300)), allow=("assign",), min_ppi=60, effort=1.0).layouts[0].waived == ()
    assert fit(ONE, photos((1500, 1500)), allow=("assign",), effort=1.0).layouts[0].waived == ()


NARROW = template((6, 6), slot("photo-1", 2, 0.5, 2, 5))
REGION = ((0.02, 0.1, 0.96, 0.8),)


def test_a_detected_region_is_waived_where_no_page_keeps_it() -> None:
    """Found by software, the region gives way: R5 waived, priced, passed."""
    layout = fit(NARROW, [photo(0, 4500, 1500, detected=REGION)], allow=("assign", "crop"), effort=1.0).layouts[0]
    assert [w.rule for w in layout.waived] == ["R5"]
    assert layout.costs.terms["waived"] == 1_000_000
    assert check_layout(layout).rules_hold
    sound(layout)


def test_the_fewest_waivers_are_taken_whatever_the_rule() -> None:
    """With the region kept both photos show badly, two waivers of R8; changed over, only the region is lost."""
    made = template((9.5, 9.5), slot("photo-1", 0.5, 0.5, 6, 2), slot("photo-2", 0.5, 2.75, 2, 6))
    taken = [photo(0, 800, 1000, detected=((0.02, 0.4, 0.96, 0.2),)), photo(1, 1000, 340)]
    layout = fit(made, taken, allow=("assign", "crop"), effort=1.0).layouts[0]
    sound(layout)
    assert [w.rule for w in layout.waived] == ["R5"]


def test_only_the_region_that_cannot_be_kept_is_waived() -> None:
    """Of two detected regions one can be kept: one waiver, and the other photo still shows its region."""
    made = template((6, 6), slot("photo-1", 0.5, 0.5, 2, 5), slot("photo-2", 3, 0.5, 2, 5))
    small = ((0.75, 0.3, 0.1, 0.3),)
    taken = [photo(0, 4500, 1500, detected=REGION), photo(1, 4500, 1500, detected=small)]
    layout = fit(made, taken, allow=("assign", "crop"), effort=1.0).layouts[0]
    sound(layout)
    assert [w.rule for w in layout.waived] == ["R5"]
    shown = next(e for e in layout.elements if e.photo and e.photo.file == str(taken[1].path)).photo
    assert shown is not None
    assert shown.crop[0] <= 0.75 * 4500
    assert shown.crop[2] >= 0.85 * 4500


def test_of_a_group_given_up_most_heads_stay() -> None:
    """The group is wider than the slot: the crop shows two of its three heads, though one end matters more."""
    heads = ((0.05, 0.3, 0.05, 0.3), (0.72, 0.3, 0.05, 0.3), (0.79, 0.3, 0.05, 0.3))
    group = (0.05, 0.3, 0.79, 0.3)
    taken = photo(0, 4500, 1500, detected=(group, *heads), importance=((9, 1, 1, 1, 1, 1),))
    layout = fit(NARROW, [taken], allow=("assign", "crop"), effort=1.0).layouts[0]
    sound(layout)
    assert [w.rule for w in layout.waived] == ["R5"]
    shown = next(e.photo for e in layout.elements if e.photo)
    assert shown.crop[0] <= 0.72 * 4500 and shown.crop[2] >= 0.84 * 4500


@pytest.mark.parametrize(("box", "found"), [((0.3, 0.1, 0.1, 0.8), True), (REGION[0], False)])
def test_where_none_was_found_only_a_page_that_keeps_every_region_counts(
    box: tuple[float, float, float, float], found: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The limits ran out without a page: with waivers one is looked for that does without them."""
    asked = []

    def limited(problems: Problems, **options: Any) -> Outcome:
        asked.append(problems)
        if len(asked) == 1:
            return Outcome("unknown", (), None, False, False, 1.0, {})
        return search(problems, **options)

    monkeypatch.setattr("fitter.api.search", limited)
    result = fit(NARROW, [photo(0, 4500, 1500, detected=(box,))], allow=("assign", "crop"), effort=1.0)
    assert len(asked) == 2
    assert [layout.waived for layout in result.layouts] == ([()] if found else [])
    assert bool(result.reasons) == (not found)


def test_a_marked_region_is_never_waived() -> None:
    """Marked by the user, the same region makes the page impossible."""
    result = fit(NARROW, [photo(0, 4500, 1500, keep=REGION)], allow=("assign", "crop"), effort=1.0)
    assert result.layouts == ()


def test_photos_stay_out_when_the_template_has_words_only() -> None:
    """More words and photos than a starter has room for end in reasons, not in a crash."""
    result = fit(read_template("quiet-single"), photos(*[(900, 600)] * 3), texts=[given_count(1500)], effort=1.0)
    assert result.layouts == () and result.reasons
