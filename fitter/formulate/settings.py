"""What formulating needs to know besides template and page: what was given and what is allowed."""

from __future__ import annotations

from dataclasses import dataclass, field

from fitter.formulate.content import TextItem
from fitter.formulate.rates import Rates
from fitter.formulate.sizes import FEW_EVEN
from fitter.freedoms import FREEDOMS
from fitter.layout import Before, GivenPhoto, Wishes
from fitter.parts import Part
from fitter.units import INCH

APART, CLOSEST = INCH // 8, INCH // 16
"""Micrometres photos and words keep between them where the drawing has as much, and where else there is no page."""


@dataclass(frozen=True)
class Settings:
    """The given photos and words, and what may be done with the template.

    Parameters
    ----------
    items
        Words to set.  A text that may either stand whole in one place or flow over several appears as the whole and,
        while a page is formulated, as its parts in several type sizes (:mod:`fitter.formulate.flows`); ``needs`` says
        which sets of items complete each other.
    needs
        Each: items of which exactly one is set.
    waive
        Rules that may be broken at a price, for pages that cannot obey them.
    panels
        Whether words may stand on panels on photos; found out for each class when a page is formulated.
    wishes
        For single photos and slots.
    forbidden
        Changes of single parts of the template that are not made.
    cramped
        Whether there is no page on the usual lattice, so that a wider one is needed.
    """

    photos: tuple[GivenPhoto, ...]
    items: tuple[TextItem, ...] = ()
    needs: tuple[tuple[int, ...], ...] = ()
    without: frozenset[str] = frozenset()
    rates: Rates = field(default_factory=Rates)
    target_ppi: int = 300
    min_ppi: int = 150
    leave_out: int = 0
    waive: frozenset[str] = frozenset()
    panels: bool = False
    wishes: Wishes = field(default_factory=Wishes)
    forbidden: frozenset[Part] = frozenset()
    cramped: bool = False

    @property
    def apart(self) -> int:
        """Photos and words stay so many µm from each other and all else, or as far as in the reference if that is less.

        Narrower gaps than :data:`APART` look like slips, but R3 allows them.
        """
        return CLOSEST if self.cramped else APART

    @property
    def whole_range(self) -> bool:
        """Whether things that scale evenly are offered in all scales there are."""
        return self.cramped or len(self.photos) <= FEW_EVEN

    def may(self, freedom: str) -> bool:
        """Whether a freedom is switched on."""
        assert freedom in FREEDOMS
        return freedom not in self.without

    def number_of(self, file: str) -> int:
        """Return the number of a photo."""
        return next(n for n, photo in enumerate(self.photos) if photo.file == file)

    def before(self, slot: str) -> Before | None:
        """Return what the page started from has in a slot; ``None`` if there is no such page or slot."""
        start = self.wishes.start
        return None if start is None else next((b for b in start.slots if b.slot == slot), None)

    def area_before(self, number: int) -> int:
        """Return the area of the slot a photo stood in on the page started from."""
        assert self.wishes.start is not None
        area = self.wishes.start.area(self.photos[number].sha256)
        assert area is not None
        return area
