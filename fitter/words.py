"""Step 1 for words: texts and word counts become :class:`~fitter.layout.GivenText`.

Enters: text files, options such as ``card=diary.txt``, and counts.  Leaves: clean text (Unicode NFC, line
ends uniform) whose characters the bundled font can all show.  Refuses files over 1 MB, other encodings than
UTF-8, control characters, and more than :data:`MOST_WORDS` words.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Sequence
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Literal

from fitter.errors import InputError, UseError
from fitter.filler import SENTENCES
from fitter.layout import GivenText

LARGEST_FILE = 1_000_000
"""Bytes a text file may have."""
MOST_WORDS = 5_000
"""Words one text may have: more fills no album page at 8 pt."""
LONGEST_WORD = 80
"""Characters of a word: the most that a line of a card may have on average, and nothing is hyphenated."""
LETTERS_PER_WORD = 4.79
"""Mean letters of an English word in running text (Norvig, *English Letter Frequency Counts*, 2012)."""

_SLOT = re.compile(r"[A-Za-z_][\w.:-]{0,99}")
_PARAGRAPH_WORDS = 90
_SENTENCE_END = re.compile(r"[.!?…][\"'’”)\]]*$")
End = Literal["paragraph", "sentence"]
ENDS: tuple[End, ...] = ("paragraph", "sentence")
"""Where a text is rather cut than between words."""
_NEAR: dict[End, float] = {"paragraph": 0.25, "sentence": 0.15}
"""How far a cut may move to reach a paragraph's or sentence's end, in parts of a mean piece."""


def read_text_file(path: str | Path) -> str:
    """Return the text of a UTF-8 file, its line ends uniform and its letters composed (NFC).

    Raises
    ------
    InputError
        When it is missing, no file, unreadable, empty, over 1 MB, not UTF-8, or holds control characters.
    """
    where = Path(path)
    try:
        if where.is_dir():
            raise InputError(f"text {str(path)!r} is a folder; name a text file")
        if not where.is_file():
            raise InputError(f"text {str(path)!r} does not exist or is no plain file; check the path")
        with where.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as failure:
        reason = getattr(failure, "strerror", None) or "the path is not usable"
        raise InputError(f"text {str(path)!r} cannot be read: {reason}") from None
    if len(data) > LARGEST_FILE:
        raise InputError(f"text {str(path)!r} is over 1 MB; give only the words for this page")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        raise InputError(
            f"text {str(path)!r} is not UTF-8 (byte {failure.start + 1}); save it as UTF-8 text"
        ) from None
    return clean_text(text, what=f"text {str(path)!r}")


def clean_text(text: str, *, what: str = "text") -> str:
    """Return text with uniform line ends and composed letters.

    Raises
    ------
    InputError
        When it has no words, control characters, characters the font lacks, too many words or an endless one.
    """
    from fitter.typesetting import check_characters

    text = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n"))
    for number, line in enumerate(text.split("\n"), 1):
        for character in line:
            if character != "\t" and unicodedata.category(character) in ("Cc", "Cs"):
                raise InputError(
                    f"{what}, line {number}: control character U+{ord(character):04X}; "
                    "plain text is wanted, remove it"
                )
    count = len(text.split())
    if count == 0:
        raise InputError(f"{what} has no words; write some or leave the option out")
    if count > MOST_WORDS:
        raise InputError(f"{what} has {count:,} words; a page takes at most {MOST_WORDS:,}, shorten it")
    endless = next((word for word in text.split() if len(word) > LONGEST_WORD), None)
    if endless is not None:
        raise InputError(
            f"{what}: the word '{endless[:20]}…' has {len(endless):,} letters and is wider than any card; "
            f"break or hyphenate it (at most {LONGEST_WORD})"
        )
    check_characters(text, what=what)
    return text.strip()


def clean_title(text: str) -> str:
    """Return a title on one line.

    Raises
    ------
    InputError
        As :func:`clean_text`, or when it is too long to be set large.
    """
    from fitter.typesetting import LONGEST_TITLE

    title = " ".join(clean_text(text, what="title").split())
    if len(title) > LONGEST_TITLE:
        raise InputError(f"title: {len(title)} characters; at most {LONGEST_TITLE}, shorten it")
    return title


def parse_text_option(option: str) -> GivenText:
    """Read a text option ``FILE`` or ``SLOT=FILE``.

    A file that exists under the whole option wins, so that names with ``=`` can be given.

    Raises
    ------
    InputError, UseError
        When the file cannot be used, or the option names no file.
    """
    slot, equals, name = option.partition("=")
    if not equals or _exists(option):
        slot, name = "", option
    elif _SLOT.fullmatch(slot.strip()) is None:
        raise UseError(f"text {option[:80]!r}: {slot[:40]!r} is no slot name; write SLOT=FILE or FILE")
    if not name.strip():
        raise UseError(f"text {option[:80]!r} names no file; write SLOT=FILE or FILE")
    return given_text(read_text_file(name), slot=slot.strip() or None)


def given_text(text: str, *, slot: str | None = None) -> GivenText:
    """Return real words for the page, cleaned as :func:`clean_text` does."""
    text = clean_text(text)
    return GivenText(text=text, words=len(text.split()), filler=False, slot=slot)


def given_count(words: int, *, slot: str | None = None) -> GivenText:
    """Return filler standing for a word count."""
    return GivenText(text=filler(words), words=words, filler=True, slot=slot)


def filler(words: int) -> str:
    """Return placeholder text of exactly ``words`` words.

    The text is the same for the same count.  Sentences are chosen so that the mean word keeps close to
    :data:`LETTERS_PER_WORD` letters; the last one is cut short where needed.

    Raises
    ------
    InputError
        When the count is not between 1 and :data:`MOST_WORDS`.

    Examples
    --------
    >>> len(filler(60).split())
    60
    """
    if not 1 <= words <= MOST_WORDS:
        raise InputError(f"{words:,} words: between 1 and {MOST_WORDS:,} can be set on a page")
    paragraphs: list[list[str]] = [[]]
    count = letters = 0
    unused = list(SENTENCES)
    while count < words:
        room = words - count
        unused = unused or list(SENTENCES)

        def miss(sentence: str, room: int = room, count: int = count, letters: int = letters) -> float:
            used = sentence.split()[:room]
            return abs(letters + _letters(" ".join(used)) - LETTERS_PER_WORD * (count + len(used)))

        sentence = min(unused, key=miss)
        unused.remove(sentence)
        used = sentence.split()[:room]
        if len(used) < len(sentence.split()):
            used[-1] = used[-1].rstrip(",;:.") + "."
        count, letters = count + len(used), letters + _letters(" ".join(used))
        paragraphs[-1] += used
        if len(paragraphs[-1]) >= _PARAGRAPH_WORDS and words - count >= _PARAGRAPH_WORDS // 3:
            paragraphs.append([])
    return "\n\n".join(" ".join(paragraph) for paragraph in paragraphs)


def split_text(text: str, shares: Sequence[float], *, ends: Collection[End] = ENDS) -> tuple[str, ...]:
    """Split text into pieces in proportion to ``shares``, for flowing over several slots.

    Cuts fall at a near paragraph's end, else at a near sentence's end (where ``ends`` name these), else between words.
    Every word is in exactly one piece, in order; paragraphs inside a piece stay apart by a blank line.

    Raises
    ------
    UseError
        When shares are not positive or there are fewer words than shares.
    """
    from fitter.typesetting import paragraphs

    parts = paragraphs(text)
    words = [word for part in parts for word in part]
    if not shares or not all(0 < share < float("inf") for share in shares) or len(words) < len(shares):
        raise UseError(f"{len(words)} words cannot be shared out over {len(shares)} places by {list(shares)}")
    starts = set(accumulate(len(part) for part in parts))
    reach = list(accumulate((len(word) + 1 for word in words), initial=0))
    piece = reach[-1] / len(shares)
    cuts = [0]
    for number, upto in enumerate(list(accumulate(shares))[:-1], 1):
        target = reach[-1] * upto / sum(shares)
        allowed = range(cuts[-1] + 1, len(words) - (len(shares) - number) + 1)
        choices: dict[End, list[int]] = {
            "paragraph": [cut for cut in allowed if cut in starts],
            "sentence": [cut for cut in allowed if _SENTENCE_END.search(words[cut - 1])],
        }
        near = [
            min(found, key=lambda cut: abs(reach[cut] - target))
            for kind, choice in choices.items()
            if kind in ends and (found := [cut for cut in choice if abs(reach[cut] - target) <= _NEAR[kind] * piece])
        ]
        cuts.append(near[0] if near else min(allowed, key=lambda cut: abs(reach[cut] - target)))
    cuts.append(len(words))
    return tuple(_rejoin(words[a:b], {start - a for start in starts}) for a, b in pairwise(cuts))


def _rejoin(words: list[str], starts: set[int]) -> str:
    pieces = [("\n\n" if number in starts else " ") + word for number, word in enumerate(words)]
    return "".join(pieces).strip()


def _letters(text: str) -> int:
    return sum(character.isalpha() for character in text)


def _exists(name: str) -> bool:
    try:
        return Path(name).is_file()
    except (OSError, ValueError):
        return False
