"""Step 4, place: a solution as a layout in micrometres, with crops, set words and colours.

Enters: a formulation and one of its solutions.  Leaves: a :class:`~fitter.layout.Layout` complete but for its
search record.  Everything is worked out in the frame of the symmetry class and flipped to the page at the end, in
exact integers; pictures and words are never flipped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from fitter.crops import PixelBox
from fitter.formulate import Formulation
from fitter.formulate.content import Config, TextItem, piece_boxes
from fitter.formulate.covers import covers_of
from fitter.formulate.scene import GRID, SLIDE, Atom
from fitter.formulate.sights import Sight, sights_of
from fitter.layout import (
    Placed,
    PlacedPhoto,
    Rescale,
    Split,
    Waiver,
)
from fitter.pages import Page
from fitter.place_words import Words, set_words
from fitter.reference import Member, Reference, flip_element, reference_layout
from fitter.reference_boxes import turn
from fitter.reference_copies import box_of, flipped_repeat, members_of, repeated
from fitter.template import Element, Point, Template
from fitter.units import INCH, nearest
from solver.solution import Solution


@dataclass(frozen=True)
class PlacedPage:
    """A page as placed, before it is painted; see :class:`fitter.layout.Layout` for the fields."""

    reference: Reference
    elements: tuple[Placed, ...]
    dropped: tuple[str, ...]
    waived: tuple[Waiver, ...]
    left_out: tuple[int, ...]
    rescale: Rescale | None
    member: Member


def place(template: Template, formulation: Formulation, solution: Solution) -> PlacedPage:
    """Return the page a solution stands for."""
    return _Placing(template, formulation, solution).page()


class _Placing:
    """One run of step 4: the decoded solution at hand for all its parts."""

    def __init__(self, template: Template, formulation: Formulation, solution: Solution) -> None:
        self.template = template
        self.formulation = formulation
        self.solution = solution
        self.scene = formulation.scene
        self.settings = formulation.settings
        self.page_size: Page = formulation.page
        self.member = self.scene.members[solution.member]
        self.configs = [options[index] for options, index in zip(formulation.configs, solution.columns, strict=True)]

    def page(self) -> PlacedPage:
        scene, solution = self.scene, self.solution
        slide = self._slide()
        along = slide[0] if scene.reference.free == "x" else slide[1]
        reference = self._reference(along * GRID)
        final = {e.id: e for e in reference.elements}
        placed: list[Placed] = []
        top: list[Placed] = []
        waived: list[Waiver] = []
        for element in reference.elements:
            if element.role == "background":
                placed.append(Placed.drawn(element))
                continue
            atom = next(a for a in scene.atoms if a.element.id == element.id)
            if not self._present(atom):
                continue
            if atom.part == "block":
                made, above = self._block(atom, final[element.id])
                placed += made
                top += above
                waived += self._waivers(atom, made)
            elif atom.part == "mat":
                placed.append(self._mat(atom, final[element.id]))
            else:
                placed.append(self._rider(atom, final[element.id]))
        for atom in scene.blocks:
            if atom.added and self._present(atom):
                placed += self._block(atom, flip_element(atom.element, self.page_size, self.member.flips))[0]
        elements = tuple(placed + [self._panel(panel, placed) for panel in top])
        kept = {e.source for e in elements}
        scaling = None if solution.group is None else self.formulation.scalings[solution.group]
        return PlacedPage(
            reference=reference,
            elements=elements,
            dropped=tuple(e.id for e in reference.elements if e.id not in kept),
            waived=tuple(waived),
            left_out=solution.left_out,
            rescale=None if scaling is None else Rescale(scaling.group, scaling.factor),
            member=self.member,
        )

    def _reference(self, slide: int) -> Reference:
        """Return the reference layout of the page, the copies of a cluster included."""
        extension = self.formulation.extension
        if extension is None:
            return reference_layout(self.template, self.page_size, self.member, slide)
        drawn = reference_layout(self.template, self.page_size, self.member, slide + extension.slide)
        left, top, right, bottom = box_of(members_of(drawn.elements, extension.repeat.cluster))
        size = right - left, bottom - top
        return repeated(drawn, flipped_repeat(extension.repeat, size, self.page_size, self.member.flips))

    def _slide(self) -> tuple[int, int]:
        free = self.scene.reference.free
        if free is None:
            return 0, 0
        amount = self.solution.places.get((free, SLIDE), 0)
        return (amount, 0) if free == "x" else (0, amount)

    def _present(self, atom: Atom) -> bool:
        if atom.part == "rider":
            return self.solution.riders[atom.rider]
        return self.configs[atom.block].role is not None

    def _center(self, atom: Atom) -> Point:
        """Return a block's centre in the frame."""
        x, y = atom.element.center
        dx, dy = self.solution.place("x", atom.block), self.solution.place("y", atom.block)
        if self.scene.slides(atom.block):
            slide = self._slide()
            dx, dy = dx + slide[0], dy + slide[1]
        return x + dx * GRID, y + dy * GRID

    def _to_page(self, center: Point) -> Point:
        flips, trim = self.member.flips, self.page_size.trim
        return (
            trim[0] - center[0] if flips[0] else center[0],
            trim[1] - center[1] if flips[1] else center[1],
        )

    def _block(self, atom: Atom, final: Element) -> tuple[list[Placed], list[Placed]]:
        """Return a block's placed elements (pieces, if divided) and the panel that goes on top, if any."""
        config = self.configs[atom.block]
        center = self._to_page(self._center(atom))
        shown = replace(
            final,
            center=center,
            size=config.size,
            outline=_scaled_outline(final, Fraction(config.size[0], final.size[0])),
        )
        drawn = Placed.drawn(shown)
        base = replace(drawn, bleeds=final.bleeds, role=config.role or drawn.role, turned=config.turned)
        if atom.added:
            left, top, right, bottom = final.box
            base = replace(base, source=None, room=(left, top, right, bottom))
        if config.division is not None:
            return self._pieces(atom, base, config), []
        above: list[Placed] = []
        if config.photos:
            base = replace(base, photo=self._photo(atom, config, config.photos[0], config.size))
            if config.panel is not None:
                above.append(
                    replace(
                        base,
                        id=f"{base.id}-words",
                        source=None,
                        role="title" if self._item(config).is_title else "journaling",
                        size=(config.panel.width, config.panel.height),
                        bleeds=(),
                        photo=None,
                        turned=False,
                        on=base.id,
                        tie=None,
                        room=base.box,
                    )
                )
        elif config.item is not None:
            reference = replace(atom.element, tilt=base.tilt)
            reference = reference if not atom.added else replace(reference, size=base.size)
            words = self._words(config.item, config.type_size, vertical=config.vertical)
            base = set_words(base, words, reference, config.clearing.insets, self.member.flips)
        return [base], above

    def _item(self, config: Config) -> TextItem:
        assert config.item is not None
        return self.settings.items[config.item]

    def _words(self, item: int, size_pt: float, *, vertical: bool = False) -> Words:
        return Words(self.settings.items[item], size_pt, self.page_size.trim[0] // 2 if vertical else None)

    def _pieces(self, atom: Atom, base: Placed, config: Config) -> list[Placed]:
        assert config.division is not None
        photos = [self.settings.photos[n] for n in config.photos]
        boxes = piece_boxes(config.size, config.division, photos)
        left0, top0 = base.center[0] - base.size[0] // 2, base.center[1] - base.size[1] // 2
        angle = math.radians(base.tilt)
        made = []
        for index, (number, (left, top, width, height)) in enumerate(zip(config.photos, boxes, strict=True)):
            center = left0 + left + width // 2, top0 + top + height // 2
            if base.tilt:
                dx, dy = center[0] - base.center[0], center[1] - base.center[1]
                center = (
                    base.center[0] + nearest(dx * math.cos(angle) - dy * math.sin(angle)),
                    base.center[1] + nearest(dx * math.sin(angle) + dy * math.cos(angle)),
                )
            sides = tuple(
                side
                for side, touches in (
                    ("left", left == 0),
                    ("top", top == 0),
                    ("right", left + width >= config.size[0] - 8),
                    ("bottom", top + height >= config.size[1] - 8),
                )
                if touches and side in base.bleeds
            )
            made.append(
                replace(
                    base,
                    id=f"{base.id}.{index + 1}",
                    center=center,
                    size=(width, height),
                    bleeds=sides,
                    split=Split(config.division.kind, index, config.division.count),
                    photo=self._photo(atom, config, number, (width, height)),
                )
            )
        return made

    def _photo(self, atom: Atom, config: Config, number: int, size: tuple[int, int]) -> PlacedPhoto:
        photo = self.settings.photos[number]
        crop = self._sight(atom, config, number).window
        return PlacedPhoto(photo.file, photo.sha256, photo.pixels, crop, effective_ppi(crop, size))

    def _sight(self, atom: Atom, config: Config, number: int) -> Sight:
        """Return how a photo shows, as it was priced: whether what may lie on it is there or not."""
        covers = covers_of(self.scene, atom)
        sight = sights_of(self.scene, atom, config, self.settings, number, covers)[self.solution.member]
        assert sight is not None
        return sight

    def _waivers(self, atom: Atom, made: list[Placed]) -> list[Waiver]:
        config = self.configs[atom.block]
        found = []
        for rule, number in config.waived:
            item = next(p for p in made if p.photo and p.photo.file == self.settings.photos[number].file)
            name = Path(self.settings.photos[number].file).name
            why = (
                f"no page shows {name} at {self.settings.min_ppi} ppi or more"
                if rule == "R8"
                else f"no page keeps every region found in {name} in view"
            )
            found.append(Waiver(rule, item.id, why))  # type: ignore[arg-type]
        return found

    def _mat(self, atom: Atom, final: Element) -> Placed:
        host = self.scene.blocks[atom.block]
        config = self.configs[atom.block]
        grown = (config.size[0] - host.element.size[0], config.size[1] - host.element.size[1])
        dx = self._center(host)[0] - host.element.center[0]
        dy = self._center(host)[1] - host.element.center[1]
        x, y = atom.element.center
        size = (atom.element.size[0] + grown[0], atom.element.size[1] + grown[1])
        factor = Fraction(size[0], atom.element.size[0])
        center = self._to_page((x + dx, y + dy))
        return replace(Placed.drawn(final), center=center, size=size, outline=_scaled_outline(final, factor))

    def _rider(self, atom: Atom, final: Element) -> Placed:
        host, element = self.scene.blocks[atom.block], atom.element
        config = self.configs[atom.block]
        scale = min(Fraction(config.size[a], host.element.size[a]) for a in (0, 1))
        local = turn(
            (element.center[0] - host.element.center[0], element.center[1] - host.element.center[1]),
            -host.element.tilt,
        )
        moved = []
        for axis in (0, 1):
            sign = -1 if local[axis] <= 0 else 1
            offset = local[axis] - sign * host.element.size[axis] / 2
            moved.append(sign * config.size[axis] / 2 + float(scale) * offset)
        dx, dy = turn((moved[0], moved[1]), host.element.tilt)
        middle = self._center(host)
        center = self._to_page((middle[0] + nearest(dx), middle[1] + nearest(dy)))
        size = (
            max(2, 2 * nearest(element.size[0] * scale / 2)),
            max(2, 2 * nearest(element.size[1] * scale / 2)),
        )
        placed = replace(Placed.drawn(final), center=center, size=size, outline=_scaled_outline(final, scale))
        for carried in config.carried:
            if carried.rider == atom.rider:
                placed = set_words(placed, self._words(carried.item, carried.type_size, vertical=carried.vertical))
        return placed

    def _panel(self, panel: Placed, placed: list[Placed]) -> Placed:
        """Put a words panel on its photo."""
        host = next(p for p in placed if p.id == panel.on)
        atom = next(a for a in self.scene.blocks if a.element.id in (host.source, host.id))
        config = self.configs[atom.block]
        spot = self._sight(atom, config, config.photos[0]).panel
        assert spot is not None and config.item is not None
        center = host.box[0] + spot[0] + panel.size[0] // 2, host.box[1] + spot[1] + panel.size[1] // 2
        return set_words(replace(panel, center=center), self._words(config.item, config.type_size))


def effective_ppi(crop: PixelBox, size: tuple[int, int]) -> int:
    """Return pixels per inch on the page, the smaller of both directions, rounded down."""
    return min((crop[2] - crop[0]) * INCH // size[0], (crop[3] - crop[1]) * INCH // size[1])


def _scaled_outline(element: Element, factor: Fraction) -> tuple[Point, ...]:
    return tuple((nearest(x * factor), nearest(y * factor)) for x, y in element.outline)
