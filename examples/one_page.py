"""One page by the Python interface: fit, look at what was changed, check, draw.

Usage: python examples/one_page.py [OUTPUT.png]
"""

from __future__ import annotations

import sys
from pathlib import Path

from fitter import Options, check_layout, draw_proof, fit_page, read_photos, read_template
from fitter.words import given_count

PHOTOS = Path(__file__).resolve().parent / "photos"


def main(target: Path) -> None:
    names = ("biscuit-and-pup.jpg", "figs.jpg", "last-light.jpg")
    result = fit_page(
        read_template("three-across-strip"),
        read_photos([PHOTOS / name for name in names]),
        texts=[given_count(50)],
        title="Biscuit's summer",
        options=Options(top=1, without=frozenset({"rotate-page"})),
    )
    if not result.layouts:
        sys.exit("\n".join(result.reasons))
    best = result.layouts[0]
    print(f"cost {best.costs.total / 1e6:.3f}, {best.search.status}, gap {best.search.gap:.1%}")
    for change in best.changes:
        print(f"- {change}")
    print("every rule holds:", check_layout(best, base=PHOTOS).rules_hold)
    draw_proof(best, base=PHOTOS, ppi=100).save(target)
    print(f"drawn: {target}")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "one-page.png"))
