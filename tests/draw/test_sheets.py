"""Comparison sheets and template pictures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from fitter.change_words import together
from fitter.errors import UseError
from fitter.layout import Costs, Layout, Placed, Search, Waiver
from fitter.proof import draw_comparison, draw_proof, draw_template, figures
from fitter.proof.sheet import TINTS
from fitter.proof.type import REGULAR, draw_label, label_width
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
        left_out=("/home/anna/cabin.jpg",),
        search=Search("feasible", 1, 0.314, 0, {}, {}),
    )
    assert figures.change_words(layout) == [
        "paper-1 became a photo.",
        "Waived R8 for photo-2: only 120 ppi",
        "Left out: cabin.jpg.",
    ]
    assert figures.search_words(layout) == "within 31 % of the best"


def test_a_template_names_its_slots(monkeypatch: pytest.MonkeyPatch) -> None:
    """By what options call them, where nothing lies over them; narrow ones in smaller type, the smallest not at all."""
    shown: dict[str, float] = {}

    def note(image: Image.Image, at: tuple[float, float], text: str, *_: object, pixels: float, **more: Any) -> float:
        shown[text] = pixels
        return draw_label(image, at, text, *_, pixels=pixels, **more)

    monkeypatch.setattr("fitter.proof.sheet.draw_label", note)
    elements = (
        Element("harbour", "photo", "rect", (2 * INCH, INCH), (3 * INCH, INCH)),
        Element("harbour-at-night", "photo", "rect", (INCH, 3 * INCH), (INCH * 6 // 10, INCH)),
        Element("a-name-that-is-too-long", "paper", "rect", (3 * INCH, 3 * INCH), (INCH // 4, INCH // 4)),
    )
    draw_template(Template("tiny", (4 * INCH, 4 * INCH), elements), ppi=100)
    assert shown["harbour-at-night"] < shown["harbour"]
    assert "a-name-that-is-too-long" not in shown


def many_changes(layout: Layout) -> Layout:
    """A page with so many changes that they do not fit one by one, and costs large, small and none."""
    slots = [f"slot-{number}" for number in range(1, 13)]
    told = [f"Made {slot} {number} × 2 in instead of 1 × 1 in." for number, slot in enumerate(slots)]
    told += [f"Moved {slot} 0.25 in up." for slot in slots] + [f"Dropped bow-{number}." for number in range(5)]
    costs = {"crop-loss": 100_000, "hole": 20_000, "gap": 3_000, "order": 2_000, "ppi": 1_000, "shift": 499, "drop": 0}
    return replace(layout, changes=tuple(told), costs=Costs(126_499, costs, {"hole": 2.0}))


@pytest.mark.parametrize("draw", ["proof", "comparison"])
def test_every_change_is_told_inside_the_picture(
    layout_of: Callable[..., Layout], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, draw: str
) -> None:
    """None is left for the layout file, no line ends in an ellipsis, none is cut off by the border."""
    layout = many_changes(layout_of(()))
    labels: list[tuple[float, float, str]] = []

    def note(image: Image.Image, at: tuple[float, float], text: str, *_: object, **more: Any) -> float:
        left = at[0] - label_width(text, REGULAR, more["pixels"]) * (more.get("align") == "right")
        right = left + label_width(text, REGULAR, more["pixels"])
        assert left >= 0 and right <= image.width and at[1] + more["pixels"] < image.height
        labels.append((*at, text))
        return draw_label(image, at, text, *_, **more)

    monkeypatch.setattr("fitter.proof.compare.draw_label", note)
    monkeypatch.setattr("fitter.proof.frame.draw_label", note)
    if draw == "proof":
        draw_proof(layout, base=tmp_path, ppi=150)
    else:
        draw_comparison([layout, layout], base=tmp_path, ppi=200)
    shown = " ".join(text for _, _, text in labels)
    assert all(f"slot-{number}" in shown for number in range(1, 13)) and "bow-4" in shown
    assert "…" not in shown and "more" not in shown
    assert draw == "proof" or "crop-loss 0.100   hole 0.040   gap 0.003   order 0.002   ppi 0.001" in shown


def test_changes_of_a_kind_share_a_sentence() -> None:
    """What changed alike stands together; moves in many ways are told by the farthest; the rest stays as it is."""
    assert together(
        [
            "Rotated the page by 90° clockwise.",
            "Used the paper spot paper-1 as photo.",
            "Used the paper spot paper-2 as photo.",
            "Divided photo-1 into a row of 2 photos.",
            "Moved photo-1 0.25 in up.",
            "Rotated the slot photo-2 by a quarter turn.",
            "Rotated the slot photo-3 by a quarter turn.",
            "Made photo-3 3 × 4 1/2 in instead of 3 × 4 in.",
            "Moved photo-2 0.5 in left and 1.25 in up.",
            "Made title 3 × 4 1/2 in instead of 3 × 4 in.",
            "Moved photo-3 0.5 in left.",
            "Added a photo slot of 2 × 2 in in free room.",
        ]
    ) == (
        "Rotated the page by 90° clockwise.",
        "Used the paper spots paper-1 and paper-2 as photo.",
        "Divided photo-1 into a row of 2 photos.",
        "Moved photo-1, photo-2 and photo-3 by up to 1.25 in.",
        "Rotated the slots photo-2 and photo-3 by a quarter turn.",
        "Resized photo-3 and title to 3 × 4 1/2 in.",
        "Added a photo slot of 2 × 2 in in free room.",
    )


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
