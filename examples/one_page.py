"""One page by the Python interface: fit, look at what was changed, write, check, draw.

Usage: python examples/one_page.py [OUTPUT.png]      (the layout file is written beside it)
"""

from __future__ import annotations

import sys
from pathlib import Path

from fitter import (
    Options,
    check_layout,
    draw_proof,
    fit_page,
    read_layout,
    read_photos,
    read_template,
    write_layout,
)
from fitter.words import given_count

PHOTOS = Path(__file__).resolve().parent / "photos"


def main(target: Path) -> None:
    names = ("biscuit-and-pup.jpg", "figs.jpg", "last-light.jpg")
    template = read_template("three-across-strip")
    result = fit_page(
        template,
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

    file = target.with_suffix(".json")
    write_layout(best, file, overwrite=True)
    written = read_layout(file)
    print("sound:", check_layout(written, base=file.parent, template=template).ok)
    draw_proof(written, base=file.parent, ppi=100).save(target)
    print(f"drawn: {target}")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "one-page.png"))
