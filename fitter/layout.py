"""What a finished page is: the content of a layout file, as plain frozen data.

Field names are those of the ``page-layout/1`` file format, except ``source`` which is written as
``from``.  Everything needed to check and redraw a page is in here; everything that differs from run
to run (times, dates, workers) is not.  Lengths are integer micrometres, x right, y down, tilts in
degrees clockwise; pixels and crops count in the picture as seen.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from fitter.pages import Page, Side
from fitter.template import Element, Point, Role, Shape

FORMAT = "page-layout/1"
Box = tuple[float, float, float, float]
Grid = tuple[tuple[int, ...], ...]
Lattice = dict[str, int | tuple[float, ...]]
"""Steps (``…_um`` in micrometres, ``…_px`` in pixels) and scales by name."""


@dataclass(frozen=True)
class GivenPhoto:
    """A photo handed in for the page.

    ``keep`` are regions marked by the user, ``detected`` regions found by software, each as x, y, width and
    height in 0…1 of the picture as seen.  ``order`` is the photo's place in reading order of time,
    from 0.  ``weight`` multiplies its crop loss (1 for an ordinary photo).  ``importance`` says how much of what
    matters lies where: rows from the top of whole numbers in proportion, over the whole picture, evenly within
    each cell; empty if it is the same everywhere.
    """

    file: str
    sha256: str
    pixels: Point
    keep: tuple[Box, ...] = ()
    detected: tuple[Box, ...] = ()
    weight: float = 1.0
    order: int = 0
    taken: str | None = None
    importance: Grid = ()

    def __hash__(self) -> int:
        """Tell photos apart without looking through all that is known of them."""
        return hash((self.file, self.sha256, self.weight, self.order))


@dataclass(frozen=True)
class GivenText:
    """Words handed in: real text, or filler standing for a word count (``filler``).

    ``slot`` names the template slot the user chose for it, if any.
    """

    text: str
    words: int
    filler: bool = False
    slot: str | None = None


@dataclass(frozen=True)
class Shown:
    """A photo in a slot of an earlier page: the hash of its file, and the size of its slot (or piece of it)."""

    sha256: str
    size: Point


@dataclass(frozen=True)
class Before:
    """What an earlier page has in a slot of the template.

    ``role`` is ``None`` where it has nothing there; ``center`` and ``size`` are those of the outer box before tilting,
    ``division`` says how the slot is divided among its ``photos``, ``words`` names the texts on it, on a panel on its
    photo too.
    """

    slot: str
    role: Role | None
    center: Point = (0, 0)
    size: Point = (0, 0)
    photos: tuple[Shown, ...] = ()
    division: Literal["row", "column", "grid"] | None = None
    turned: bool = False
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class Start:
    """The page another one starts from: how it was turned and mirrored, its size, and its slots.

    ``added`` are the photos in slots that its template does not have.
    """

    rotate: Literal[0, 90, 180, 270]
    mirror: bool
    page: Point
    slots: tuple[Before, ...]
    added: tuple[Shown, ...] = ()

    def area(self, sha256: str) -> int | None:
        """Return the area, in square micrometres, of the slot that holds a photo; ``None`` if none does."""
        shown = [*(photo for slot in self.slots for photo in slot.photos), *self.added]
        return next((photo.size[0] * photo.size[1] for photo in shown if photo.sha256 == sha256), None)


@dataclass(frozen=True)
class Wishes:
    """What the user wishes for single photos and slots; all binding but ``start``, which is a preference.

    Parameters
    ----------
    start
        The page to stay close to (cost ``departure``).
    pins
        A photo's file and the slot it is to stand in.
    stay
        Slots that stay as they are in ``start``.
    avoid
        Slots that are to hold neither photo nor words.
    bigger, smaller
        Files of photos whose slot is to have at least 10 % more, or less, area than in ``start``.
    """

    start: Start | None = None
    pins: tuple[tuple[str, str], ...] = ()
    stay: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    bigger: tuple[str, ...] = ()
    smaller: tuple[str, ...] = ()

    @property
    def bind(self) -> bool:
        """Whether any of them is binding."""
        return bool(self.pins or self.stay or self.avoid or self.bigger or self.smaller)


@dataclass(frozen=True)
class Given:
    """Everything the page was asked for."""

    photos: tuple[GivenPhoto, ...]
    texts: tuple[GivenText, ...] = ()
    title: str | None = None
    leave_out: int = 0
    target_ppi: int = 300
    min_ppi: int = 150
    without: tuple[str, ...] = ()
    wishes: Wishes = field(default_factory=Wishes)


@dataclass(frozen=True)
class TemplateRef:
    """Which template a layout came from."""

    name: str
    sha256: str
    size: Point
    file: str | None = None


@dataclass(frozen=True)
class Rescale:
    """A group of elements scaled together, charged once.

    ``group`` is ``template``, ``photos``, ``others`` or ``cluster:NAME``; ``factor`` its scale.
    """

    group: str
    factor: float


@dataclass(frozen=True)
class Copy:
    """A copy of a cluster: mirrored left–right first, then turned clockwise by ``turn`` degrees.

    ``at`` is the left top corner of the box around its elements, before they are tilted; mats and what is carried do
    not count.
    """

    turn: Literal[0, 90, 180, 270]
    mirror: bool
    at: Point


@dataclass(frozen=True)
class Repeat:
    """A cluster and its copies in the reference layout.

    What the first copy has of an element ``photo-1`` is called ``photo-1~2``, of the second ``photo-1~3`` and so on.
    """

    cluster: str
    copies: tuple[Copy, ...]


@dataclass(frozen=True)
class Transform:
    """How the template became the reference layout.

    Mirrored left–right first, then rotated clockwise by ``rotate`` degrees, then scaled evenly by
    ``scale`` and moved by ``offset``; ``repeat`` says which cluster was then repeated.
    """

    rotate: Literal[0, 90, 180, 270] = 0
    mirror: bool = False
    scale: float = 1.0
    offset: Point = (0, 0)
    rescale: Rescale | None = None
    repeat: Repeat | None = None


@dataclass(frozen=True)
class Split:
    """Which piece of a slot divided among several photos this is (``index`` from 0)."""

    kind: Literal["row", "column", "grid"]
    index: int
    count: int


@dataclass(frozen=True)
class PlacedPhoto:
    """A photo in its slot.

    ``crop`` is left, top, right, bottom in whole pixels of the picture as seen; ``ppi`` the effective
    resolution, rounded down.
    """

    file: str
    sha256: str
    pixels: Point
    crop: tuple[int, int, int, int]
    ppi: int


@dataclass(frozen=True)
class Fill:
    """How an element without a photo is painted.

    ``kind`` is ``flat`` (one colour), ``pattern`` (a quiet paper pattern named in ``motif``), or
    ``motif`` (a geometric ornament named in ``motif``); ``color`` the ground, ``accent`` the ink.
    """

    kind: Literal["flat", "pattern", "motif"]
    color: str
    accent: str | None = None
    motif: str | None = None


@dataclass(frozen=True)
class Ink:
    """Box of the set lines: its centre and size before tilting."""

    center: Point
    size: Point


@dataclass(frozen=True)
class SetText:
    """Words as set: broken into lines.

    ``font`` is a family of ``shared/fonts``; ``align`` is ``left`` or ``center``; ``tilt`` the angle the
    lines run at (the card's tilt up to 15°, else 0; of a vertical title 90° before or beyond that); ``which``
    is ``title`` or ``text-N``, the N-th given text.
    """

    which: str
    lines: tuple[str, ...]
    font: str
    size_pt: float
    leading_pt: float
    color: str
    ink: Ink
    tilt: float = 0.0
    align: Literal["left", "center"] = "left"


@dataclass(frozen=True)
class Placed:
    """One element of the finished page.

    Parameters
    ----------
    source
        Id of the reference element it came from (``from`` in the file); ``None`` for an added one.
    turned
        Whether a photo slot was rotated by a quarter turn.
    split
        Which piece of a divided slot it is; ``None`` when the slot is whole.
    room
        For an added element: the free rectangle (left, top, right, bottom) of the reference layout it was put in.
    on
        What it rides on, as in :class:`fitter.template.Element`, in ids of the finished page's sources.
    """

    id: str
    source: str | None
    role: Role
    shape: Shape
    center: Point
    size: Point
    tilt: float = 0.0
    outline: tuple[Point, ...] = ()
    bleeds: tuple[Side, ...] = ()
    on: str | None = None
    tie: Literal["mat", "carried", "lapped"] | None = None
    turned: bool = False
    split: Split | None = None
    room: tuple[int, int, int, int] | None = None
    photo: PlacedPhoto | None = None
    fill: Fill | None = None
    text: SetText | None = None

    @classmethod
    def drawn(cls, element: Element) -> Placed:
        """Return an element of a template or a reference as it is there, empty."""
        return cls(
            id=element.id,
            source=element.id,
            role=element.role,
            shape=element.shape,
            center=element.center,
            size=element.size,
            tilt=element.tilt,
            outline=element.outline,
            bleeds=element.bleeds,
            on=element.on,
            tie=element.tie,
        )

    @cached_property
    def box(self) -> tuple[int, int, int, int]:
        """Left, top, right, bottom of the box before tilting."""
        (x, y), (w, h) = self.center, self.size
        return x - w // 2, y - h // 2, x - w // 2 + w, y - h // 2 + h


@dataclass(frozen=True)
class Waiver:
    """A rule this page breaks because no page at all obeys it."""

    rule: Literal["R5", "R8"]
    element: str
    why: str


@dataclass(frozen=True)
class Costs:
    """The page's cost, in millionths; ``terms`` before weighting, ``total`` after."""

    total: int
    terms: dict[str, int]
    weights: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Search:
    """How good the page is known to be.

    ``status`` is ``proved`` only when ``bound`` equals the cost reached over the published lattice, which ``lattice``
    records: steps of places, sizes and crops, and the factors by which things are scaled.
    """

    status: Literal["proved", "feasible"]
    bound: int
    gap: float
    seed: int
    lattice: Lattice
    versions: dict[str, str]


@dataclass(frozen=True)
class Layout:
    """One finished page."""

    page: Page
    given: Given
    template: TemplateRef
    transform: Transform
    reference: tuple[Element, ...]
    elements: tuple[Placed, ...]
    dropped: tuple[str, ...]
    waived: tuple[Waiver, ...]
    left_out: tuple[str, ...]
    changes: tuple[str, ...]
    notes: tuple[str, ...]
    costs: Costs
    search: Search
    format: str = FORMAT
    unit: str = "um"
