"""The linear relaxation's bounds are proved in integers."""

from __future__ import annotations

import pytest

from solver.relax import Bound, Relaxation, RelaxedRow
from solver.simplex import Simplex


def programme(rows: list[tuple[dict[int, int], int | None, int | None]], cost: tuple[int, ...]) -> Relaxation:
    """Return a relaxation over variables of 0 to 10."""
    made = [RelaxedRow(tuple(terms), tuple(terms.values()), low, high) for terms, low, high in rows]
    return Relaxation([0] * len(cost), [10] * len(cost), list(cost), 0, made)


def bound_of(relaxation: Relaxation) -> Bound:
    """Return the bound over the whole programme."""
    found = Simplex(relaxation).bound(*relaxation.bounds())
    assert found is not None
    return found


def test_bound_by_hand() -> None:
    """Minimise 3x + 2y with x + y ≥ 4 and x ≥ 1: x = 1, y = 3, cost 9."""
    bound = bound_of(programme([({0: 1, 1: 1}, 4, None), ({0: 1}, 1, None)], (3, 2)))
    assert bound.value == 9


def test_numbers_beyond_64_bits_stay_exact() -> None:
    """Minimise 2⁵⁰·x + y with 2⁵⁰·x ≥ 3·2⁵⁰ and y ≥ 1: exactly 3·2⁵⁰ + 1, by way of numbers twenty bits longer."""
    huge = 1 << 50
    bound = bound_of(programme([({0: huge}, 3 * huge, None), ({1: 1}, 1, None)], (huge, 1)))
    assert bound.value == 3 * huge + 1
    assert bound.reduced == [0, 0]


def test_an_empty_programme_is_proved_empty() -> None:
    """A sum x + y ≥ 21 is out of reach of variables up to 10; x + y ≥ 20 is not."""
    empty = bound_of(programme([({0: 1, 1: 1}, 21, None)], (1, 1)))
    assert empty.value is None
    full = bound_of(programme([({0: 1, 1: 1}, 20, None)], (1, 1)))
    assert full.value == 20


def test_contradicting_rows_are_proved_empty() -> None:
    """The rows x − y ≥ 1, y − z ≥ 1 and z − x ≥ 1 cannot hold together."""
    rows: list[tuple[dict[int, int], int | None, int | None]] = [
        ({0: 1, 1: -1}, 1, None),
        ({1: 1, 2: -1}, 1, None),
        ({2: 1, 0: -1}, 1, None),
    ]
    found = bound_of(programme(rows, (1, 1, 1)))
    assert found.value is None


@pytest.mark.parametrize("cutoff", [8, 9, 10])
def test_reduced_costs_rule_out_only_what_costs_more(cutoff: int) -> None:
    """With a bound of 9, nothing can be had for 8; at 9 every variable of reduced cost 0 still can."""
    bound = bound_of(programme([({0: 1, 1: 1}, 4, None), ({0: 1}, 1, None)], (3, 2)))
    assert (bound.reduced[1] <= bound.allowance(cutoff)) == (cutoff >= 9)
