"""Lengths: the one place where text and other units become whole micrometres.

Everything past this module is an integer number of micrometres (1/8 in = 3175, 3 mm = 3000, both
exact).  What an element *needs* is rounded up, the room it *has* is rounded down; both happen here.
Lengths beyond :data:`LARGEST` are refused.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache

from fitter.errors import InputError

INCH = 25_400
"""Micrometres per inch (exact, by definition of the inch)."""
POINTS_PER_INCH = 72
CSS_PIXELS_PER_INCH = 96
LARGEST = 2_000_000
"""Longest length accepted anywhere, 2 m: no album page is larger."""

_UNITS: dict[str, Fraction] = {
    "in": Fraction(INCH),
    '"': Fraction(INCH),
    "mm": Fraction(1000),
    "cm": Fraction(10_000),
    "pt": Fraction(INCH, POINTS_PER_INCH),
    "pc": Fraction(INCH, 6),
    "px": Fraction(INCH, CSS_PIXELS_PER_INCH),
    "q": Fraction(250),
    "um": Fraction(1),
}
_LENGTH = re.compile(
    r"\s*(?P<number>\d{1,7}(?:\.\d{1,9})?(?:\s*/\s*\d{1,5})?|\.\d{1,9})\s*(?P<unit>[a-z\"]{0,2})\s*",
    re.IGNORECASE,
)


def needed(length: Fraction | float) -> int:
    """Round a length that an element needs up to whole micrometres."""
    return math.ceil(length)


def available(length: Fraction | float) -> int:
    """Round the room there is down to whole micrometres."""
    return math.floor(length)


def nearest(length: Fraction | float) -> int:
    """Round a place to the nearest micrometre, halves up."""
    if isinstance(length, float):
        return math.floor(length + 0.5)
    return divide_nearest(length.numerator, length.denominator)


def divide_nearest(numerator: int, denominator: int) -> int:
    """Return ``numerator / denominator`` rounded to the nearest integer, halves up.

    Examples
    --------
    >>> divide_nearest(7, 2), divide_nearest(-7, 2)
    (4, -3)
    """
    return (2 * numerator + denominator) // (2 * denominator)


@lru_cache(maxsize=1 << 10)
def points(size_pt: float | Fraction) -> Fraction:
    """Return a type size in points as exact micrometres (1 pt = 1/72 in)."""
    return Fraction(size_pt) * Fraction(INCH, POINTS_PER_INCH)


def parse_length(text: str, *, what: str = "length", allow_zero: bool = False) -> int:
    """Read a length such as ``12in``, ``1/8in``, ``210mm``, ``21cm`` or ``36pt``.

    Parameters
    ----------
    text
        Number (decimal or fraction) and unit; the unit is required unless the number is 0.
    what
        Name of the value in the error message.
    allow_zero
        Whether 0 is a legal value.

    Returns
    -------
    int
        Micrometres, rounded to the nearest.

    Raises
    ------
    InputError
        When the text is no length, is negative, zero without leave, or longer than 2 m.

    Examples
    --------
    >>> parse_length("1/8in"), parse_length("3mm")
    (3175, 3000)
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise InputError(
            f"{what}: {text[:40]!r} is not a length; write a number and a unit, for example 12in, 1/8in, 210mm or 36pt"
        )
    numerator, _, denominator = match["number"].partition("/")
    unit = match["unit"].lower()
    number = Fraction(numerator.strip())
    if denominator:
        if int(denominator) == 0:
            raise InputError(f"{what}: {text!r} divides by zero")
        number /= int(denominator)
    if number == 0 and allow_zero:
        return 0
    if unit not in _UNITS:
        raise InputError(f"{what}: {text[:40]!r} has no known unit; use in, mm, cm or pt, for example 12in")
    length = nearest(number * _UNITS[unit])
    if length <= 0:
        raise InputError(f"{what}: {text[:40]!r} must be longer than zero")
    if length > LARGEST:
        raise InputError(f"{what}: {text[:40]!r} is longer than the 2 m this program accepts")
    return length


def format_length(length: int) -> str:
    """Write micrometres for people: inches in simple fractions or decimals, or millimetres, whichever is exact.

    Where none is, inches with two decimals.

    Examples
    --------
    >>> format_length(3175), format_length(304800), format_length(210000), format_length(5080)
    ('1/8 in', '12 in', '210 mm', '0.2 in')
    """
    inches = Fraction(length, INCH)
    if inches.denominator in (1, 2, 4, 8, 16, 32):
        whole, rest = divmod(abs(inches), 1)
        sign = "-" if inches < 0 else ""
        if rest == 0:
            return f"{sign}{whole} in"
        return f"{sign}{whole} {rest} in" if whole else f"{sign}{rest} in"
    if length % 254 == 0:
        return f"{length / INCH:g} in"
    if length % 100 == 0:
        return f"{length / 1000:g} mm"
    return f"{float(inches):.2f} in"


def format_size(size: tuple[int, int]) -> str:
    """Write width and height for people, in one unit.

    Examples
    --------
    >>> format_size((215900, 279400)), format_size((210000, 297000)), format_size((304800, 297000))
    ('8 1/2 × 11 in', '210 × 297 mm', '12.00 × 11.69 in')
    """
    (width, unit), (height, other) = (format_length(side).rsplit(" ", 1) for side in size)
    if unit != other:
        width, height, unit = f"{size[0] / INCH:.2f}", f"{size[1] / INCH:.2f}", "in"
    return f"{width} × {height} {unit}"
