"""What fitting says about its own result: names of pages, and why there are fewer than were asked for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter import Options, fit_page
from solver.search import search
from solver.solution import Outcome
from tests.proofs.fitting import photo, slot, template

ONE = template((6, 4), slot("photo-1", 1, 1, 4, 2))
NOTHING_ELSE = frozenset({"rotate-page", "mirror-page", "swap-role", "add-slot", "repeat-cluster", "scale"})


def test_a_page_without_a_size_is_called_by_that_of_the_template() -> None:
    """As users would write it."""
    result = fit_page(ONE, [photo(0, 1200, 600)], options=Options(top=1, without=NOTHING_ELSE, effort=1.0))
    assert result.layouts[0].page.name == "6x4in"
    assert not result.notices


def test_fewer_pages_than_asked_for_are_explained() -> None:
    """Where it is proved that there are no more, that is said."""
    options = Options(top=3, vary=("lead", "slots"), without=NOTHING_ELSE, effort=5.0)
    result = fit_page(ONE, [photo(0, 1200, 600)], options=options)
    assert len(result.layouts) == 1
    told = "1 of 3 pages: no other page is at least 0.3 different from it in the page distance and in lead and slots."
    assert result.notices == (told,)


@pytest.mark.parametrize("stopped", [True, False])
def test_limits_are_named_where_more_pages_may_be(monkeypatch: pytest.MonkeyPatch, stopped: bool) -> None:
    """But not to somebody who stopped the search."""

    def limited(problems: object, **options: object) -> Outcome:
        return replace(search(problems, **options), complete=False, stopped=stopped)  # type: ignore[arg-type]

    monkeypatch.setattr("fitter.api.search", limited)
    result = fit_page(ONE, [photo(0, 1200, 600)], options=Options(top=3, without=NOTHING_ELSE, effort=5.0))
    told = (
        "1 of 3 pages: no other page at least 0.3 different from it was found within the limits; "
        "allow more with --effort and --time-limit."
    )
    assert result.notices == (() if stopped else (told,))
