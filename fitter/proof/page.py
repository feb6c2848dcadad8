"""Step 6: the page itself, drawn from the written layout and nothing else.

Enters: a :class:`fitter.layout.Layout` and the folder its photos' names count from.  Leaves: the bleed box as
an RGB picture.  Elements go on bottom to top; photos are decoded two ahead on two threads.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

from PIL import Image

from fitter.errors import UseError
from fitter.layout import Layout, Placed
from fitter.proof.motifs import draw_motif, shadow_outline
from fitter.proof.papers import draw_paper, draw_shadow
from fitter.proof.photo import Opener, Patch, open_photo, photo_patch
from fitter.proof.shapes import Canvas
from fitter.proof.type import draw_set_text

UNPRINTED = (255, 255, 255)
"""The page where nothing is printed: white."""
SMALLEST_PPI = 18
LARGEST_PICTURE = 240_000_000
"""Most pixels of a picture this module makes, 720 MB of RGB."""

_THREADS = 2
_AHEAD = 2
_DECORATION_SHADOW = 0.7


def checked_canvas(layout: Layout, ppi: int) -> Canvas:
    """Return the canvas, or refuse a resolution that is no picture or does not fit the memory.

    Raises
    ------
    UseError
        Naming the resolutions that work.
    """
    canvas = Canvas(layout.page, ppi)
    largest = int(ppi * (LARGEST_PICTURE / (canvas.size[0] * canvas.size[1])) ** 0.5) if ppi > 0 else 0
    if ppi < SMALLEST_PPI or largest < ppi:
        most = largest if ppi > 0 else "the printer's"
        raise UseError(
            f"a proof at {ppi} ppi cannot be drawn for this page; use {SMALLEST_PPI} to {most} ppi"
        )
    return canvas


def draw_page(layout: Layout, canvas: Canvas, base: Path, opener: Opener = open_photo) -> Image.Image:
    """Draw the bleed box.

    Parameters
    ----------
    layout
        The page.
    canvas
        Its pixels.
    base
        Folder that the photos' file names are relative to.
    opener
        Opens a photo as seen; tests hand in their own.

    Returns
    -------
    PIL.Image.Image
        RGB, of ``canvas.size``.

    Raises
    ------
    InputError
        When a photo is missing or not the one the layout speaks of, or a fill is unknown.
    """
    page = Image.new("RGB", canvas.size, UNPRINTED)
    with ThreadPoolExecutor(_THREADS, thread_name_prefix="photo") as pool:
        patches = _patches(layout, canvas, base, opener, pool)
        for element in layout.elements:
            caster = _shadow_caster(element, layout)
            if caster is not None:
                soft = element.photo is None and element.role in ("ribbon", "embellishment")
                draw_shadow(page, canvas, caster, _DECORATION_SHADOW if soft else 1.0)
            if element.photo is not None:
                patch = next(patches)
                if patch is not None:
                    page.paste(patch.pixels, patch.region, patch.mask)
                    del patch
            elif element.fill is not None and element.fill.kind == "motif":
                draw_motif(page, canvas, element, element.fill)
            elif element.fill is not None:
                draw_paper(page, canvas, element, element.fill)
            if element.text is not None:
                draw_set_text(page, canvas, element.text, f"element {element.id!r}")
    return page


def _patches(
    layout: Layout, canvas: Canvas, base: Path, opener: Opener, pool: ThreadPoolExecutor
) -> Iterator[Patch | None]:
    """Yield the photos' patches in stacking order, never more than a few in memory."""
    waiting = deque(element for element in layout.elements if element.photo is not None)
    running: deque[Future[Patch | None]] = deque()
    while waiting or running:
        while waiting and len(running) < _AHEAD:
            running.append(pool.submit(photo_patch, waiting.popleft(), canvas, base, opener))
        yield running.popleft().result()


def _shadow_caster(element: Placed, layout: Layout) -> Placed | None:
    """Return what lies on the page and casts a shadow: no grounds, titles, or open-work ornaments."""
    if element.role in ("background", "title"):
        return None
    if element.photo is None and element.fill is not None and element.fill.kind == "motif":
        return shadow_outline(element, element.fill)
    left, top, right, bottom = element.box
    width, height = layout.page.trim
    whole_page = left <= 0 and top <= 0 and right >= width and bottom >= height
    return None if whole_page else element
