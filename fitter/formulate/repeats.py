"""Which clusters of a frame can be repeated where: the freedom ``repeat-cluster``.

A few *extensions* of a frame, each a reference layout of its own and so a symmetry class of its own.  A copy stands
beside its cluster, another copy or a slot, with an edge in line with it and the template's own gap (where there is no
room for that 1/4, else 1/8 in) between; it lies inside the safe box and clear of everything.  What is tied to slots,
such as mats, may reach into the gap.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fitter.formulate import rates as r
from fitter.formulate.lines import TOLERANCE, candidates, usual_gap
from fitter.formulate.scene import COUNTED, GRID
from fitter.formulate.settings import CLOSEST, Settings
from fitter.layout import Copy, Repeat
from fitter.pages import Page
from fitter.parts import Part
from fitter.reference import Member, Reference, reference_layout
from fitter.reference_boxes import around, covers, extents
from fitter.reference_copies import Box, Turn, box_of, copied, copy_name, members_of, repeated, turned_size
from fitter.template import TEXT_ROLES, Element, Point, Template
from fitter.units import INCH

MOST_COPIES = 3
MOST_EXTENSIONS = 3
"""Extensions offered of each frame."""
ALIKE_EXTENSIONS = 2
"""Of these, at most so many of the same cluster with as many copies, turned and mirrored alike."""
BEAM = 6
"""Places of a copy that are kept for adding another."""
GAPS = (INCH // 4, INCH // 8)
_OUTSIDE = 3
"""Where the merit of a repetition says how many of its copies reach out of the drawing."""
CLEAR = CLOSEST
"""Least distance of a copy from everything else."""
_WAYS: tuple[tuple[Turn, bool], ...] = (
    (0, False),
    (0, True),
    (180, False),
    (180, True),
    (90, False),
    (270, False),
    (90, True),
    (270, True),
)


@dataclass(frozen=True)
class Extension:
    """Copies of a cluster in a frame, and how far (in micrometres) the drawing slid to make room for them."""

    repeat: Repeat
    slide: int


@dataclass(frozen=True)
class _Way:
    """A cluster turned or mirrored: its size without what is tied, and what it covers with its corner at 0, 0."""

    rank: int
    turn: Turn
    mirror: bool
    size: Point
    taken: tuple[Box, ...]


@dataclass(frozen=True)
class _Place:
    """A copy in its place; the smaller ``merit``, the better."""

    merit: tuple[int, ...]
    copy: Copy
    box: Box
    taken: tuple[Box, ...]


def missing(template: Template, settings: Settings) -> tuple[int, int]:
    """Return how many more photo slots, and spots for words, there would have to be for everything given."""
    slots = sum(1 for e in template.elements if e.role == "photo" and e.tie not in ("mat", "carried"))
    spots = sum(1 for e in template.elements if e.role == "journaling")
    texts = {ids[0] for ids in settings.needs if not settings.items[ids[0]].is_title}
    return max(0, len(settings.photos) - slots), max(0, len(texts) - spots)


def extensions(template: Template, page: Page, member: Member, settings: Settings) -> tuple[Extension, ...]:
    """Return the most promising ways to repeat a cluster on a page, best first; none where no slot is missing."""
    wanted = missing(template, settings)
    if not any(wanted) or not settings.may("repeat-cluster") or Part("repeated") in settings.forbidden:
        return ()
    found: dict[Extension, tuple[int, ...]] = {}
    plain = reference_layout(template, page, member)
    for slide in _slides(plain, settings):
        reference = plain if not slide else reference_layout(template, page, member, slide)
        standing = (e for e in reference.elements if e.tie not in ("mat", "carried"))
        for name in sorted({e.cluster for e in standing if e.cluster}):
            for merit, repeat in _Frame(reference, page, name, wanted).repeats():
                extension = _centred(template, page, member, reference, Extension(repeat, slide))
                found[extension] = min(merit, found.get(extension, merit))
    least: dict[tuple[object, ...], int] = {}
    for extension, merit in found.items():
        least[_kind(extension)] = min(merit[_OUTSIDE], least.get(_kind(extension), merit[_OUTSIDE]))
    kept: list[Extension] = []
    seen: Counter[tuple[object, ...]] = Counter()
    for extension in sorted(found, key=lambda e: found[e]):
        kind = _kind(extension)
        fits = len(kept) < MOST_EXTENSIONS and seen[kind] < ALIKE_EXTENSIONS
        if fits and found[extension][_OUTSIDE] == least[kind]:
            kept.append(extension)
            seen[kind] += 1
    return tuple(kept)


def _kind(extension: Extension) -> tuple[object, ...]:
    """Return what is repeated, and how each copy is turned and mirrored."""
    return (extension.repeat.cluster, *((c.turn, c.mirror) for c in extension.repeat.copies))


def _slides(reference: Reference, settings: Settings) -> tuple[int, ...]:
    """Return how far the drawing may slide first: not at all, or to either end; not where anything stays behind."""
    stays = any(e.bleeds and e.role != "background" for e in reference.elements)
    if reference.free is None or stays or not settings.may("shift"):
        return (0,)
    low, high = reference.slack
    return tuple(sorted({-(-low // GRID) * GRID, 0, high // GRID * GRID}, key=abs))


def _centred(template: Template, page: Page, member: Member, reference: Reference, extension: Extension) -> Extension:
    """Move a drawing that slid, with its copies, to the middle of the page."""
    if reference.free is None:
        return extension
    axis = 0 if reference.free == "x" else 1
    shown = [extents(e) for e in repeated(reference, extension.repeat).elements if not e.bleeds]
    ends = min(b[axis] for b in shown), max(b[axis + 2] for b in shown)
    step = (page.safe[axis] + page.safe[axis + 2] - ends[0] - ends[1]) // (2 * GRID) * GRID
    other = reference_layout(template, page, member, extension.slide + step)
    far = (step, 0) if axis == 0 else (0, step)
    if any(
        e.center != ((o.center[0] + far[0], o.center[1] + far[1]) if not e.bleeds else o.center)
        for e, o in zip(other.elements, reference.elements, strict=True)
    ):
        return extension
    copies = tuple(replace(c, at=(c.at[0] + far[0], c.at[1] + far[1])) for c in extension.repeat.copies)
    return Extension(replace(extension.repeat, copies=copies), extension.slide + step)


class _Frame:
    """A frame, one of its clusters, and what is in the way of copies."""

    def __init__(self, reference: Reference, page: Page, cluster: str, wanted: tuple[int, int]) -> None:
        self.page = page
        self.cluster = cluster
        self.wanted = wanted
        self.members = members_of(reference.elements, cluster)
        self.names = {e.id for e in reference.elements}
        self.box = box_of(self.members)
        self.taken = [extents(e) for e in reference.elements if e.role != "background"]
        slots = [e for e in candidates(reference.elements) if e.role in COUNTED]
        self.loose = [e for e in reference.elements if not e.bleeds]
        self.anchors = [e.box for e in slots if e not in self.members]
        self.own = [e.box for e in slots if e in self.members]
        self.gaps = _gaps(reference)

    @cached_property
    def drawn(self) -> Box:
        """The box around everything that does not bleed, such as the cluster if it may be repeated."""
        return around(self.loose)

    def repeats(self) -> Iterator[tuple[tuple[int, ...], Repeat]]:
        """Return the ways to repeat the cluster, each with its merit: the smaller, the better."""
        gain = _gain(self.members, self.wanted)
        if not self._whole() or not any(gain):
            return
        ways = self._ways()
        rows: list[tuple[_Place, ...]] = [()]
        for count in range(1, MOST_COPIES + 1):
            if all((count - 1) * new >= lack for new, lack in zip(gain, self.wanted, strict=True)):
                return
            longer: dict[frozenset[Box], tuple[_Place, ...]] = {}
            for row in rows:
                for place in self._places(ways, row):
                    longer.setdefault(frozenset(p.box for p in (*row, place)), (*row, place))
            rows = sorted(longer.values(), key=_merit)[:BEAM]
            spare = [count * new - lack for new, lack in zip(gain, self.wanted, strict=True)]
            price = r.REPEAT_CLUSTER * count + sum(r.DROP * s if s > 0 else -r.ADD_SLOT * s for s in spare)
            for row in rows:
                yield (price, count, *_merit(row)), Repeat(self.cluster, tuple(place.copy for place in row))

    def _whole(self) -> bool:
        """Whether the cluster can be repeated at all: nothing bleeds, nothing is tied to what is not in it."""
        ids = {e.id for e in self.members}
        copies = {copy_name(name, number) for name in ids for number in range(1, MOST_COPIES + 1)}
        loose = all(e.role != "background" and not e.bleeds and (e.on is None or e.on in ids) for e in self.members)
        return loose and not copies & self.names

    def _ways(self) -> list[_Way]:
        """Return the cluster turned and mirrored, looks that are the same only once.

        By a quarter only what has neither words nor ornaments, which stay upright.
        """
        upright = any(e.role in TEXT_ROLES or e.role == "embellishment" for e in self.members)
        seen = set()
        ways = []
        for rank, (turn, mirror) in enumerate(_WAYS):
            if upright and turn in (90, 270):
                continue
            made = copied(self.members, Copy(turn, mirror, (0, 0)), 1)
            look = tuple(sorted((e.role, e.shape, e.center, e.size, e.tilt, e.outline) for e in made))
            if look in seen:
                continue
            seen.add(look)
            size = turned_size((self.box[2] - self.box[0], self.box[3] - self.box[1]), turn)
            ways.append(_Way(rank, turn, mirror, size, tuple(extents(e) for e in made)))
        return ways

    def _places(self, ways: Sequence[_Way], row: Sequence[_Place]) -> Iterator[_Place]:
        """Return where a copy has room, given those there are: beside something, in line with an edge of it."""
        copies = [place.box for place in row]
        taken = [*self.taken, *(box for place in row for box in place.taken)]
        homes = [self.box, *copies]
        edges = [*homes, *self.own, *self.anchors]
        beside = [(box, 0) for box in homes] + [(box, 1) for box in self.anchors]
        for way in ways:
            seen: set[Point] = set()
            for anchor, foreign in beside:
                for spots in zip(*(_beside(anchor, way.size, gap) for gap in self.gaps), strict=True):
                    found = self._first_free(way, spots, taken)
                    if found is None or spots[found][1] in seen:
                        continue
                    side, at = spots[found]
                    seen.add(at)
                    box = at[0], at[1], at[0] + way.size[0], at[1] + way.size[1]
                    shared = sum(any(abs(box[k] - edge[k]) <= TOLERANCE for edge in edges) for k in range(4))
                    outside = not covers(self.drawn, box)
                    merit = (outside + foreign - shared, outside, foreign, way.rank, found, side)
                    yield _Place(merit, Copy(way.turn, way.mirror, at), box, _moved(way.taken, at))

    def _first_free(self, way: _Way, spots: Sequence[tuple[int, Point]], taken: Sequence[Box]) -> int | None:
        """Return the number of the first gap at which a copy has room."""
        return next((n for n, (_, at) in enumerate(spots) if self._free(_moved(way.taken, at), taken)), None)

    def _free(self, shown: Sequence[Box], taken: Sequence[Box]) -> bool:
        return all(covers(self.page.safe, box) for box in shown) and not any(
            max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3]) < CLEAR for a in shown for b in taken
        )


def _merit(row: Sequence[_Place]) -> tuple[int, ...]:
    merits = [sum(values) for values in zip(*(place.merit for place in row), strict=True)]
    return (*merits, *(value for place in row for value in (*place.merit, *place.box)))


def _gain(members: Sequence[Element], wanted: tuple[int, int]) -> tuple[int, int]:
    """Return how many photo slots and spots for words that are missing a copy brings."""
    slots = sum(1 for e in members if e.role == "photo" and e.tie not in ("mat", "carried"))
    spots = sum(1 for e in members if e.role == "journaling")
    return slots if wanted[0] else 0, spots if wanted[1] else 0


def _gaps(reference: Reference) -> tuple[int, ...]:
    """Return the gaps to try: the most frequent one of the frame, 1/4 in, 1/8 in."""
    own = usual_gap(reference.elements, CLEAR)
    return tuple(dict.fromkeys(GAPS if own is None else (own, *GAPS)))


def _beside(anchor: Box, size: Point, gap: int) -> Iterator[tuple[int, Point]]:
    """Return the corners of a box beside another, at a distance, near or far edges in line; right and below first."""
    left, top, right, bottom = anchor
    for side, across in enumerate((right + gap, left - gap - size[0])):
        for y in (top, bottom - size[1]):
            yield side, (across, y)
    for side, down in enumerate((bottom + gap, top - gap - size[1])):
        for x in (left, right - size[0]):
            yield 2 + side, (x, down)


def _moved(boxes: Sequence[Box], by: Point) -> tuple[Box, ...]:
    return tuple((b[0] + by[0], b[1] + by[1], b[2] + by[0], b[3] + by[1]) for b in boxes)
