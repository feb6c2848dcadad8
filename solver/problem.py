"""The integer problem that step 2 hands over: blocks that pick columns, and linear rows between them.

Integers only.  Places are displacements from the reference in steps of one grid unit, sizes are
differences from the reference size; what the units mean is the formulating side's business.

A *block* picks exactly one *column*: a whole configuration (role, photos, size) with its whole own
cost.  A *rider* is a small thing that goes with a block and may be given up.  *Members* are the
pages of a symmetry class, of which one is chosen; *groups* are common scalings, of which at most one is.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Var = tuple[Literal["x", "y", "w", "h", "f"], int]
"""Displacement of a block's centre (grid units), change of width or height, or scale (1/4096)."""

Lit = tuple[Literal["block", "rider", "member", "group", "column", "not-rider"], int, int]
"""A truth value; the last number is the column's index for column literals, else 0."""

Terms = tuple[tuple[Var, int], ...]

Way = tuple[int, int]
"""Number of a choice, and of one of its alternatives."""


class NotMadeError(Exception):
    """A problem that is made when it is asked for was not, because the search has to end."""


@dataclass(frozen=True)
class Row:
    """``low ≤ Σ coefficient · variable ≤ high``; ``None`` leaves a side open."""

    terms: Terms
    low: int | None
    high: int | None

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"no sum is at least {self.low} and at most {self.high}: a row that nothing can keep")


@dataclass(frozen=True)
class Rule:
    """Rows that hold whenever all of ``when`` are true; ``name`` says which rule they serve."""

    name: str
    rows: tuple[Row, ...]
    when: tuple[Lit, ...] = ()


@dataclass(frozen=True)
class Choice:
    """At least one alternative (a set of rows each) holds whenever all of ``when`` are true."""

    name: str
    options: tuple[tuple[Row, ...], ...]
    when: tuple[Lit, ...] = ()


@dataclass(frozen=True)
class Soft:
    """Rows that cost ``cost`` when they do not hold although all of ``when`` are true."""

    name: str
    cost: int
    rows: tuple[Row, ...]
    when: tuple[Lit, ...] = ()


@dataclass(frozen=True)
class Track:
    """Two blocks whose edges line up on both sides of an axis: equal sizes, or one of two softs is broken.

    ``axis`` 0 speaks of widths, 1 of heights; ``softs`` are the numbers of the two alignments.
    """

    axis: int
    first: int
    second: int
    softs: tuple[int, int]


@dataclass(frozen=True)
class Lap:
    """Two boxes that may overlap at a price by area.

    ``apart`` are the alternatives of lying apart.  The overlap's sides are the smallest of the four
    differences of each axis (terms and constant); ``price`` is the cost of ``per`` square units.
    """

    name: str
    apart: tuple[tuple[Row, ...], ...]
    across: tuple[tuple[Terms, int], ...]
    down: tuple[tuple[Terms, int], ...]
    deepest: int
    longest: int
    price: int
    per: int
    when: tuple[Lit, ...] = ()


@dataclass(frozen=True)
class Column:
    """One configuration of a block.

    Parameters
    ----------
    cost
        Everything it costs by itself.
    dw, dh
        Differences from the reference width and height.
    photos
        Indices of the photos it holds.
    texts
        Indices of the words it holds.
    kind
        Number of its role and division, for telling pages apart; 0 means dropped.
    present
        Whether the block is on the page.
    scale
        Scale for what it carries, 1/4096.
    areas
        Size of each of its photos, as ranks among all sizes that occur.
    riders
        Riders that come with it (those marked ``chosen``).
    cover
        What it contributes against bare area, in cost units.
    moments
        Its moments about the page's middle, in parts of a cost unit (see :class:`Balance`).
    gains
        Per group: how much less (or more) it costs if the group is scaled; ``None`` forbids both together.
    members
        Bit set of the members it is possible in.
    clashes
        Literals that cannot be true together with it (each a set of literals).
    """

    cost: int
    dw: int = 0
    dh: int = 0
    photos: tuple[int, ...] = ()
    texts: tuple[int, ...] = ()
    kind: int = 1
    present: bool = True
    scale: int = 4096
    areas: tuple[int, ...] = ()
    cover: int = 0
    moments: tuple[int, int] = (0, 0)
    gains: tuple[int | None, ...] = ()
    members: int = -1
    clashes: tuple[tuple[Lit, ...], ...] = ()
    riders: tuple[int, ...] = ()


@dataclass(frozen=True)
class Block:
    """A thing with a place of its own.

    ``shift`` is the price of one grid unit of displacement on either axis; ``targets`` gives, per group,
    the displacement of its target place; ``swings`` what one grid unit across and down adds to the page's moments;
    ``anchored`` says along which axes it stays where it is when the page drifts.
    """

    name: str
    columns: tuple[Column, ...]
    x: tuple[int, int]
    y: tuple[int, int]
    shift: int
    targets: tuple[tuple[int, int], ...] = ()
    swings: tuple[int, int] = (0, 0)
    anchored: tuple[bool, bool] = (False, False)


@dataclass(frozen=True)
class Balance:
    """What it costs to tip the page, across and down: the moment beyond what is allowed, to either side.

    The moment is ``base``, plus ``slide`` for each grid unit of the slide, plus the ``moments`` of the columns chosen,
    plus the ``swings`` of the blocks that are there for each grid unit of displacement; ``per`` of it cost one unit.
    Where it is ``light``, relaxations leave it out: its rows hold every column, which makes all work on them dearer.
    """

    base: tuple[int, int]
    allowed: tuple[int, int]
    slide: tuple[int, int]
    per: int
    light: bool = False


@dataclass(frozen=True)
class Rider:
    """Something carried by a block; giving it up costs ``drop`` (``None``: it cannot be given up).

    A ``chosen`` rider is there exactly when a column that lists it is.
    """

    name: str
    block: int
    drop: int | None
    chosen: bool = False


@dataclass(frozen=True)
class Member:
    """One page of the class: its own cost, and the reading rank of every block on it."""

    name: str
    cost: int
    ranks: tuple[int, ...]


@dataclass(frozen=True)
class Group:
    """A common scaling with its own cost and the blocks it moves."""

    name: str
    cost: int


@dataclass(frozen=True)
class TextNeed:
    """Words that must be set: exactly one of the columns that hold one of ``ids``."""

    name: str
    ids: tuple[int, ...]


@dataclass(frozen=True)
class Problem:
    """Everything step 3 needs to know.

    ``bare`` is the cost of all counted blocks being absent, before ``cover`` is taken off.
    ``emphasis`` lists pairs (more important photo, less important photo); ``early`` pairs (earlier,
    later) whose wrong reading order costs ``order``; with ``ordered`` the order is binding.  ``areas`` are the
    photo areas by rank, ``alike`` the class of look-alike photos of each photo, ``rotations`` the degrees and
    mirroring of each member; these serve to tell pages apart.  ``near`` lists, per block, the columns nearest to a
    page that is known already, where a first page is looked for; it is empty when there is none.  An *opening* has
    a few of the pages of another problem and is quickly put together; only a first page is looked for there.  Openings
    come after all other problems, the likeliest last, and each says how many ``openings`` there are.  The page may
    *drift*: all target places but those of anchored blocks move together, along each axis by up to ``drift`` grid
    units, at ``drift_cost`` a unit.
    """

    name: str
    blocks: tuple[Block, ...]
    riders: tuple[Rider, ...]
    members: tuple[Member, ...]
    groups: tuple[Group, ...]
    photos: int
    texts: tuple[TextNeed, ...]
    rules: tuple[Rule, ...]
    choices: tuple[Choice, ...]
    softs: tuple[Soft, ...]
    laps: tuple[Lap, ...]
    tracks: tuple[Track, ...] = ()
    bare: int = 0
    balance: Balance | None = None
    emphasis: tuple[tuple[int, int], ...] = ()
    emphasis_cost: int = 0
    early: tuple[tuple[int, int], ...] = ()
    order_cost: int = 0
    ordered: bool = False
    leave_out: int = 0
    left_out_cost: int = 0
    slide: tuple[int, ...] | None = None
    drift: int = 0
    drift_cost: int = 0
    areas: tuple[int, ...] = ()
    alike: tuple[int, ...] = ()
    rotations: tuple[tuple[int, bool], ...] = ()
    near: tuple[tuple[int, ...], ...] = ()
    openings: int = 0
    facts: dict[str, int] = field(default_factory=dict)
