"""Whole pages: every starter fitted with photographs, once knowing their content and once not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import cycle, islice

from fitter.api import Options, fit_page
from fitter.crops import PixelBox
from fitter.formulate.keeps import Pane, choose_window
from fitter.layout import Box, GivenPhoto, Grid, Layout
from fitter.noticed import notice
from fitter.photos import Photo
from fitter.seeing.look import Looker
from fitter.starters import starter_names
from fitter.template_reader import read_template
from tests.bench.photos.measure import Tally, judged, kept_words, marks

EFFORT = 1.0
_MEGAPIXELS = 12e6


def on_pages(photos: dict[str, Photo], looker: Looker) -> None:
    """Print how much of the marks the pages keep: without content, re-cropped in the same places, and with content.

    The photographs take turns, so that each is used about equally often; they are taken for twelve megapixels each, so
    that resolution decides nothing.
    """
    seen = {name: looker.look(photo) for name, photo in photos.items()}
    queue = cycle(sorted(photos))
    sums = {"without content": Tally(), "the same pages, cropped by content": Tally(), "with content": Tally()}
    failed = []
    for starter in starter_names():
        template = read_template(starter)
        count = sum(element.role == "photo" for element in template.elements)
        chosen = [_large(photos[name]) for name in islice(queue, count)]
        noticed = notice(chosen, looker)
        for way, given in (("without content", chosen), ("with content", noticed)):
            found = fit_page(template, given, options=Options(top=1, effort=EFFORT)).layouts
            if not found:
                failed.append(f"{starter} {way}")
                continue
            for photo, crop, size in _crops(found[0], given):
                marked = marks()[photo.path.name]
                sums[way] += judged(marked, photo.pixels, crop)
                if way == "without content":
                    what = seen[photo.path.name]
                    window = on_a_page(photo, what.grid(), size, (*what.detected, *what.parts))
                    sums["the same pages, cropped by content"] += judged(marked, photo.pixels, window)
    first = sums["without content"]
    print(f"### pages: {len(starter_names())} starters, {first.slots} photos placed without content")
    print("| page | all faces kept | faces kept | subject kept | avoidable loss removed |")
    print("|---|---:|---:|---:|---:|")
    for way, tally in sums.items():
        print(f"| {way} | {kept_words(tally, first)} |")
    print(f"no page: {', '.join(failed) or 'none'}\n")


def on_a_page(photo: Photo, grid: Grid, slot: tuple[int, int], keep: tuple[Box, ...] = ()) -> PixelBox:
    """Return the window that pages show in a slot (micrometres): keep boxes whole, or as many as can be."""
    given = GivenPhoto(photo.path.name, photo.sha256, photo.pixels, importance=grid)
    found = choose_window(given, keep, Pane(slot)) or choose_window(given, (), Pane(slot), given_up=keep)
    assert found is not None
    return found[0]


def _crops(layout: Layout, given: Sequence[Photo]) -> list[tuple[Photo, tuple[int, int, int, int], tuple[int, int]]]:
    by_name = {photo.file: photo for photo in given}
    return [
        (by_name[element.photo.file], element.photo.crop, element.size) for element in layout.elements if element.photo
    ]


def _large(photo: Photo) -> Photo:
    scale = math.sqrt(_MEGAPIXELS / (photo.pixels[0] * photo.pixels[1]))
    return replace(photo, pixels=(round(photo.pixels[0] * scale), round(photo.pixels[1] * scale)))
