"""A layout as the checker looks at it: who came from whom, what lies above, where blocks stand.

Nothing here judges; rules and costs share these look-ups so that each word of DEVELOPERS.md is
defined once.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property

from fitter.check.shapes import Box, box_around, box_inside
from fitter.layout import GivenPhoto, Grid, Layout, Placed
from fitter.template import TEXT_ROLES, Element

_FILLING = frozenset({"photo", "paper", "journaling", "title"})


class View:
    """Look-ups over one layout.

    Parameters
    ----------
    layout
        A layout without contradictions (see :func:`fitter.layout_file.contradictions`).
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.page = layout.page
        self.given = layout.given
        self.elements = layout.elements
        self.reference: dict[str, Element] = {e.id: e for e in layout.reference}
        self.stacking: dict[str, int] = {e.id: n for n, e in enumerate(layout.reference)}

    @cached_property
    def pieces(self) -> dict[str, tuple[Placed, ...]]:
        """Placed elements by the reference element they came from, whole slots as one piece."""
        made: dict[str, list[Placed]] = {}
        for item in self.elements:
            if item.source is not None:
                made.setdefault(item.source, []).append(item)
        return {key: tuple(items) for key, items in made.items()}

    @cached_property
    def dropped(self) -> frozenset[str]:
        """Ids of reference elements to which no placed element refers."""
        return frozenset(self.reference) - frozenset(self.pieces)

    @cached_property
    def added(self) -> tuple[Placed, ...]:
        """Placed elements that came from nowhere."""
        return tuple(item for item in self.elements if item.source is None)

    @cached_property
    def photos(self) -> tuple[Placed, ...]:
        """Placed elements that hold a photo, bottom to top."""
        return tuple(item for item in self.elements if item.photo is not None)

    @cached_property
    def texts(self) -> tuple[Placed, ...]:
        """Placed elements that hold set words, bottom to top."""
        return tuple(item for item in self.elements if item.text is not None)

    @cached_property
    def given_photos(self) -> dict[str, GivenPhoto]:
        """The given photos by file name."""
        return {photo.file: photo for photo in self.given.photos}

    @cached_property
    def blocks(self) -> tuple[Element, ...]:
        """Reference elements that are neither mat, carried nor background."""
        return tuple(e for e in self.layout.reference if is_block(e))

    @cached_property
    def counted_blocks(self) -> tuple[Element, ...]:
        """The blocks that fill the page: photo, paper, journaling, title, not inside another such."""
        filling = [e for e in self.blocks if e.role in _FILLING]
        return tuple(e for e in filling if not any(o is not e and box_inside(e.box, o.box) for o in filling))

    @cached_property
    def placed_blocks(self) -> tuple[Element, ...]:
        """Blocks to which a placed element refers."""
        return tuple(e for e in self.blocks if e.id in self.pieces)

    def origin(self, item: Placed) -> Element | None:
        """Return the reference element of a placed one."""
        return self.reference[item.source] if item.source is not None else None

    def above(self, item: Placed) -> tuple[Placed, ...]:
        """Return what is stacked above a placed element, bottom to top."""
        return self.elements[self.elements.index(item) + 1 :]

    def outer(self, name: str) -> Box:
        """Return the outer box of the reference element's placed pieces, before tilting."""
        return box_around([item.box for item in self.pieces[name]])

    def is_turned(self, name: str) -> bool:
        """Whether the slot was rotated by a quarter turn."""
        return any(item.turned for item in self.pieces.get(name, ()))

    def is_split(self, name: str) -> bool:
        """Whether the slot was divided."""
        return len(self.pieces.get(name, ())) > 1

    def weight(self, item: Placed) -> float:
        """Return the weight of the photo an element holds (1 when it was never given)."""
        photo = self.given_photos.get(item.photo.file) if item.photo else None
        return photo.weight if photo else 1.0

    def importance(self, item: Placed) -> Grid:
        """Return the importance of the photo an element holds; even if none is recorded."""
        photo = self.given_photos.get(item.photo.file) if item.photo else None
        return (photo.importance if photo else ()) or ((1,),)

    def lie_on_each_other(self, a: str | None, b: str | None) -> bool:
        """Whether in the reference the box of one lies inside the other's."""
        if a is None or b is None:
            return False
        one, other = self.reference[a].box, self.reference[b].box
        return box_inside(one, other) or box_inside(other, one)


def is_block(element: Element) -> bool:
    """Whether a reference element stands for itself: no mat, nothing carried, no background."""
    return element.tie not in ("mat", "carried") and element.role != "background"


def is_text(item: Placed | Element) -> bool:
    """Whether its role is to hold words."""
    return item.role in TEXT_ROLES


def doubled_center(box: Box) -> tuple[int, int]:
    """Return twice the centre of a box, which is always whole."""
    return box[0] + box[2], box[1] + box[3]


def round_half_up(value: Fraction | int) -> int:
    """Round to the nearest whole number, halves up."""
    return (2 * Fraction(value).numerator + Fraction(value).denominator) // (2 * Fraction(value).denominator)


def decimal(value: float) -> Fraction:
    """Return the decimal number a float was written as, exactly."""
    return Fraction(repr(float(value)))
