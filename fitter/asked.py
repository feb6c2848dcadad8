"""From what is asked of a page, as a layout records it, to what formulating needs."""

from __future__ import annotations

from collections.abc import Mapping

from fitter.errors import UseError
from fitter.formulate import Settings
from fitter.formulate.content import TextItem
from fitter.formulate.rates import Rates
from fitter.layout import Given
from fitter.template import Element, Template
from fitter.typesetting import check_characters
from fitter.words import split_text


def settings_of(template: Template, asked: Given, weights: Mapping[str, float]) -> Settings:
    """Return the settings for what is asked of a page.

    A text without a slot may stand whole in one spot or flow over those of the template.

    Raises
    ------
    UseError, InputError
        When a text is meant for a slot that is not there, or words cannot be set in the bundled fonts.
    """
    texts, title = asked.texts, asked.title
    items: list[TextItem] = []
    needs: list[tuple[int, ...]] = []
    slots = [e.id for e in template.elements if e.role == "journaling"]
    free = [text for text in texts if text.slot is None]
    for number, text in enumerate(texts, 1):
        check_characters(text.text, what=f"text {number}")
        if text.slot is not None and text.slot not in {e.id for e in template.elements}:
            raise UseError(
                f"text for slot {text.slot!r}: template {template.name!r} has no such slot; words can stand in "
                f"{', '.join(e.id for e in template.elements if _takes_words(e)) or 'none of its slots'}"
            )
        whole = len(items)
        items.append(TextItem(whole, text.text, f"text-{number}", text.slot))
        open_slots = [s for s in slots if s not in {t.slot for t in texts}]
        if text.slot is None and len(free) == 1 and len(open_slots) > 1:
            areas = [e.size[0] * e.size[1] for s in open_slots for e in template.elements if e.id == s]
            parts = split_text(text.text, areas)
            for slot, part in zip(open_slots, parts, strict=True):
                items.append(TextItem(len(items), part, f"text-{number}", slot))
                needs.append((whole, len(items) - 1))
        else:
            needs.append((whole,))
    if title is not None:
        check_characters(title, what="title")
        items.append(TextItem(len(items), title, "title"))
        needs.append((len(items) - 1,))
    return Settings(
        photos=asked.photos,
        items=tuple(items),
        needs=tuple(needs),
        without=frozenset(asked.without),
        rates=Rates(dict(weights)),
        target_ppi=asked.target_ppi,
        min_ppi=asked.min_ppi,
        leave_out=asked.leave_out,
        wishes=asked.wishes,
    )


def _takes_words(element: Element) -> bool:
    """Whether a slot can be used for words: its own, or what is large and free enough to be turned into a card."""
    if element.role == "journaling":
        return True
    limits = element.limits
    free = element.tie not in ("mat", "carried") and not (limits.fixed or element.bleeds or element.is_strip)
    return free and element.role in ("paper", "photo") and (limits.may_be is None or "journaling" in limits.may_be)
