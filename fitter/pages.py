"""Page sizes and the three boxes of a page: bleed, trim and safe.

Enters: a size written by the user.  Leaves: a validated :class:`Page`.  Frame of all coordinates:
origin at the trim box's top-left corner, x to the right, y down, micrometres.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from functools import cache
from typing import Literal

from fitter import resources
from fitter.errors import InputError
from fitter.units import INCH, format_length, parse_length

Side = Literal["left", "top", "right", "bottom"]
SIDES: tuple[Side, ...] = ("left", "top", "right", "bottom")

DEFAULT_BLEED = INCH // 8
DEFAULT_MARGIN = INCH // 4
SMALLEST_PAGE = 2 * INCH
LARGEST_PAGE = 40 * INCH

_SIZE = re.compile(r"\s*(?P<w>[\d./]+)\s*(?P<wu>[a-z\"]*)\s*[x×]\s*(?P<h>[\d./]+)\s*(?P<u>[a-z\"]+)\s*", re.I)


@dataclass(frozen=True)
class Page:
    """One page to fit, in micrometres.

    Parameters
    ----------
    name
        The size as the user wrote it.
    trim
        Width and height of the finished page.
    bleed
        How far pictures reach beyond the trim on every side.
    margin
        Distance of the safe box from the trim on sides without a gutter.
    gutter
        Wider margins on bound edges, by side.
    """

    name: str
    trim: tuple[int, int]
    bleed: int = DEFAULT_BLEED
    margin: int = DEFAULT_MARGIN
    gutter: dict[Side, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for length in self.trim:
            if not SMALLEST_PAGE <= length <= LARGEST_PAGE:
                raise InputError(
                    f"page {self.name!r}: a side of {format_length(length)} is outside the "
                    f"{format_length(SMALLEST_PAGE)} to {format_length(LARGEST_PAGE)} accepted"
                )
        if not 0 <= self.bleed <= INCH:
            raise InputError(f"bleed {format_length(self.bleed)} is outside 0 to 1 in")
        for side in self.gutter:
            if side not in SIDES:
                raise InputError(f"gutter side {side!r} is none of {', '.join(SIDES)}")
        left, top, right, bottom = self.safe
        if min(right - left, bottom - top) < INCH or min(self.margin, *self.margins.values()) < 0:
            raise InputError(
                f"page {self.name!r}: margins of {format_length(self.margin)} leave no room; "
                "choose smaller margins or a larger page"
            )

    @property
    def margins(self) -> dict[Side, int]:
        """Distance from trim to safe box on each side (the gutter's where there is one)."""
        return {side: self.gutter.get(side, self.margin) for side in SIDES}

    @property
    def safe(self) -> tuple[int, int, int, int]:
        """Left, top, right and bottom of the safe box."""
        m = self.margins
        return m["left"], m["top"], self.trim[0] - m["right"], self.trim[1] - m["bottom"]

    @property
    def bleed_box(self) -> tuple[int, int, int, int]:
        """Left, top, right and bottom of the bleed box."""
        return -self.bleed, -self.bleed, self.trim[0] + self.bleed, self.trim[1] + self.bleed


@cache
def page_table() -> dict[str, tuple[int, int]]:
    """Return the named page sizes of ``shared/page-sizes.json`` as width, height in micrometres."""
    rows = json.loads(resources.read_text("page-sizes.json"))["sizes"]
    return {row["name"]: (row["width_um"], row["height_um"]) for row in rows}


def parse_page_size(text: str) -> tuple[str, tuple[int, int]]:
    """Read a page size: a name of the table, or ``12x12in``, ``8.5x11in``, ``210x297mm``.

    Returns
    -------
    tuple
        The name as written, and width and height in micrometres.

    Raises
    ------
    InputError
        When it is neither a name nor a size.
    """
    name = text.strip().lower()
    if name in page_table():
        return name, page_table()[name]
    match = _SIZE.fullmatch(name)
    if match is None:
        raise InputError(
            f"page size {text[:40]!r} is not known; write a size such as 12x12in or 210x297mm, "
            f"or one of {', '.join(page_table())}"
        )
    unit = match["u"]
    width = parse_length(match["w"] + (match["wu"] or unit), what="page width")
    height = parse_length(match["h"] + unit, what="page height")
    return name, (width, height)


def size_name(size: tuple[int, int]) -> str:
    """Write a page size the way users do.

    Examples
    --------
    >>> size_name((304800, 304800)), size_name((210000, 297000))
    ('12x12in', '210x297mm')
    """
    if all(side * 16 % INCH == 0 for side in size):
        return f"{size[0] / INCH:g}x{size[1] / INCH:g}in"
    return f"{size[0] / 1000:g}x{size[1] / 1000:g}mm"
