"""Key figures of a page in words, as the heading, the comparison sheet and the slot list show them."""

from __future__ import annotations

from pathlib import PurePosixPath

from fitter.change_words import together
from fitter.layout import Layout, Placed
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


def crop_loss(layout: Layout) -> float | None:
    """Return the mean share of the photos lost, weighted by importance; ``None`` without photos or record."""
    weights = {photo.file: photo.weight for photo in layout.given.photos}
    total = sum(weights.get(e.photo.file, 1.0) for e in layout.elements if e.photo is not None)
    term = layout.costs.terms.get("crop-loss")
    return None if term is None or total <= 0 else term / (total * MILLION)


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
    loss, ppi = crop_loss(layout), smallest_ppi(layout)
    if loss is not None:
        found.append(("crop loss", _percent(loss)))
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
        left, top, right, bottom = element.photo.crop
        kept = (right - left) * (bottom - top) / (element.photo.pixels[0] * element.photo.pixels[1])
        name = element.photo.file.replace("\\", "/").rsplit("/", 1)[-1]
        return f"{element.id}: {name}, {_percent(kept)} shown, {element.photo.ppi} ppi"
    if element.text is not None:
        return f"{element.id}: {element.role}, {element.text.size_pt:g} pt"
    return f"{element.id}: {element.role}"


def _percent(share: float) -> str:
    """Return a share as per cent, with a decimal below ten."""
    return f"{share * 100:.1f} %" if share < 0.0995 else f"{share * 100:.0f} %"
