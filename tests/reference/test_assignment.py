"""With every freedom off but ``assign``, fitting is the assignment problem; outside check: scipy's solver.

``scipy.optimize.linear_sum_assignment`` (a modified Jonker–Volgenant algorithm, D. F. Crouse, IEEE Transactions on
Aerospace and Electronic Systems 52(4), 2016).  The price of a photo in a slot is worked out here from the formulas.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from tests.proofs.fitting import INCH, best, photo, slot, template

SLOTS = (
    ("a", 0.5, 0.5, 3.0, 2.0),
    ("b", 3.75, 0.5, 1.5, 2.0),
    ("c", 5.5, 0.5, 2.0, 2.0),
    ("d", 0.5, 2.75, 1.5, 4.5),
    ("e", 2.25, 2.75, 2.5, 1.25),
    ("f", 5.0, 2.75, 2.5, 3.5),
)


def price(pixels: tuple[int, int], weight: float, inches: tuple[float, float], target: int = 300) -> int | None:
    """Return crop loss and resolution cost of a photo cut to a slot, by hand; ``None`` under 150 ppi."""
    (pw, ph), (w, h) = pixels, inches
    if pw * h >= ph * w:
        cw, ch = min(pw, math.floor(ph * w / h + 0.5)), ph
    else:
        cw, ch = pw, min(ph, math.floor(pw * h / w + 0.5))
    ppi = min(cw / w, ch / h)
    if ppi < 150:
        return None
    loss = math.floor(weight * 1_000_000 * (1 - cw * ch / (pw * ph)) + 0.5)
    low = np.interp(ppi, [target / 2, 2 * target / 3, target], [200_000, 50_000, 0])
    return loss + math.floor(float(low) + 0.5)


@pytest.mark.parametrize("seed", range(12))
def test_assignment_is_the_optimum_scipy_finds(seed: int) -> None:
    """Six photos in six unlike slots cost what the best assignment of the price matrix costs."""
    rng = random.Random(seed)
    count = rng.choice([4, 5, 6])
    made = template((8, 8), *(slot(*s) for s in SLOTS[:count]))
    taken = [
        photo(n, rng.randrange(1200, 4000, 20), rng.randrange(1200, 4000, 20), weight=rng.choice([1.0, 1.5]))
        for n in range(count)
    ]
    prices = [[price(p.pixels, p.weight, (e.size[0] / INCH, e.size[1] / INCH)) for e in made.elements] for p in taken]
    matrix = np.array([[10**9 if c is None else c for c in row] for row in prices])
    rows, columns = linear_sum_assignment(matrix)
    wanted = int(matrix[rows, columns].sum())
    assert wanted < 10**9, "the instance must have an assignment"
    layout = best(made, taken, allow=("assign",), weights={"order": 0, "emphasis": 0})
    assert layout.costs.total == wanted
    assert sum(layout.costs.terms.get(n, 0) for n in ("crop-loss", "ppi")) == wanted


def test_without_assign_photos_stand_in_reading_order() -> None:
    """With ``assign`` off too, the photos stand in reading order whatever it costs."""
    made = template((8, 8), *(slot(*s) for s in SLOTS[:3]))
    taken = [photo(0, 1200, 1600), photo(1, 2400, 1600), photo(2, 1600, 1600)]
    layout = best(made, taken, allow=())
    assert [e.photo and e.photo.file for e in layout.elements] == [str(p.path) for p in taken]
    assert best(made, taken, allow=("assign",)).costs.total < layout.costs.total
