"""Tiny hand-built layouts for tests: one valid 6 × 6 in page, and ways to bend it.

The page, in micrometres (safe box 6350 … 146050)::

    mat-1 around photo-1   photo-2        y 12700 … 63500
    paper-1 (ribbon-1)     card   bloom   y 69850 … 127000
    title                                 y 130174 … 146050
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

from fitter.check import recompute
from fitter.layout import (
    Costs,
    Fill,
    Given,
    GivenPhoto,
    GivenText,
    Ink,
    Layout,
    Placed,
    PlacedPhoto,
    Search,
    SetText,
    Split,
    TemplateRef,
    Transform,
)
from fitter.pages import Page
from fitter.template import Element
from fitter.typesetting import set_block, set_title

PAGE = Page("6x6in", (152_400, 152_400))
WORDS = (
    "We rowed to the far side of Marrow Lake before breakfast and Biscuit stood in the bow the whole "
    "way, ears up, watching the mist. Nobody said much. The kettle was still warm when we came back, and "
    "the porch boards already hot under our feet."
)
TITLE = "Marrow Lake"
A = GivenPhoto("a.jpg", "a" * 64, (1500, 1200), keep=((0.4, 0.4, 0.2, 0.2),), order=0)
B = GivenPhoto("b.jpg", "b" * 64, (1350, 1200), order=1)
WHITE = Fill("flat", "#ffffff")
PALE = Fill("flat", "#f4efe6")

REFERENCE = (
    Element(
        "bg",
        "background",
        "rect",
        (76_200, 76_200),
        (158_750, 158_750),
        bleeds=("left", "top", "right", "bottom"),
    ),
    Element("mat-1", "paper", "rect", (44_450, 38_100), (69_850, 57_150), on="photo-1", tie="mat"),
    Element("photo-1", "photo", "rect", (44_450, 38_100), (63_500, 50_800)),
    Element("corner-1", "embellishment", "rect", (16_510, 16_510), (6_350, 6_350), on="photo-1", tie="carried"),
    Element("photo-2", "photo", "rect", (111_125, 38_100), (57_150, 50_800)),
    Element("paper-1", "paper", "rect", (44_450, 98_425), (63_500, 57_150)),
    Element("card", "journaling", "rect", (111_125, 98_425), (57_150, 57_150)),
    Element("ribbon-1", "ribbon", "rect", (15_875, 95_250), (19_050, 12_700), on="paper-1", tie="lapped"),
    Element("bloom", "embellishment", "rect", (142_875, 98_425), (6_350, 6_350)),
    Element("title", "title", "rect", (76_200, 138_112), (127_000, 15_876)),
)


def whole(photo: GivenPhoto, size: tuple[int, int]) -> PlacedPhoto:
    """Return a photo shown whole in a slot of its own aspect."""
    return cropped(photo, (0, 0, *photo.pixels), size)


def cropped(photo: GivenPhoto, crop: tuple[int, int, int, int], size: tuple[int, int]) -> PlacedPhoto:
    """Return a photo with a crop, its resolution worked out for a slot size."""
    ppi = min((crop[2] - crop[0]) * 25_400 // size[0], (crop[3] - crop[1]) * 25_400 // size[1])
    return PlacedPhoto(photo.file, photo.sha256, photo.pixels, crop, ppi)


def journaling(text: str, center: tuple[int, int], size: tuple[int, int], size_pt: float = 10.0) -> SetText:
    """Return words set in the middle of a card, 1/8 in from its edges."""
    made = set_block(text, size_pt=size_pt, width=size[0] - 6_350)
    assert made is not None
    return SetText(
        "text-1",
        made.lines,
        made.font,
        made.size_pt,
        made.leading_pt,
        "#333333",
        Ink(center, (made.ink_width + made.ink_width % 2, made.ink_height + made.ink_height % 2)),
    )


def title_text(center: tuple[int, int], size_pt: float = 24.0) -> SetText:
    """Return the title set on one line."""
    made = set_title(TITLE, size_pt=size_pt, width=120_650, max_lines=1)
    assert made is not None
    ink = Ink(center, (made.ink_width + made.ink_width % 2, made.ink_height + made.ink_height % 2))
    return SetText("title", made.lines, made.font, made.size_pt, made.leading_pt, "#222222", ink, align="center")


def place(element: Element, **fields: Any) -> Placed:
    """Return a reference element placed as drawn, apart from some fields."""
    made = Placed(
        element.id,
        element.id,
        element.role,
        element.shape,
        element.center,
        element.size,
        element.tilt,
        element.outline,
        element.bleeds,
        element.on,
        element.tie,
    )
    return replace(made, **fields)


def tiny() -> Layout:
    """Return the valid page: everything where the template has it, two photos, words and a title."""
    content: dict[str, dict[str, Any]] = {
        "photo-1": {"photo": whole(A, (63_500, 50_800))},
        "photo-2": {"photo": whole(B, (57_150, 50_800))},
        "card": {"fill": WHITE, "text": journaling(WORDS, (111_125, 98_425), (57_150, 57_150))},
        "title": {"text": title_text((76_200, 138_112))},
    }
    elements = tuple(place(e, **content.get(e.id, {"fill": PALE})) for e in REFERENCE)
    layout = Layout(
        page=PAGE,
        given=Given(photos=(A, B), texts=(GivenText(WORDS, len(WORDS.split())),), title=TITLE),
        template=TemplateRef("tiny", "0" * 64, (152_400, 152_400)),
        transform=Transform(),
        reference=REFERENCE,
        elements=elements,
        dropped=(),
        waived=(),
        left_out=(),
        changes=(),
        notes=(),
        costs=Costs(0, {}),
        search=Search("feasible", 0, 1.0, 0, {}, {}),
    )
    return priced(layout)


def priced(layout: Layout) -> Layout:
    """Return the layout stating the costs that the checker finds."""
    costs = recompute(layout)
    return replace(layout, costs=costs, search=replace(layout.search, gap=1.0 if costs.total else 0.0))


def change(layout: Layout, name: str, **fields: Any) -> Layout:
    """Return the layout with one placed element changed and the costs stated anew."""
    assert any(e.id == name for e in layout.elements)
    elements = tuple(replace(e, **fields) if e.id == name else e for e in layout.elements)
    return priced(replace(layout, elements=elements))


def redraw(layout: Layout, name: str, **fields: Any) -> Layout:
    """Return the layout with one reference element changed, and costs stated anew."""
    assert any(e.id == name for e in layout.reference)
    reference = tuple(replace(e, **fields) if e.id == name else e for e in layout.reference)
    return priced(replace(layout, reference=reference))


def both(layout: Layout, name: str, **fields: Any) -> Layout:
    """Return the layout with a reference element and the element placed from it changed alike."""
    return change(redraw(layout, name, **fields), name, **fields)


def move(layout: Layout, name: str, dx: int = 0, dy: int = 0) -> Layout:
    """Return the layout with one placed element, words included, moved."""
    item = element(layout, name)
    fields: dict[str, Any] = {"center": (item.center[0] + dx, item.center[1] + dy)}
    if item.text is not None:
        x, y = item.text.ink.center
        fields["text"] = replace(item.text, ink=replace(item.text.ink, center=(x + dx, y + dy)))
    return change(layout, name, **fields)


def remove(layout: Layout, *names: str) -> Layout:
    """Return the layout without some placed elements, listed as dropped, and photos left out with leave."""
    gone = [e for e in layout.elements if e.id in names]
    files = tuple(e.photo.file for e in gone if e.photo)
    return priced(
        replace(
            layout,
            elements=tuple(e for e in layout.elements if e.id not in names),
            dropped=(*layout.dropped, *names),
            left_out=(*layout.left_out, *files),
            given=replace(layout.given, leave_out=layout.given.leave_out + len(files)),
        )
    )


def insert(layout: Layout, new: Element, placed: Placed, at: int) -> Layout:
    """Return the layout with a reference element and its placed one put in at a height of the stack."""
    reference = (*layout.reference[:at], new, *layout.reference[at:])
    elements = (*layout.elements[:at], placed, *layout.elements[at:])
    return priced(replace(layout, reference=reference, elements=elements))


def split(
    layout: Layout, name: str, kind: Literal["row", "column", "grid"], boxes: Sequence[tuple[int, int, int, int]]
) -> Layout:
    """Return the layout with a slot in pieces (left, top, width, height), named as the program names them."""
    item = element(layout, name)
    pieces = tuple(
        replace(
            item,
            id=f"{name}.{n + 1}",
            center=(x + w // 2, y + h // 2),
            size=(w, h),
            split=Split(kind, n, len(boxes)),
        )
        for n, (x, y, w, h) in enumerate(boxes)
    )
    at = layout.elements.index(item)
    return priced(replace(layout, elements=(*layout.elements[:at], *pieces, *layout.elements[at + 1 :])))


def transformed(layout: Layout, **fields: Any) -> Layout:
    """Return the page made from its template in another way."""
    return priced(replace(layout, transform=Transform(**fields)))


def topped(layout: Layout, placed: Placed) -> Layout:
    """Return the layout with an element of its own on top."""
    return priced(replace(layout, elements=(*layout.elements, placed)))


def element(layout: Layout, name: str) -> Placed:
    """Return a placed element by id."""
    return next(e for e in layout.elements if e.id == name)


def give(layout: Layout, **fields: Any) -> Layout:
    """Return the layout with other wishes, costs stated anew."""
    return priced(replace(layout, given=replace(layout.given, **fields)))
