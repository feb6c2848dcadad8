"""What a page template is: slots with roles, shapes, ties and limits.

Plain data, validated at construction.  Nothing here reads files (:mod:`fitter.template_reader` does).
All lengths are integer micrometres, x to the right, y down, tilts in degrees clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from fitter.errors import InputError
from fitter.pages import SIDES, Side

Role = Literal[
    "photo", "paper", "journaling", "title", "ribbon", "embellishment", "background"
]
ROLES: tuple[Role, ...] = (
    "photo",
    "paper",
    "journaling",
    "title",
    "ribbon",
    "embellishment",
    "background",
)
TEXT_ROLES: frozenset[Role] = frozenset({"journaling", "title"})
DECORATION_ROLES: frozenset[Role] = frozenset({"ribbon", "embellishment"})

Shape = Literal["rect", "ellipse", "path"]
Tie = Literal["mat", "carried", "lapped"]
Point = tuple[int, int]

STRIP_RATIO = 4
"""A paper this many times longer than wide is a strip."""


@dataclass(frozen=True)
class Limits:
    """What the template's author allows for one slot.

    Parameters
    ----------
    may_be
        Roles the slot may take; ``None`` means whatever the freedoms allow.
    fixed
        The slot stays exactly as drawn.
    smallest_side
        Shortest side it may have (0: no limit of its own).
    vertical
        Whether a title may run vertically when the page turns.
    """

    may_be: tuple[Role, ...] | None = None
    fixed: bool = False
    smallest_side: int = 0
    vertical: bool = False


@dataclass(frozen=True)
class Element:
    """One drawn thing of a template or of its reference layout.

    Parameters
    ----------
    id
        Unique within the template.
    role
        What it is in the template.
    shape
        ``rect``, ``ellipse`` (circles too) or ``path`` (any other outline).
    center
        Centre of its box.
    size
        Width and height of its box before tilting.  Both are even, so corners are whole micrometres.
    tilt
        Degrees clockwise, in (-45, 45] for rects, about ``center``.
    outline
        For ``path``: the polygon's points relative to ``center``, before tilting; else empty.
    bleeds
        Sides on which it runs past the trim.
    on
        For ``carried``: the element it lies on.  For ``mat``: the slot it frames.  For ``lapped``:
        the topmost neighbour below that it overlaps.
    tie
        How it belongs to ``on``; ``None`` for an element that stands alone.
    cluster
        Name of the group it was drawn in.
    limits
        What its author allows.
    color
        Fill colour of the drawing as ``#rrggbb``, if it has one.
    """

    id: str
    role: Role
    shape: Shape
    center: Point
    size: Point
    tilt: float = 0.0
    outline: tuple[Point, ...] = ()
    bleeds: tuple[Side, ...] = ()
    on: str | None = None
    tie: Tie | None = None
    cluster: str | None = None
    limits: Limits = field(default_factory=Limits)
    color: str | None = None

    def __post_init__(self) -> None:
        if self.role not in ROLES:
            raise InputError(f"element {self.id!r}: role {self.role!r} is none of {', '.join(ROLES)}")
        if min(self.size) <= 0:
            raise InputError(f"element {self.id!r}: its width and height must be larger than zero")
        if any(side not in SIDES for side in self.bleeds):
            raise InputError(f"element {self.id!r}: bleeds on an unknown side")
        if (self.shape == "path") != bool(self.outline):
            raise InputError(f"element {self.id!r}: a path needs an outline, other shapes have none")

    @property
    def is_strip(self) -> bool:
        """Whether this is a paper of 4:1 or longer."""
        return self.role == "paper" and max(self.size) >= STRIP_RATIO * min(self.size)

    @property
    def kind(self) -> str:
        """Its role in words: mats and strips are papers, but people tell them apart."""
        return "mat" if self.tie == "mat" else "strip" if self.is_strip else self.role

    @cached_property
    def box(self) -> tuple[int, int, int, int]:
        """Left, top, right, bottom of the box before tilting."""
        (x, y), (w, h) = self.center, self.size
        return x - w // 2, y - h // 2, x - w // 2 + w, y - h // 2 + h


@dataclass(frozen=True)
class Template:
    """A page drawing.

    Parameters
    ----------
    name
        File name without its ending, or the starter's name.
    size
        Width and height of the drawn page (its trim).
    elements
        Bottom to top.
    notes
        One sentence for everything the reader ignored, snapped or inferred with doubt.
    sha256
        Of the file, for the layout's record.
    file
        Path it was read from; ``None`` for templates made in code.
    """

    name: str
    size: Point
    elements: tuple[Element, ...]
    notes: tuple[str, ...] = ()
    sha256: str = ""
    file: str | None = None

    def __post_init__(self) -> None:
        ids = [element.id for element in self.elements]
        if len(set(ids)) != len(ids):
            twice = sorted({i for i in ids if ids.count(i) > 1})
            raise InputError(f"template {self.name!r}: id {twice[0]!r} is used twice")
        known = set(ids)
        for element in self.elements:
            if (element.on is None) != (element.tie is None):
                raise InputError(f"element {element.id!r}: a tie needs a partner and a partner a tie")
            if element.on is not None and (element.on not in known or element.on == element.id):
                raise InputError(
                    f"template {self.name!r}: element {element.id!r} rides on {element.on!r}, "
                    "which is not another element of the template"
                )
