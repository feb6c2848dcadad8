"""Wishes for single photos and slots, put together and looked over: what cannot be meant is refused before solving."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fitter.earlier import start_of
from fitter.errors import UseError
from fitter.layout import Before, Layout, Start, Wishes
from fitter.names import photo_named, unknown
from fitter.template import Element, Template

if TYPE_CHECKING:
    from fitter.photos import Photo

_HOLDS_PHOTOS = frozenset({"photo", "paper", "journaling"})


def make_wishes(
    template: Template,
    photos: Sequence[Photo],
    *,
    start: Layout | None = None,
    pins: Sequence[tuple[str, str]] = (),
    stay: Sequence[str] = (),
    avoid: Sequence[str] = (),
    bigger: Sequence[str] = (),
    smaller: Sequence[str] = (),
) -> Wishes:
    """Return wishes for a page.

    Parameters
    ----------
    template
        Its template.
    photos
        The photos given for it.
    start
        The page it starts from and stays close to.
    pins
        Photos and the slots they are to stand in.
    stay
        Slots that stay as they are in ``start``: role, photos, division, words, size and place; so does the turning
        and mirroring of the page.
    avoid
        Slots that are to hold neither photo nor words.
    bigger, smaller
        Photos whose slot is to have at least 10 % more, or less, area than in ``start``.

    Raises
    ------
    UseError
        When a photo or slot is not known or cannot do what is wished, when wishes contradict each other, or when
        ``start`` was made from another template.
    """
    files = [photo.file for photo in photos]
    hashes = {photo.file: photo.sha256 for photo in photos}
    before = None if start is None else _started(template, start)
    pinned = []
    for name, slot in pins:
        file = files[photo_named("--pin", name, files)]
        _check_photo_slot(_block(template, "--pin", slot), file)
        pinned.append((file, slot))
    for slot in stay:
        _check_stay(_block(template, "--pin", slot), before, hashes)
    for slot in avoid:
        _check_avoid(_known(template, "--avoid", slot))
    sized = []
    for option, names in (("--bigger", bigger), ("--smaller", smaller)):
        chosen = [files[photo_named(option, name, files)] for name in names]
        for file in chosen:
            _check_sized(option, file, before, hashes)
        sized.append(tuple(dict.fromkeys(chosen)))
    made = Wishes(
        start=before,
        pins=tuple(dict.fromkeys(pinned)),
        stay=tuple(dict.fromkeys(stay)),
        avoid=tuple(dict.fromkeys(avoid)),
        bigger=sized[0],
        smaller=sized[1],
    )
    _refuse_contradictions(made, hashes)
    return made


def is_same_template(template: Template, layout: Layout) -> bool:
    """Whether a layout was made from a template."""
    return (template.name, template.sha256) == (layout.template.name, layout.template.sha256)


def _started(template: Template, layout: Layout) -> Start:
    if not is_same_template(template, layout):
        raise UseError(
            f"--from: the layout was made from the template {layout.template.name!r}"
            f"{' in another version' if layout.template.name == template.name else ''}, not from {template.name!r}; "
            "name that template, or start anew"
        )
    return start_of(layout)


def _known(template: Template, option: str, slot: str) -> Element:
    for element in template.elements:
        if element.id == slot:
            return element
    raise unknown(f"{option} slot", slot, [e.id for e in template.elements if e.tie != "mat"])


def _block(template: Template, option: str, slot: str) -> Element:
    element = _known(template, option, slot)
    if element.role == "background" or element.tie in ("mat", "carried"):
        what = "is the background" if element.on is None else f"goes with {element.on}"
        raise UseError(f"{option} {slot}: {slot} {what}; name {element.on or 'a slot'} instead")
    return element


def _check_photo_slot(element: Element, file: str) -> None:
    may = element.limits.may_be
    never = element.role not in _HOLDS_PHOTOS or element.is_strip
    barred = element.role != "photo" and (element.limits.fixed or (may is not None and "photo" not in may))
    if never or barred:
        raise UseError(
            f"--pin {Path(file).name}={element.id}: {element.id} is a {element.role} that can hold no photo; "
            "choose a photo, paper or journaling slot"
        )


def _check_stay(element: Element, start: Start | None, hashes: dict[str, str]) -> None:
    if start is None:
        raise UseError(f"--pin {element.id}: as it is in which layout? Name it with --from")
    held = next((b for b in start.slots if b.slot == element.id), Before(element.id, None))
    if any(photo.sha256 not in hashes.values() for photo in held.photos):
        raise UseError(
            f"--pin {element.id}: it holds a photo in the layout that is not among those given; "
            "give that photo (unchanged) again, or leave this wish away"
        )


def _check_avoid(element: Element) -> None:
    if element.role == "background" or element.tie == "mat":
        raise UseError(f"--avoid {element.id}: nothing is ever put on it; name a slot for photos or words")
    if element.limits.fixed and element.role not in ("paper", "ribbon", "embellishment"):
        raise UseError(f"--avoid {element.id}: it is a {element.role} slot that the template fixes")


def _check_sized(option: str, file: str, start: Start | None, hashes: dict[str, str]) -> None:
    name = Path(file).name
    if start is None:
        raise UseError(f"{option} {name}: than in which layout? Name it with --from")
    if start.area(hashes[file]) is None:
        raise UseError(f"{option} {name}: it is not on the page of the layout, so it has no size there to compare with")


def _refuse_contradictions(wishes: Wishes, hashes: dict[str, str]) -> None:
    homes: dict[str, str] = {}
    for file, slot in wishes.pins:
        name = Path(file).name
        if homes.setdefault(file, slot) != slot:
            raise UseError(f"--pin {name} is given for two slots, {homes[file]} and {slot}; a photo stands in one")
        if slot in wishes.avoid:
            raise UseError(f"--pin {name}={slot} and --avoid {slot} contradict each other")
    both = set(wishes.bigger) & set(wishes.smaller)
    if both:
        raise UseError(f"{Path(min(both)).name} cannot become both bigger and smaller")
    held = {} if wishes.start is None else {b.slot: [p.sha256 for p in b.photos] for b in wishes.start.slots}
    for slot in wishes.stay:
        inside = held.get(slot, [])
        if slot in wishes.avoid and inside:
            raise UseError(f"--pin {slot} and --avoid {slot} contradict each other: it holds a photo in the layout")
        for file in (*wishes.bigger, *wishes.smaller):
            if hashes[file] in inside:
                raise UseError(f"{Path(file).name} is in {slot}, which is to stay as it is: it cannot change its size")
        for file, other in wishes.pins:
            if (other == slot) != (hashes[file] in inside):
                raise UseError(
                    f"--pin {Path(file).name}={other} contradicts --pin {slot}, "
                    "which keeps the photos it holds in the layout"
                )
