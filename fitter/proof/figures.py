"""Key figures of a page in words, as the heading, the comparison sheet and the slot list show them."""

from __future__ import annotations

from pathlib import PurePosixPath

from fitter.change_words import together
from fitter.layout import Layout, Placed, PlacedPhoto
from fitter.units import format_size

MILLION = 1_000_000


def cost_words(layout: Layout) -> str:
    """Return the total cost as a number with three decimals."""
    return f"{layout.costs.total / MILLION:.3f}"


def search_words(layout: Layout) -> str:
    """Return how good the page is known to be."""
    if layout.search.status == "proved":
        return "proved best"
    return f"within {_percent(layout.search.gap)} of the best"


def cut_away(photo: PlacedPhoto) -> float:
    """Return the share of a picture outside its crop window, 0 to 1."""
    left, top, right, bottom = photo.crop
    return 1 - (right - left) * (bottom - top) / (photo.pixels[0] * photo.pixels[1])


def losses(layout: Layout) -> list[tuple[str, str]]:
    """Return what photos lose on average, by their weights: what of the pictures is cut away, what of them is lost.

    The second counts what panels and other things hide too, and goes by what matters in the pictures where that is
    known.  Nothing is returned without photos, or costs stated for them.
    """
    weights = {photo.file: photo.weight for photo in layout.given.photos}
    shown = [(e.photo, weights.get(e.photo.file, 1.0)) for e in layout.elements if e.photo is not None]
    total = sum(weight for _, weight in shown)
    term = layout.costs.terms.get("crop-loss")
    if term is None or total <= 0:
        return []
    of_what = "what matters" if any(photo.importance for photo in layout.given.photos) else "pictures"
    return [
        ("cut away", f"{_percent(sum(cut_away(photo) * weight for photo, weight in shown) / total)} of pictures"),
        ("cut away or covered", f"{_percent(term / (total * MILLION))} of {of_what}"),
    ]


def cost_terms(layout: Layout) -> list[str]:
    """Return every cost of the page that shows in three decimals, as weighted, the largest first."""
    terms = [(layout.costs.weights.get(name, 1.0) * value, name) for name, value in layout.costs.terms.items()]
    shown = sorted((term for term in terms if term[0] >= MILLION / 2000), key=lambda term: (-term[0], term[1]))
    return [f"{name} {value / MILLION:.3f}" for value, name in shown]


def smallest_ppi(layout: Layout) -> int | None:
    """Return the lowest effective resolution on the page."""
    return min((e.photo.ppi for e in layout.elements if e.photo is not None), default=None)


def key_figures(layout: Layout) -> list[tuple[str, str]]:
    """Return caption and value of each key figure."""
    found = [
        ("page", format_size(layout.page.trim)),
        ("cost", cost_words(layout)),
        ("search", search_words(layout)),
    ]
    found += losses(layout)
    ppi = smallest_ppi(layout)
    if ppi is not None:
        found.append(("smallest resolution", f"{ppi} ppi"))
    return found


def change_words(layout: Layout) -> list[str]:
    """Return what was changed, waived and left out: a sentence for each kind of change."""
    sentences = [*together(layout.changes)] or ["The template as it was drawn."]
    sentences += [f"Waived {w.rule} for {w.element}: {w.why}" for w in layout.waived]
    if layout.left_out:
        sentences.append(f"Left out: {', '.join(PurePosixPath(file).name for file in layout.left_out)}.")
    return sentences


def slot_words(element: Placed) -> str:
    """Return one line for the slot list."""
    if element.photo is not None:
        kept = 1 - cut_away(element.photo)
        name = element.photo.file.replace("\\", "/").rsplit("/", 1)[-1]
        return f"{element.id}: {name}, {_percent(kept)} shown, {element.photo.ppi} ppi"
    if element.text is not None:
        return f"{element.id}: {element.role}, {element.text.size_pt:g} pt"
    return f"{element.id}: {element.role}"


def _percent(share: float) -> str:
    """Return a share as per cent, with a decimal below ten."""
    return f"{share * 100:.1f} %" if share < 0.0995 else f"{share * 100:.0f} %"
