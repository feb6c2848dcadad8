"""Why there is no page: every sentence true, nothing in it that does not matter, the same on every machine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import pytest

from fitter.clashes import Clashes
from fitter.demands import Case, demands, without
from fitter.reasons import reasons
from fitter.template import Limits
from fitter.trials import Trials
from solver.problem import Problem
from solver.search import Effort, search
from solver.solution import Outcome
from tests.proofs.fitting import fit, photo, photos, slot, template

WIDE, HIGH = (1800, 1200), (1200, 1800)


def two(**limits: Any) -> Any:
    """Return a page of two photo slots with limits of their own."""
    made = Limits(**limits)
    return template((12, 12), slot("photo-1", 1, 1, 4, 3, limits=made), slot("photo-2", 6, 1, 4, 3, limits=made))


FIXED = two(fixed=True)
ONLY_PHOTOS = two(may_be=("photo",))


def told(*arguments: Any, **options: Any) -> str:
    """Return the reasons for a page that must not exist, a line each."""
    result = fit(*arguments, **options)
    assert result.layouts == ()
    return "\n".join(result.reasons)


def test_a_fixed_slot_that_stays_empty_is_what_is_named() -> None:
    """One photo for two slots that are both fixed; a second photo or one slot less fixed would do."""
    assert told(FIXED, photos(WIDE)).splitlines() == [
        "these cannot be had together: only one photo; photo-1 fixed by the template (data-fixed); "
        "photo-2 fixed by the template (data-fixed)",
        "a page exists with 2 photos, without data-fixed on photo-1 or without data-fixed on photo-2",
    ]
    assert fit(FIXED, photos(WIDE, WIDE)).layouts


def test_freedoms_that_words_need_are_named_and_no_areas_that_suffice() -> None:
    """Forty words need 3 sq in and there are 12: it is not the area that is missing."""
    off = frozenset({"add-slot", "swap-role"})
    lines = told(ONLY_PHOTOS, photos(WIDE, HIGH), words=40, without=off)
    assert "the 40 words; add-slot switched off; swap-role switched off" in lines
    assert "a page exists with add-slot allowed again or without the 40 words" in lines
    assert "sq in" not in lines and "larger" not in lines
    assert fit(ONLY_PHOTOS, photos(WIDE, HIGH), words=40, without=frozenset({"swap-role"})).layouts


def test_a_keep_box_is_named_with_the_freedom_that_would_show_it() -> None:
    """A picture to be kept whole suits a square slot once that may be widened."""
    made = template((12, 12), slot("photo-1", 3, 3, 6, 6))
    whole = [photo(0, 3000, 2000, keep=((0.0, 0.0, 1.0, 1.0),))]
    lines = told(made, whole, without=frozenset({"widen", "scale", "rotate-slot"}))
    assert lines.splitlines() == [
        "these cannot be had together: the keep boxes you marked in p0.png; widen switched off",
        "a page exists without the keep boxes you marked in p0.png or with widen allowed again",
    ]


def test_photos_of_many_pixels_are_not_said_to_lack_resolution() -> None:
    """Three photos and words are too much for one slot at any resolution, and the words for it are the same."""
    made = template((6, 6), slot("photo-1", 0.5, 0.5, 5, 5))
    many = photos((2000, 3000), (2828, 2121), (2449, 2449))
    lines = told(made, many, words=60)
    assert lines.splitlines() == [
        "these cannot be had together: the 60 words; all 3 photos",
        "a page exists with --leave-out 2 or without the 60 words",
    ]
    assert lines == told(made, many, words=60, min_ppi=30)


def test_of_many_freedoms_switched_off_only_those_in_the_way_are_named() -> None:
    """Nothing but the crop may change: a card without words is in the way of dropping or using it otherwise."""
    made = template((12, 12), slot("photo-1", 1, 1, 6, 4), slot("journaling", 1, 5.5, 4, 3, "journaling"))
    assert told(made, photos(WIDE), allow=("crop",)).splitlines() == [
        "these cannot be had together: drop switched off; swap-role switched off",
        "a page exists with drop allowed again or with swap-role allowed again",
    ]


def test_where_no_single_thing_helps_a_smallest_set_does() -> None:
    """The card without words needs one freedom, the second photo in one fixed slot the other."""
    made = template(
        (6, 6),
        slot("photo-1", 0.5, 0.5, 5, 3, limits=Limits(fixed=True)),
        slot("journaling", 0.5, 4, 5, 1.5, "journaling", limits=Limits(may_be=("paper",))),
    )
    lines = told(made, photos(WIDE, WIDE), allow=("crop",))
    found = re.search("a page exists (.*) and (.*)$", lines)
    assert found, lines


def test_more_photos_than_slots_names_the_freedoms_that_would_make_some() -> None:
    """It is not the template alone that has no room for a third photo."""
    lines = told(ONLY_PHOTOS, photos(WIDE, HIGH, WIDE), without=frozenset({"add-slot", "swap-role"}))
    assert lines.splitlines() == [
        "these cannot be had together: all 3 photos; add-slot switched off",
        "a page exists with --leave-out 1 or with add-slot allowed again",
    ]


def case_of(made: Any, given: Sequence[Any], monkeypatch: pytest.MonkeyPatch, **options: Any) -> Case:
    """Return the case that is explained for a page that must not exist."""
    asked: list[Case] = []

    def note(case: Case, *_: Any) -> tuple[str, ...]:
        asked.append(case)
        return ("noted",)

    monkeypatch.setattr("fitter.api.reasons", note)
    assert fit(made, given, **options).reasons == ("noted",)
    return asked[0]


OFF = frozenset({"add-slot", "swap-role"})


def test_a_clash_is_smallest(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing but the clash kept there is no page; without any one of it there is."""
    case = case_of(ONLY_PHOTOS, photos(WIDE, HIGH), monkeypatch, words=40, without=OFF)
    clash = Clashes(case, Trials()).least_clash()
    assert clash.demands and not clash.unsettled
    every = demands(case)
    kept = {demand.what for demand in clash.demands}
    alone = [demand for demand in every if demand.what not in kept]
    assert Trials().verdict(without(case, alone)) == "impossible"
    for name in kept:
        rest = [demand for demand in every if demand.what not in kept - {name}]
        assert Trials().verdict(without(case, rest)) == "possible"


def test_no_trial_goes_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """All limits are deterministic, and the same reasons come again."""
    case = case_of(ONLY_PHOTOS, photos(WIDE, HIGH), monkeypatch, words=40, without=OFF)
    limits: list[Effort] = []

    def noted(problems: Sequence[Problem], *, effort: Effort, **others: Any) -> Outcome:
        limits.append(effort)
        return search(problems, effort=effort, **others)

    monkeypatch.setattr("fitter.trials.search", noted)
    first = reasons(case, ())
    assert limits and all(effort.wall is None for effort in limits)
    assert reasons(case, ()) == first


def test_the_limit_counts_for_all_trials_together_and_is_owned_up_to(monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing left of the limit nothing is blamed and nothing is promised."""
    case = case_of(ONLY_PHOTOS, photos(WIDE, HIGH), monkeypatch, words=40, without=OFF)
    monkeypatch.setattr("fitter.reasons.Trials", lambda stop: Trials(stop, total=0.0))
    assert reasons(case, ()) == (
        "what clashes was not found out within the limits",
        "what would help was not found within the limits",
    )


@pytest.mark.parametrize("total", [0.05, 0.1, 0.2, 0.4])
def test_a_clash_not_proved_smallest_says_so(total: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is left open is told, or there is nothing left open."""
    case = case_of(ONLY_PHOTOS, photos(WIDE, HIGH), monkeypatch, words=40, without=OFF)
    clash = Clashes(case, Trials(total=total)).least_clash()
    monkeypatch.setattr("fitter.reasons.Trials", lambda stop: Trials(stop, total=total))
    assert any("not" in line and "within the limits" in line for line in reasons(case, ())) or not clash.unsettled
