"""Pages next to a page: the contents of two blocks exchanged, or other content of a block without photos."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations

from solver.branching import Content

Contents = tuple[Content, ...]
"""One content per block."""


def exchanged(contents: Contents, open_ones: Sequence[Collection[Content]]) -> Iterator[Contents]:
    """Yield contents of the blocks that differ from some in one or two blocks.

    Parameters
    ----------
    contents
        What the blocks are and hold.
    open_ones
        Per block, the contents that are open to it; no others are yielded.
    """
    closed = {block for block, content in enumerate(contents) if content not in open_ones[block]}
    for one, other in combinations(range(len(contents)), 2):
        if not closed <= {one, other}:
            continue
        for pair in _pairs(contents[one], contents[other]):
            if pair[0] in open_ones[one] and pair[1] in open_ones[other]:
                yield _with(_with(contents, one, pair[0]), other, pair[1])
    for block, (_, photos, _) in enumerate(contents):
        if not photos and closed <= {block}:
            for content in sorted(open_ones[block]):
                if not content[1] and content != contents[block]:
                    yield _with(contents, block, content)


def _pairs(one: Content, other: Content) -> Iterator[tuple[Content, Content]]:
    """Yield both contents the other way round, and with one photo of each exchanged where there are more."""
    if one != other:
        yield other, one
    if len(one[1]) + len(other[1]) > 2:
        for mine in one[1]:
            for theirs in other[1]:
                yield _holding(one, mine, theirs), _holding(other, theirs, mine)


def _holding(content: Content, out: int, photo: int) -> Content:
    """Return a content with another photo in place of one."""
    kind, photos, texts = content
    return kind, tuple(sorted(photo if p == out else p for p in photos)), texts


def _with(contents: Contents, block: int, content: Content) -> Contents:
    return (*contents[:block], content, *contents[block + 1 :])
