"""Sentences that say what a page changed, one by one as layouts list them, or those of a kind together for pictures.

Enters: a kind of change and its parts, or sentences as written.  Leaves: sentences.  Sentences of no kind known here
are left as they are, so any layout file can be shown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

_MOST_WAYS = 2
"""Moves in more different ways than this are told together by the farthest of them."""


@dataclass(frozen=True)
class Form:
    """How changes of one kind are told: a sentence for one of them, and one for several.

    Parameters
    ----------
    single
        The sentence, with ``{what}`` for the slot and ``{how}`` and ``{was}`` for the rest.
    start
        How the sentence for several starts.
    part
        What follows for those that changed alike, with ``{names}``, ``{s}`` for the plural, ``{how}`` and ``{was}``.
    """

    single: str
    start: str
    part: str

    def __call__(self, **parts: str) -> str:
        """Return the sentence for one change."""
        return self.single.format(**parts)

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """Finds the parts of a sentence."""
        found = re.escape(self.single)
        for name, any_of in (("what", r"\S+"), ("how", ".+?"), ("was", ".+?")):
            found = found.replace(re.escape(f"{{{name}}}"), f"(?P<{name}>{any_of})")
        return re.compile(found)


ROLE = Form("Used the {was} spot {what} as {how}.", "Used", "the {was} spot{s} {names} as {how}")
DIVIDED = Form("Divided {what} into {how}.", "Divided", "{names} into {how}")
TURNED = Form("Rotated the slot {what} by a quarter turn.", "Rotated", "the slot{s} {names} by a quarter turn")
RESIZED = Form("Made {what} {how} instead of {was}.", "Resized", "{names} to {how}")
MOVED = Form("Moved {what} {how}.", "Moved", "{names} {how}")
DROPPED = Form("Dropped {what}.", "Dropped", "{names}")
_FORMS = (ROLE, DIVIDED, TURNED, RESIZED, MOVED, DROPPED)


def together(sentences: Iterable[str]) -> tuple[str, ...]:
    """Return the sentences with those of one kind in one, each where the first of its kind stood.

    Sizes before and moves in many different ways are left out; everything that changed is named.

    Examples
    --------
    >>> together(["Moved title 1 in up.", "Dropped bow.", "Moved bow 1 in up.", "Moved photo-1 2 in left."])
    ('Moved title and bow 1 in up; photo-1 2 in left.', 'Dropped bow.')
    """
    groups: dict[Form | str, list[tuple[str, dict[str, str]]]] = {}
    for sentence in sentences:
        form, parts = _parsed(sentence)
        groups.setdefault(form or sentence, []).append((sentence, parts))
    return tuple(
        members[0][0] if isinstance(form, str) or len(members) == 1 else _joined(form, [parts for _, parts in members])
        for form, members in groups.items()
    )


def listed(names: Sequence[str], word: str = "and") -> str:
    """Return one name or more as a list in words.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"]), listed(["a", "b"], "or")
    ('a', 'a, b and c', 'a or b')
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"


def _parsed(sentence: str) -> tuple[Form | None, dict[str, str]]:
    for form in _FORMS:
        match = form.pattern.fullmatch(sentence)
        if match is not None:
            return form, match.groupdict()
    return None, {}


def _joined(form: Form, changes: list[dict[str, str]]) -> str:
    alike: dict[tuple[str, str], list[str]] = {}
    for parts in changes:
        was = parts["was"] if "{was}" in form.part else ""
        alike.setdefault((parts.get("how", ""), was), []).append(parts["what"])
    if form is MOVED and len(alike) > _MOST_WAYS:
        lengths = [found for how, _ in alike for found in re.findall(r"[\d.]+", how)]
        alike = {(f"by up to {max(lengths, key=float)} in", ""): [parts["what"] for parts in changes]}
    told = [
        form.part.format(names=listed(names), how=how, was=was, s="s" if len(names) > 1 else "")
        for (how, was), names in alike.items()
    ]
    return f"{form.start} {'; '.join(told)}."
