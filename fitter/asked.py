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


def settings_of(template: Template, asked: Given, weights: Mapping[str, float]) -> Settings:
    """Return the settings for what is asked of a page.

    Raises
    ------
    UseError, InputError
        When a text is meant for a slot that is not there, or words cannot be set in the bundled fonts.
    """
    texts, title = asked.texts, asked.title
    items: list[TextItem] = []
    needs: list[tuple[int, ...]] = []
    for number, text in enumerate(texts, 1):
        check_characters(text.text, what=f"text {number}")
        if text.slot is not None and text.slot not in {e.id for e in template.elements}:
            raise UseError(
                f"text for slot {text.slot!r}: template {template.name!r} has no such slot; words can stand in "
                f"{', '.join(e.id for e in template.elements if _takes_words(e)) or 'none of its slots'}"
            )
        needs.append((len(items),))
        items.append(TextItem(len(items), text.text, f"text-{number}", text.slot))
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
