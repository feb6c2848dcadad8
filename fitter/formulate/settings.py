"""What formulating needs to know besides template and page: what was given and what is allowed."""

from __future__ import annotations

from dataclasses import dataclass, field

from fitter.formulate.content import TextItem
from fitter.formulate.rates import Rates
from fitter.freedoms import FREEDOMS
from fitter.layout import GivenPhoto


@dataclass(frozen=True)
class Settings:
    """The given photos and words, and what may be done with the template.

    Parameters
    ----------
    items
        Words to set.  A text that may either stand whole in one place or flow over several appears
        as the whole and as its parts; ``needs`` says which sets of items complete each other.
    needs
        Each: items of which exactly one is set.
    waive
        Rules that may be broken at a price, for pages that cannot obey them.
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

    def may(self, freedom: str) -> bool:
        """Whether a freedom is switched on."""
        assert freedom in FREEDOMS
        return freedom not in self.without
