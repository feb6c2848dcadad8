"""Album pages drawn from seeds: SVG text that the template reader reads like anybody's drawing.

Enters: a number.  Leaves: the same drawing every time.  Five kinds take turns (:data:`KINDS`), each over a page
divided by straight cuts with one gap, as album pages are:

* ``tiers`` – upright slots, plain or on mats, now and then over a strip or bled off the edges;
* ``tilted`` – matted photos a few degrees askew over strips, with ornaments at their corners;
* ``clusters`` – a lead photo beside one or two groups of small ones drawn as clusters;
* ``underlay`` – a photo over most of the page with matted photos and cards lying on it;
* ``rich`` – everything on mats, with ribbons, panels and ornaments, up to thirty elements.

Lengths are inches, in sixteenths.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

KINDS = ("tiers", "tilted", "clusters", "underlay", "rich")
SHEETS = ((12.0, 12.0), (11.0, 8.5), (8.5, 11.0), (10.0, 10.0))
FEWEST, MOST = 6, 30
BLEED = 0.125
MAT = 0.125
SMALLEST, LONGEST = 1.625, 2.1
"""Shortest side of a cell, in inches, and the longest in shorter ones."""
PAPERS = ("#e6dfd2", "#d9e2d4", "#e3d3cb", "#d5dde3", "#efe9dc")
GROUNDS = ("#faf7f1", "#f4f1ea", "#f6f4f0")
PHOTO, CARD, ACCENT = "#8fa3ad", "#f7f3ea", "#c98b3c"


@dataclass(frozen=True)
class Cell:
    """A rectangle of the page: left, top, width and height."""

    x: float
    y: float
    w: float
    h: float

    @property
    def area(self) -> float:
        """In square inches."""
        return self.w * self.h

    def inset(self, across: float, down: float) -> Cell:
        """Return the cell narrowed on all four sides."""
        return Cell(self.x + across, self.y + down, self.w - 2 * across, self.h - 2 * down)


@dataclass
class _Drawing:
    """A page being drawn: lines of SVG, bottom to top."""

    dice: random.Random
    width: float
    height: float
    paper: str
    ground: str
    lines: list[str] = field(default_factory=list)
    count: int = 0
    numbers: dict[str, int] = field(default_factory=dict)

    def rect(self, role: str, at: Cell, fill: str, *, numbered: bool = True) -> None:
        """Draw a rectangle named after its role."""
        name = self._name(role) if numbered else role
        box = f'x="{at.x:g}" y="{at.y:g}" width="{at.w:g}" height="{at.h:g}"'
        self.lines.append(f'  <rect id="{name}" {box} fill="{fill}"/>')
        self.count += 1

    def circle(self, role: str, x: float, y: float, radius: float, fill: str) -> None:
        """Draw a circle named after its role."""
        self.lines.append(f'  <circle id="{self._name(role)}" cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="{fill}"/>')
        self.count += 1

    def star(self, x: float, y: float, radius: float) -> None:
        """Draw a four-pointed ornament."""
        inner = 0.4 * radius
        spots = [(0, -radius), (inner, -inner), (radius, 0), (inner, inner)]
        spots += [(-a, -b) for a, b in spots]
        points = " ".join(f"{x + a:g},{y + b:g}" for a, b in spots)
        self.lines.append(f'  <polygon id="{self._name("embellishment")}" points="{points}" fill="{ACCENT}"/>')
        self.count += 1

    def open(self, attributes: str) -> None:
        """Begin a group."""
        self.lines.append(f"  <g {attributes}>")

    def close(self) -> None:
        """End a group."""
        self.lines.append("  </g>")

    def text(self) -> str:
        """Return the drawing."""
        size = f'width="{self.width:g}in" height="{self.height:g}in" viewBox="0 0 {self.width:g} {self.height:g}"'
        return "\n".join([f'<svg xmlns="http://www.w3.org/2000/svg" {size}>', *self.lines, "</svg>", ""])

    def _name(self, role: str) -> str:
        self.numbers[role] = self.numbers.get(role, 0) + 1
        return f"{role}-{self.numbers[role]}"


def kind_of(number: int) -> str:
    """Return the kind of a drawing."""
    return KINDS[number % len(KINDS)]


def drawing(number: int) -> str:
    """Return a page as SVG text.

    Parameters
    ----------
    number
        From 0; the kinds take turns.
    """
    dice = random.Random(f"album page {number}")
    width, height = SHEETS[(number // len(KINDS)) % len(SHEETS)]
    page = _Drawing(dice, width, height, dice.choice(PAPERS), dice.choice(GROUNDS))
    page.rect("background", Cell(0, 0, width, height), page.ground, numbered=False)
    {"tiers": _tiers, "tilted": _tilted, "clusters": _clusters, "underlay": _underlay, "rich": _rich}[kind_of(number)](
        page
    )
    assert FEWEST <= page.count <= MOST, (number, page.count)
    return page.text()


def _tiers(page: _Drawing) -> None:
    dice = page.dice
    cells = _cells(page, dice.randint(5, 9), gap=dice.choice((0.125, 0.1875, 0.25)))
    if dice.random() < 0.4:
        _strip(page)
    title, card, rest = _words(page, cells)
    matted = dice.random() < 0.35
    for cell in rest:
        if cell is min(rest, key=lambda c: c.area) and len(rest) > 4:
            page.rect("paper", cell, page.paper)
        else:
            _photo(page, cell, matted=matted)
    _cards(page, title, card)


def _tilted(page: _Drawing) -> None:
    dice = page.dice
    cells = _cells(page, dice.randint(4, 6), gap=0.25)
    _strip(page)
    title, card, rest = _words(page, cells)
    for cell in rest:
        tilt = dice.choice((-1, 1)) * dice.choice((1.5, 2, 3, 4, 5, 6))
        room = _tilted_room(cell, abs(tilt))
        page.open(f'transform="translate({cell.x + cell.w / 2:g} {cell.y + cell.h / 2:g}) rotate({tilt:g})"')
        at = Cell(-room.w / 2, -room.h / 2, room.w, room.h)
        page.rect("paper-mat", at, "#ffffff")
        page.rect("photo", at.inset(MAT, MAT), PHOTO)
        page.close()
    _cards(page, title, card)
    for cell in dice.sample(rest, min(2, len(rest))):
        page.star(_sixteenth(cell.x + cell.w - 0.75), _sixteenth(cell.y + cell.h - 0.6875), 0.375)


def _clusters(page: _Drawing) -> None:
    dice = page.dice
    cells = _cells(page, dice.randint(4, 5), gap=0.25)
    title, card, rest = _words(page, cells)
    rest.sort(key=lambda c: -c.area)
    for number, cell in enumerate(rest):
        if number in (1, 2) and min(cell.w, cell.h) >= 2.25 and (number == 1 or dice.random() < 0.5):
            page.open(f'data-cluster="set {number}"')
            for place, small in enumerate(_parts(cell, 0.125, dice)):
                role, fill = ("paper", page.paper) if place == 2 and dice.random() < 0.4 else ("photo", PHOTO)
                page.rect(role, small, fill)
            page.close()
        else:
            _photo(page, cell, matted=number == 0 and dice.random() < 0.5)
    _cards(page, title, card)
    lead = rest[0]
    page.circle("embellishment", lead.x + lead.w - 0.5, lead.y + lead.h - 0.5, 0.3125, ACCENT)


def _underlay(page: _Drawing) -> None:
    """A photo bled off three sides; below its middle a row of matted photos and a card across its lower edge."""
    dice, margin = page.dice, 0.5
    low = _sixteenth(page.height * dice.choice((0.58, 0.66, 0.72)))
    page.rect("photo", Cell(-BLEED, -BLEED, page.width + 2 * BLEED, low + BLEED), PHOTO)
    count = 2 if page.width < 10 else dice.randint(2, 3)
    gap = 0.375
    top = _sixteenth(low - page.height * dice.choice((0.12, 0.18)))
    band = Cell(margin, top, page.width - 2 * margin, page.height - top - margin)
    wide = _sixteenth((band.w - count * gap) / (count + 1))
    spots = [Cell(band.x + n * (wide + gap), band.y, wide, band.h) for n in range(count)]
    last = band.x + count * (wide + gap)
    spots.append(Cell(last, band.y, band.x + band.w - last, band.h))
    at = dice.randrange(count + 1)
    card = spots.pop(at)
    for cell in spots:
        tall = _sixteenth(cell.h * dice.choice((0.75, 0.85, 1.0)))
        _photo(page, Cell(cell.x, cell.y, cell.w, max(tall, 1.5)), matted=True)
    heading = Cell(margin + 0.25, 0.75, _sixteenth(page.width * 0.6), 1.25)
    _cards(page, heading if dice.random() < 0.7 else None, card)
    if dice.random() < 0.6:
        page.rect("ribbon", Cell(-BLEED, page.height - 0.4375, page.width + 2 * BLEED, 0.1875), ACCENT)


def _rich(page: _Drawing) -> None:
    dice = page.dice
    cells = _cells(page, dice.randint(7, 11), gap=0.25)
    _strip(page)
    title, card, rest = _words(page, cells)
    for number, cell in enumerate(rest):
        if number == len(rest) - 1:
            page.rect("paper", cell, page.paper)
            page.circle("embellishment", cell.x + cell.w / 2, cell.y + cell.h / 2, 0.3125, ACCENT)
            continue
        _photo(page, cell, matted=True)
        if number < 4:
            page.star(_sixteenth(cell.x + cell.w - 0.5), _sixteenth(cell.y + 0.5), 0.25)
    _cards(page, title, card)
    y = 0.25
    page.rect("ribbon", Cell(-BLEED, y, page.width + 2 * BLEED, 0.125), ACCENT)
    page.rect("ribbon", Cell(-BLEED, page.height - y - 0.125, page.width + 2 * BLEED, 0.125), ACCENT)


def _photo(page: _Drawing, cell: Cell, *, matted: bool) -> None:
    if matted:
        page.rect("paper-mat", cell, "#ffffff")
        cell = cell.inset(MAT, MAT)
    page.rect("photo", cell, PHOTO)


def _cards(page: _Drawing, title: Cell | None, card: Cell | None) -> None:
    if title is not None:
        page.rect("title", title, "#efe9dc", numbered=False)
    if card is not None:
        page.rect("journaling", card, CARD, numbered=False)


def _strip(page: _Drawing) -> None:
    """Lay a band of paper under everything, across the page or from top to bottom."""
    broad = page.dice.choice((1.5, 2.0, 2.5))
    if page.dice.random() < 0.5:
        top = _sixteenth(page.dice.uniform(0.25, 0.6) * page.height)
        page.rect("paper-strip", Cell(-BLEED, top, page.width + 2 * BLEED, broad), page.paper)
    else:
        left = _sixteenth(page.dice.uniform(0.15, 0.6) * page.width)
        page.rect("paper-strip", Cell(left, -BLEED, broad, page.height + 2 * BLEED), page.paper)


def _words(page: _Drawing, cells: list[Cell]) -> tuple[Cell | None, Cell | None, list[Cell]]:
    """Set apart a flat cell for the title and a middling one for the card; the rest comes largest first."""
    rest = sorted(cells, key=lambda c: -c.area)
    title = card = None
    if page.dice.random() < 0.75:
        flat = max(rest[1:], key=lambda c: (c.w / c.h, c.y))
        rest.remove(flat)
        title = flat
        if flat.h >= 1.25 + 0.25 + SMALLEST:
            title = Cell(flat.x, flat.y, flat.w, 1.25)
            rest.append(Cell(flat.x, flat.y + 1.5, flat.w, flat.h - 1.5))
            rest.sort(key=lambda c: -c.area)
        elif flat.h > 1.5:
            # What is left of the cell stays empty paper.
            title = Cell(flat.x, flat.y, flat.w, 1.5)
    if page.dice.random() < 0.85:
        card = rest.pop(page.dice.choice((1, page.dice.randrange(1, len(rest)))))
    return title, card, rest


def _cells(page: _Drawing, count: int, *, gap: float) -> list[Cell]:
    """Divide the page inside its margin by straight cuts."""
    dice, margin = page.dice, page.dice.choice((0.5, 0.625, 0.75))
    cells = [Cell(margin, margin, page.width - 2 * margin, page.height - 2 * margin)]
    while len(cells) < count:
        cells.sort(key=lambda c: -c.area)
        cuts = [(cell, parts) for cell in cells if (parts := _good_cut(cell, count - len(cells) + 1, gap, dice))]
        if not cuts:
            break
        whole, parts = cuts[0]
        cells.remove(whole)
        cells += parts
    return sorted(cells, key=lambda c: (c.y, c.x))


def _good_cut(cell: Cell, most: int, gap: float, dice: random.Random) -> list[Cell]:
    """Cut a cell into two or three (at most ``most``) of fair size and proportions; empty if that cannot be."""
    ways = [(1 / 3, 1 / 3, 1 / 3), (0.5, 0.5), (0.6, 0.4), (0.4, 0.6), (0.62, 0.38)]
    for shares in dice.sample(ways, len(ways)):
        parts = _cut(cell, shares, gap)
        fair = all(min(p.w, p.h) >= SMALLEST and max(p.w, p.h) <= LONGEST * min(p.w, p.h) for p in parts)
        if fair and len(shares) <= most:
            return parts
    return []


def _cut(cell: Cell, shares: Sequence[float], gap: float) -> list[Cell]:
    """Cut the longer side by shares."""
    across = cell.w >= cell.h
    room = (cell.w if across else cell.h) - gap * (len(shares) - 1)
    lengths = [_sixteenth(room * share) for share in shares[:-1]]
    lengths.append(room - sum(lengths))
    made, at = [], 0.0
    for length in lengths:
        made.append(Cell(cell.x + at, cell.y, length, cell.h) if across else Cell(cell.x, cell.y + at, cell.w, length))
        at += length + gap
    return made


def _parts(cell: Cell, gap: float, dice: random.Random) -> list[Cell]:
    """Divide a cell into four, six, or a row or column of three."""
    if (max(cell.w, cell.h) >= 1.7 * min(cell.w, cell.h) and min(cell.w, cell.h) < 3) or dice.random() < 0.2:
        return _cut(cell, (1 / 3, 1 / 3, 1 / 3), gap)
    many = max(cell.w, cell.h) >= 3.75 and dice.random() < 0.5
    halves = _cut(cell, (1 / 3, 1 / 3, 1 / 3) if many else (0.5, 0.5), gap)
    return [part for half in halves for part in _cut_other(half, cell.w < cell.h, gap)]


def _cut_other(cell: Cell, across: bool, gap: float) -> list[Cell]:
    if across:
        half = _sixteenth((cell.w - gap) / 2)
        return [Cell(cell.x, cell.y, half, cell.h), Cell(cell.x + half + gap, cell.y, cell.w - half - gap, cell.h)]
    half = _sixteenth((cell.h - gap) / 2)
    return [Cell(cell.x, cell.y, cell.w, half), Cell(cell.x, cell.y + half + gap, cell.w, cell.h - half - gap)]


def _tilted_room(cell: Cell, degrees: float) -> Cell:
    """Return a box that stays inside the cell when it is turned about its centre by a few degrees."""
    sine = math.sin(math.radians(degrees))
    width = _sixteenth(cell.w - cell.h * sine - 0.0625)
    height = _sixteenth(cell.h - cell.w * sine - 0.0625)
    return Cell(0, 0, width, height)


def _sixteenth(length: float) -> float:
    return round(length * 16) / 16
