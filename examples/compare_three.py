"""Three alternatives for the same photos side by side, and what each of them costs.

Usage: python examples/compare_three.py [OUTPUT.png]
"""

from __future__ import annotations

import sys
from pathlib import Path

from fitter import Options, fit_page, read_photos, read_template
from fitter.proof import draw_comparison

PHOTOS = Path(__file__).resolve().parent / "photos"


def main(target: Path) -> None:
    names = ("hill-meadow.jpg", "creek.jpg", "north-ridge.jpg", "dandelions.jpg")
    result = fit_page(
        read_template("uneven-four"),
        read_photos([PHOTOS / name for name in names]),
        title="Up the creek",
        options=Options(top=3),
    )
    if not result.layouts:
        sys.exit("\n".join(result.reasons))
    for number, layout in enumerate(result.layouts, start=1):
        largest = sorted(layout.costs.terms.items(), key=lambda term: -term[1])[:3]
        print(
            f"{number}: {layout.costs.total / 1e6:.3f}",
            *(f"{name} {cost / 1e6:.3f}" for name, cost in largest),
        )
    draw_comparison(result.layouts, base=PHOTOS).save(target)
    print(f"drawn: {target}")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "compare.png"))
