"""Planted faults in copies of a cluster: for every clause a page that breaks just that, and is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.errors import InputError
from fitter.layout import Copy, Layout, Repeat, Transform
from tests import builders as b
from tests.faults.planted import broken, holds, one


def repeating(page: Layout, *copies: Copy) -> Layout:
    """Return the page with its bloom repeated, each copy placed as the reference has it."""
    bloom = replace(next(e for e in page.reference if e.id == "bloom"), cluster="spot")
    made = [
        replace(bloom, id=f"bloom~{n}", center=(copy.at[0] + 3_175, copy.at[1] + 3_175))
        for n, copy in enumerate(copies, 2)
    ]
    return b.priced(
        replace(
            page,
            transform=Transform(repeat=Repeat("spot", copies)),
            reference=(*(bloom if e.id == "bloom" else e for e in page.reference), *made),
            elements=(*page.elements, *(b.place(e, fill=b.PALE) for e in made)),
        )
    )


BELOW = Copy(0, False, (139_700, 104_775))


def test_copies_of_a_cluster_may_stand_beside_it(page: Layout) -> None:
    """Three copies below each other, one of them mirrored and upside down, are legal."""
    others = (Copy(180, True, (139_700, 114_300)), Copy(0, True, (139_700, 120_650)))
    assert holds(repeating(page, BELOW, *others))


def test_true_copy_of_another_size(page: Layout) -> None:
    """A copy is larger than the cluster."""
    found = broken(b.both(repeating(page, BELOW), "bloom~2", size=(6_352, 6_352)), "R6")
    assert {v.element for v in found} == {"bloom~2"}


def test_true_copy_elsewhere_than_stated(page: Layout) -> None:
    """The copy stands 1 µm lower than its record says."""
    layout = b.both(repeating(page, BELOW), "bloom~2", center=(142_875, 107_951))
    assert one(layout, "R6").other == "bloom"


def test_true_copy_lies_on_something(page: Layout) -> None:
    """The copy covers a quarter of the cluster itself."""
    layout = repeating(page, Copy(0, False, (139_700, 97_000)))
    assert one(layout, "R6").other == "bloom"


def test_true_ornaments_are_not_turned_with_a_copy(page: Layout) -> None:
    """A copy is turned by a quarter, and the ornament with it."""
    assert one(repeating(page, replace(BELOW, turn=90)), "R6").element == "bloom~2"


def test_true_copy_is_missing(page: Layout) -> None:
    """The record speaks of one copy more than there are, or of a cluster that is not there."""
    layout = repeating(page, BELOW)
    more = replace(layout.transform, repeat=Repeat("spot", (BELOW, replace(BELOW, at=(139_700, 114_300)))))
    assert one(b.priced(replace(layout, transform=more)), "R6").element == "spot"
    with pytest.raises(InputError, match="repeats the cluster 'spot', which is not in the reference"):
        check_layout(replace(page, transform=Transform(repeat=Repeat("spot", (BELOW,)))))


def test_limits_four_copies(page: Layout) -> None:
    """Three copies are the most."""
    copies = [Copy(0, False, (139_700, 104_775 + 6_350 * n)) for n in range(3)]
    assert one(repeating(page, *copies, Copy(0, False, (139_700, 82_550))), "R8").element == "spot"


def test_limits_repeated_although_switched_off(page: Layout) -> None:
    """The user switched copies off."""
    assert one(b.give(repeating(page, BELOW), without=("repeat-cluster",)), "R8").other == "repeat-cluster"
