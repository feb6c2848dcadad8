"""Comparison sheets and template pictures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fitter.errors import UseError
from fitter.layout import Layout, Placed, Search, Waiver
from fitter.proof import draw_comparison, draw_template, figures
from fitter.proof.sheet import TINTS
from fitter.template import Element, Template

INCH = 25_400


@pytest.mark.parametrize("count, across", [(1, 1), (3, 3), (4, 4), (5, 3), (8, 4), (9, 3)])
def test_pages_stand_side_by_side(
    layout_of: Callable[..., Layout], flat: Callable[..., Placed], tmp_path: Path, count: int, across: int
) -> None:
    """Up to four pages a row, rows as even as can be; each page shows."""
    page = layout_of((flat((0, 0, 2 * INCH, 2 * INCH), "#3366aa"),))
    sheet = draw_comparison([page] * count, base=tmp_path, ppi=40)
    hits = np.asarray(sheet).reshape(-1, 3) == (0x33, 0x66, 0xAA)
    assert hits.all(axis=1).sum() == pytest.approx(count * 80 * 80, rel=0.01)
    columns = (np.asarray(sheet) == (0x33, 0x66, 0xAA)).all(axis=2).any(axis=0)
    assert np.diff(columns.astype(int)).clip(min=0).sum() == across


def test_nothing_to_compare_is_an_error(tmp_path: Path) -> None:
    """An empty comparison is a use error."""
    with pytest.raises(UseError, match="nothing to compare"):
        draw_comparison([], base=tmp_path)


def test_changes_waivers_and_left_out_photos_are_told(layout_of: Callable[..., Layout]) -> None:
    """All that differs from the wish is in the sentences below a page."""
    layout = replace(
        layout_of(()),
        waived=(Waiver("R8", "photo-2", "only 120 ppi"),),
        left_out=("cabin.jpg",),
        search=Search("feasible", 1, 0.314, 0, {}, {}),
    )
    assert figures.change_words(layout) == [
        "paper-1 became a photo.",
        "Waived R8 for photo-2: only 120 ppi",
        "Left out: cabin.jpg.",
    ]
    assert figures.search_words(layout) == "within 31 % of the best"


def test_a_template_shows_every_slot_in_its_tint() -> None:
    """The middle of each slot has the colour of its role, tilted and round slots too."""
    elements = (
        Element("background", "background", "rect", (INCH, INCH), (2 * INCH, 2 * INCH)),
        Element("paper", "paper", "rect", (INCH // 2, INCH // 2), (INCH // 2, INCH // 2), 10.0),
        Element("emb", "embellishment", "ellipse", (3 * INCH // 2, INCH // 2), (INCH // 4, INCH // 4)),
        Element("photo", "photo", "rect", (INCH, 3 * INCH // 2), (INCH, INCH // 2)),
    )
    image = draw_template(Template("tiny", (2 * INCH, 2 * INCH), elements), ppi=100)
    colors = {color for _, color in image.getcolors(image.width * image.height) or []}
    assert {TINTS[element.role] for element in elements} <= colors
