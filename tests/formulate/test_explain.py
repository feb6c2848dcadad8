"""What a change gained is what the best page without it costs more: the same as with its freedom switched off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from fitter.cli import run
from fitter.errors import UseError
from fitter.explain import Explained, explain_layout
from fitter.freedoms import FREEDOMS
from fitter.layout import Layout
from fitter.layout_file import write_layout
from fitter.photos import Photo
from fitter.template import Limits, Template
from tests.proofs.fitting import best, photo, photos, slot, template


@dataclass(frozen=True)
class Case:
    """A page with one change, the freedom that makes it, and the other freedoms left on."""

    template: Template
    photos: list[Photo]
    freedom: str
    others: tuple[str, ...] = ()
    weights: dict[str, float] = field(default_factory=dict)


def rotated() -> Case:
    """An upright photo turns the page of a wide slot."""
    return Case(template((6, 6), slot("a", 0.5, 1, 5, 3)), photos((1200, 2000)), "rotate-page")


def mirrored() -> Case:
    """Three photos are in order on a mirrored page."""
    made = template((8, 8), slot("a", 0.5, 1, 4, 2.5), slot("b", 4.75, 0.25, 2.5, 4))
    return Case(made, photos((1500, 2400), (2400, 1500)), "mirror-page", ("assign",), {"order": 5})


def turned() -> Case:
    """A wide slot is turned for an upright photo."""
    return Case(template((6, 6), slot("a", 1.5, 1.5, 3, 2)), photos((1200, 1800)), "rotate-slot")


def resized() -> Case:
    """A square slot is widened."""
    return Case(template((6, 6), slot("a", 1, 1, 3, 3)), photos((2700, 1800)), "widen")


def used() -> Case:
    """A paper takes a second photo."""
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 2.5), slot("sheet", 0.5, 3.5, 5, 2, "paper"))
    return Case(made, photos((2500, 1250), (2500, 1000)), "swap-role", ("assign", "add-slot"))


def divided() -> Case:
    """A slot is divided that leaves no room beside it."""
    return Case(template((6, 6), slot("a", 0.5, 0.5, 5, 5)), photos((1200, 2400), (1200, 2400)), "add-slot")


def scaled() -> Case:
    """All photos become smaller together, for resolution's sake."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3.4, 3.4), slot("b", 4.1, 0.5, 3.4, 3.4))
    return Case(made, photos((465, 465), (465, 465)), "scale")


def repeated() -> Case:
    """A pair is repeated for two photos more."""
    pair = [slot("b", 3.25, 0.5, 1.75, 1.9), slot("c", 3.25, 2.65, 1.75, 1.85)]
    made = template((8, 5), slot("a", 0.5, 0.5, 2.5, 4), *(replace(e, cluster="pair") for e in pair))
    four = [(1750, 1900), (1750, 1850)]
    return Case(made, photos((2000, 3200), *four, *four), "repeat-cluster", ("assign", "add-slot"))


CASES = {
    "rotated": rotated,
    "mirrored": mirrored,
    "turned": turned,
    "resized": resized,
    "used": used,
    "repeated": repeated,
}


def only_one(layout: Layout, made: Template) -> Explained:
    """Return what explains the one change of a page."""
    found = explain_layout(layout, made, effort=5.0, time_limit=None)
    assert [one.sentence for one in found] == list(layout.changes)
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize("name", CASES)
def test_forbidding_the_one_change_is_switching_its_freedom_off(name: str) -> None:
    """The page without it is the proved best page with the freedom off; the difference is told cost by cost."""
    case = CASES[name]()
    page = best(case.template, case.photos, allow=(case.freedom, *case.others), weights=case.weights)
    without = best(case.template, case.photos, allow=case.others, weights=case.weights)
    one = explain_layout(page, case.template, effort=5.0, time_limit=None)[0]
    assert (one.verdict, one.cost, one.bound) == ("proved", without.costs.total, without.costs.total)
    assert one.gained == without.costs.total - page.costs.total
    assert one.gained > 0
    assert sum(amount for _, amount in one.terms) == one.gained


def test_a_change_without_which_there_is_no_page_is_needed() -> None:
    """Two photos share the only slot there is; undivided it holds but one."""
    case = divided()
    page = best(case.template, case.photos, allow=("add-slot",))
    one = only_one(page, case.template)
    assert (one.verdict, one.cost, one.gained) == ("impossible", None, None)


def test_what_is_dropped_could_have_stayed() -> None:
    """Each slot by itself: an unused photo slot stays as a paper, at the price of another role.

    Without it the page tips: of 13.5 sq in one is missing 0.75 in below the middle, of 3; by hand 50,000 · 0.75 / 40.5.
    """
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 2.5), slot("b", 0.5, 3.25, 1, 1))
    page = best(made, photos((2500, 1250)), allow=("drop", "swap-role"), weights={"hole": 0, "swap-role": 2})
    assert page.changes == ("Dropped b.",)
    one = only_one(page, made)
    assert one.gained == 40_000 - 926
    assert dict(one.terms) == {"swap-role": 80_000, "drop": -40_000, "balance": -926}


def test_something_carried_can_be_made_to_stay() -> None:
    """A leaf that hides a marked region is given up; kept, it costs what is cut for it or there is no page."""
    made = template((6, 6), slot("a", 1, 1, 3, 3), slot("leaf", 1, 1, 1, 1, "embellishment", on="a", tie="carried"))
    taken = [photo(0, 1800, 1800, keep=((0.05, 0.05, 0.9, 0.9),))]
    page = best(made, taken, allow=("drop",))
    assert page.changes == ("Dropped leaf.",)
    assert only_one(page, made).verdict == "impossible"


def test_what_goes_with_another_is_not_asked_about() -> None:
    """A leaf on a dropped sheet follows it."""
    made = template(
        (6, 6),
        slot("a", 0.5, 0.5, 5, 2.5),
        slot("sheet", 0.5, 3.25, 1, 1, "journaling"),
        slot("leaf", 0.5, 3.25, 0.25, 0.25, "embellishment", on="sheet", tie="carried"),
    )
    page = best(made, photos((2500, 1250)), allow=("drop",))
    found = explain_layout(page, made, effort=2.0)
    assert {one.sentence: one.verdict for one in found} == {"Dropped sheet.": "impossible", "Dropped leaf.": "follows"}


def test_a_slot_that_moved_could_have_stayed() -> None:
    """A slot at the edge moves inwards as it is widened; where it was it is widened less."""
    made = template((6, 6), slot("a", 0.25, 1, 3, 3))
    page = best(made, photos((2700, 1800)), allow=("widen", "shift"))
    moved = [one for one in explain_layout(page, made, effort=3.0) if one.sentence.startswith("Moved")]
    assert len(moved) == 1
    assert moved[0].cost == best(made, photos((2700, 1800)), allow=("widen",)).costs.total


def test_a_vertical_title_could_be_level() -> None:
    """Its spot is too narrow for that: there is no page without it."""
    upright = slot("title", 0.5, 0.5, 1, 5, "title", limits=Limits(vertical=True))
    made = template((6, 6), slot("a", 1.75, 0.5, 3.75, 5), upright)
    page = best(made, photos((1125, 1500)), title="Marrow Lake", allow=())
    assert only_one(page, made).verdict == "impossible"


def test_little_effort_gives_both_ends() -> None:
    """What is not proved is a bracket or not known, never a guess."""
    row = [slot(f"p{k}", 0.5 + 2.25 * (k % 3), 0.5 + 2.25 * (k // 3), 2, 2) for k in range(6)]
    made = template((8, 8), *row)
    taken = photos((900, 1500), (1500, 900), (1400, 900), (900, 1300), (1200, 900), (900, 1100))
    page = best_found(made, taken)
    for one in explain_layout(page, made, effort=0.2):
        assert one.verdict in ("bracket", "unknown", "proved", "impossible")
        if one.verdict == "bracket":
            assert one.bound is not None and one.cost is not None
            assert one.bound < one.cost


def best_found(made: Template, taken: list[Photo]) -> Layout:
    """Return the best page within little effort."""
    from tests.proofs.fitting import fit

    return fit(made, taken, effort=0.5).layouts[0]


def test_stopped_it_says_what_it_did_not_look_at() -> None:
    """Nothing more is solved."""
    case = resized()
    page = best(case.template, case.photos)
    found = explain_layout(page, case.template, stop=lambda: True)
    assert {one.verdict for one in found} == {"skipped"}


def test_another_template_explains_nothing() -> None:
    """Slots of the same name mean something else there."""
    case = resized()
    page = best(case.template, case.photos)
    with pytest.raises(UseError, match="in another version"):
        explain_layout(page, replace(case.template, sha256="f" * 64))


def test_each_sentence_has_its_verdict() -> None:
    """In their order; a page scaled as a whole says so, and then of each slot."""
    case = scaled()
    page = best(case.template, case.photos, allow=("scale",))
    found = explain_layout(page, case.template)
    assert [one.sentence for one in found] == list(page.changes)
    assert len(found) == 3


def test_without_a_common_scaling_slots_are_scaled_one_by_one() -> None:
    """For more than it costs together."""
    case = scaled()
    page = best(case.template, case.photos, allow=("scale",))
    first = explain_layout(page, case.template)[0]
    assert first.sentence == "Scaled all photo slots to 90 %."
    assert first.gained is not None
    assert first.gained > 0
    assert dict(first.terms)["resize"] > 0


DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="6in" viewBox="0 0 6 6">'
    '<rect id="photo-1" x="1" y="1" width="3" height="3"/></svg>'
)


@pytest.fixture
def written(tmp_path: Path) -> Callable[..., Path]:
    """Return a way to write a page of a drawing beside it."""
    from fitter.template_reader import read_template

    drawing = tmp_path / "little.svg"
    drawing.write_text(DRAWING, encoding="utf-8")
    made = read_template(drawing)

    def write(*sizes: tuple[int, int]) -> Path:
        page = best(made, photos(*sizes))
        path = tmp_path / "layout.json"
        write_layout(replace(page, template=replace(page.template, file="little.svg")), path)
        return path

    return write


def test_the_command_needs_no_photos(written: Callable[..., Path], capsys: pytest.CaptureFixture[str]) -> None:
    """The layout and its template are enough; the sentence and the verdict stand below each other."""
    assert run(["explain", str(written((2700, 1800)))]) == 0
    said = capsys.readouterr().out
    assert "Made photo-1" in said
    assert "(proved): crop-loss +0.333" in said


def test_a_page_that_changes_nothing_has_nothing_to_explain(
    written: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """And says so."""
    assert run(["explain", str(written((1800, 1800)))]) == 0
    assert "changes nothing" in capsys.readouterr().out


def test_every_freedom_that_shows_in_sentences_is_tried() -> None:
    """The cases above name freedoms that exist."""
    assert {case().freedom for case in CASES.values()} <= set(FREEDOMS)
