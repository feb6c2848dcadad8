"""Names and words of others as they may be shown: in a line, in a picture, in a document.

File names and metadata hold anything: line breaks, codes that move a terminal's cursor or turn its writing around,
bytes that are no UTF-8 (which Python holds as lone surrogates).
"""

from __future__ import annotations

import re
import unicodedata

INSTEAD = "\N{REPLACEMENT CHARACTER}"
_JOINERS = "\u200c\u200d"
"""Letters and emoji take their shapes by them."""
_SURROGATE = re.compile("[\ud800-\udfff]")


def shown(text: str) -> str:
    r"""Return a text for one line: whatever is no visible character and no space is replaced, one for one.

    Examples
    --------
    >>> shown("lake\n2.jpg")
    'lake�2.jpg'
    """
    if text.isprintable():
        return text
    return "".join(character if _is_visible(character) else INSTEAD for character in text)


def encodable(text: str) -> str:
    """Return a text that UTF-8 can hold; JSON escapes everything else that is not to be shown."""
    return _SURROGATE.sub(INSTEAD, text)


def _is_visible(character: str) -> bool:
    return character.isprintable() or character in _JOINERS or unicodedata.category(character) == "Zs"
