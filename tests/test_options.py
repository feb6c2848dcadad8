"""How the command line reads its options: freedoms, weights, gutters, sizes and favourites."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitter.commands.options import (
    favour,
    parse_freedoms,
    parse_gutter,
    parse_page,
    parse_weights,
)
from fitter.errors import UseError
from fitter.freedoms import FREEDOMS
from fitter.pages import Page, size_name
from fitter.photos import Photo
from fitter.units import INCH


def test_parse_freedoms() -> None:
    """Only keeps, without drops, nothing drops nothing."""
    assert parse_freedoms([], []) == frozenset()
    assert parse_freedoms([], ["crop"]) == {"crop"}
    assert parse_freedoms(["crop"], []) == frozenset(FREEDOMS) - {"crop"}


@pytest.mark.parametrize(("text", "factor"), [("0", 0.0), ("100", 100.0), ("0.05", 0.05), ("2.5", 2.5)])
def test_weights_in_range_are_read(text: str, factor: float) -> None:
    """Factors run from 0 to 100 with two decimals."""
    assert parse_weights([f"gap={text}"]) == {"gap": factor}


@pytest.mark.parametrize("text", ["", "-1", "+1", "1e2", "100.01", "0.001", "½", "1_0", "0x1", "9999"])
def test_weights_out_of_range_are_refused(text: str) -> None:
    """Signs, exponents, more decimals and foreign digits are no factors."""
    with pytest.raises(UseError):
        parse_weights([f"gap={text}"])


def test_pairs_given_twice_are_refused() -> None:
    """Two values for one name contradict each other."""
    with pytest.raises(UseError, match="twice"):
        parse_weights(["gap=1", "gap=2"])
    with pytest.raises(UseError, match="twice"):
        parse_gutter(["left=1in", "left=2in"])


def test_parse_page_keeps_the_templates_own_size() -> None:
    """A bleed alone keeps the page's size; nothing said leaves the choice to the library."""
    own = (12 * INCH, 12 * INCH)
    assert parse_page(None, None, None, [], own) is None
    assert parse_page(None, "0", None, [], own) == Page("12x12in", own, bleed=0)


@pytest.mark.parametrize(
    ("size", "name"),
    [
        ((12 * INCH, 12 * INCH), "12x12in"),
        ((215_900, 279_400), "8.5x11in"),
        ((210_000, 297_000), "210x297mm"),
    ],
)
def test_size_name(size: tuple[int, int], name: str) -> None:
    """Sizes are written the way users write them."""
    assert size_name(size) == name


def test_favour_wants_one_photo(tmp_path: Path) -> None:
    """Two photos of one name are told apart by their path."""
    photos = [Photo(tmp_path / folder / "a.jpg", folder * 64, (10, 10)) for folder in "ab"]
    with pytest.raises(UseError, match="2 photos"):
        favour(photos, ["a.jpg"])
    weighted = favour(photos, [str(tmp_path / "b" / "a.jpg")])
    assert [photo.weight for photo in weighted] == [1.0, 2.0]
