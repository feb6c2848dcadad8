"""``python -m tests.bench.pages``: every starter filled with mixed photos, judged by what a good page looks like.

Prints a table of lead share, gaps and near-alignments, of the drawing filled as it stands and of the page fitted; with
``--out`` the proofs too, to be looked at.  Photos are the demo's, cut to seeded mixed proportions and enlarged to about
six megapixels.  Not part of the tests: it takes some minutes and asserts nothing.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from fitter import draw_proof, fit_page, read_template
from fitter.api import Options
from fitter.check.measures import Measures, measure
from fitter.check.view import View
from fitter.layout import Given, Layout
from fitter.pages import Page
from fitter.photos import Photo, given, read_photos
from fitter.proof import save_png
from fitter.starters import starter_names
from fitter.template import Template
from fitter.units import INCH
from fitter.words import given_count
from tests.bench.instances import ASPECTS, SEED, TITLE
from tests.bench.naive import naive_layout

PHOTOS = Path(__file__).parents[2] / "examples" / "photos"
MEGAPIXELS = 6_000_000
WORDS = 60
LEAD = (0.25, 0.40)
"""Share of the picture area of a lead photo (common practice, no source)."""


@dataclass(frozen=True)
class Judged:
    """A starter's page: what was found of it, and the same drawing filled without changing anything.

    ``third`` is the distance of the lead photo's centre from the nearest third-line, ``outer`` the narrowest white
    around what does not bleed, ``widest`` the widest gap up to 1/2 in; micrometres.
    """

    name: str
    photos: int
    status: str
    drawn: Measures
    fitted: Measures
    third: int
    outer: int
    widest: int


def main() -> int:
    """Fit every starter, print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.pages", description=__doc__)
    parser.add_argument("--out", type=Path, help="folder for the proofs")
    parser.add_argument("--only", default="", help="only starters whose name contains this")
    parser.add_argument("--effort", type=float, default=6.0, help="deterministic seconds a page")
    parser.add_argument("--ppi", type=int, default=110, help="resolution of the proofs")
    asked = parser.parse_args()
    if asked.out is not None:
        asked.out.mkdir(parents=True, exist_ok=True)
    found = []
    with tempfile.TemporaryDirectory(prefix="fitter-pages-") as folder:
        for name in starter_names():
            if asked.only in name:
                found.append(_judge(name, Path(folder), asked))
                print(_row(found[-1]), flush=True)
    print("\n" + table(found))
    return 0


def table(found: list[Judged]) -> str:
    """Return the Markdown table."""
    head = (
        "| starter | photos | search | lead share, drawn → fitted | lead to a third-line | gaps repeated "
        "| almost aligned | outer white ≥ widest gap | white |\n|---|---:|---|---:|---:|---:|---:|---|---:|"
    )
    return "\n".join([head, *(_row(one) for one in found)])


def _row(one: Judged) -> str:
    fitted = one.fitted
    return (
        f"| `{one.name}` | {one.photos} | {one.status} | {one.drawn.lead_share:.0%} → {fitted.lead_share:.0%} "
        f"| {one.third / INCH:.2f} in | {fitted.repeated_gaps} of {len(fitted.gaps)} | {len(fitted.near_misses)} "
        f"| {'yes' if one.outer >= one.widest else 'no'}, {one.outer / INCH:.2f} / {one.widest / INCH:.2f} in "
        f"| {fitted.white_space:.0%} |"
    )


def _judge(name: str, folder: Path, asked: argparse.Namespace) -> Judged:
    template = read_template(name)
    photos = mixed_photos(template, folder / name)
    titled = TITLE if any(e.role == "title" for e in template.elements) else None
    texts = (given_count(WORDS),) if any(e.role == "journaling" for e in template.elements) else ()
    result = fit_page(template, photos, texts=texts, title=titled, options=Options(top=1, effort=asked.effort))
    layout = result.layouts[0]
    naive = naive_layout(template, Page("template", template.size), Given(given(tuple(photos)), texts, titled))
    if asked.out is not None:
        picture = draw_proof(layout, base=folder, ppi=asked.ppi)
        save_png(picture, asked.out / f"{name}.png", overwrite=True, ppi=asked.ppi)
    fitted = measure(layout)
    gap = f"gap {layout.search.gap:.0%}" if layout.search.status == "feasible" else "proved"
    widest = max((g for g in fitted.gaps if g <= INCH // 2), default=0)
    third, outer = third_line(layout, fitted), outer_white(layout)
    return Judged(name, len(photos), gap, measure(naive), fitted, third, outer, widest)


def mixed_photos(template: Template, folder: Path) -> list[Photo]:
    """Write a photo for every photo slot of a template: the demo's, in mixed proportions; return them."""
    count = sum(e.role == "photo" for e in template.elements)
    dice = random.Random(f"{SEED}:{template.name}")
    aspects = dice.sample(ASPECTS, count)
    sources = sorted(PHOTOS.glob("*.jpg"))
    dice.shuffle(sources)
    folder.mkdir(parents=True)
    paths = []
    for number, aspect in enumerate(aspects):
        paths.append(folder / f"{number + 1}-{sources[number % len(sources)].name}")
        _cut(sources[number % len(sources)], aspect).save(paths[-1], quality=88)
    return list(read_photos(paths))


def _cut(source: Path, aspect: tuple[int, int]) -> Image.Image:
    with Image.open(source) as picture:
        width, height = picture.size
        across = min(width, height * aspect[0] // aspect[1])
        down = min(height, width * aspect[1] // aspect[0])
        left, top = (width - across) // 2, (height - down) // 2
        side = (MEGAPIXELS / (aspect[0] * aspect[1])) ** 0.5
        size = round(aspect[0] * side), round(aspect[1] * side)
        return picture.convert("RGB").resize(size, Image.Resampling.LANCZOS, (left, top, left + across, top + down))


def third_line(layout: Layout, fitted: Measures) -> int:
    """Return how far the lead photo's centre is from the nearest line at a third of the page, micrometres."""
    lead = next(e for e in layout.elements if e.id == fitted.lead)
    both = zip(lead.center, layout.page.trim, strict=True)
    return min(abs(3 * c - n * side) // 3 for c, side in both for n in (1, 2))


def outer_white(layout: Layout) -> int:
    """Return the least distance of anything that does not bleed from the trim, micrometres."""
    width, height = layout.page.trim
    boxes = [e.box for e in View(layout).elements if not e.bleeds and e.role != "background"]
    return min(min(b[0], b[1], width - b[2], height - b[3]) for b in boxes)


if __name__ == "__main__":
    raise SystemExit(main())
