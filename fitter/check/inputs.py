"""Comparing a layout with the photos and the template it says it was made from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from fitter.check.copies import drawn_elements
from fitter.check.report import millimetres
from fitter.errors import InputError
from fitter.layout import GivenPhoto, Layout
from fitter.photo_places import find_photo
from fitter.template import Template

_SWAPPING = (5, 6, 7, 8)
_ORIENTATION = 0x0112


def compare_photos(layout: Layout, base: Path, folder: Path | None = None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Compare the given photos with the files at hand.

    Parameters
    ----------
    layout
        The page.
    base
        Folder of the layout file.
    folder
        Where photos lie now, if not beside the layout.

    Returns
    -------
    tuple of tuple of str
        A sentence for each photo that is not the one given, and one for each that is not at hand.
    """
    different: list[str] = []
    absent: list[str] = []
    for photo in layout.given.photos:
        try:
            found = find_photo(photo, base, folder)
        except InputError as error:
            different.append(error.message)
            continue
        if found.state == "missing":
            absent.append(f"photo {photo.file}: not at hand, so it was not compared")
        elif found.state == "empty":
            different.append(f"photo {photo.file}: is empty (0 bytes), not the picture given")
        elif found.state == "too large":
            different.append(f"photo {photo.file}: is larger than 1 GB, so it was not compared")
        elif found.state == "changed":
            different.append(f"photo {photo.file}: is not the file the page was fitted for (its SHA-256 differs)")
        else:
            different.extend(_photo_difference(photo, found.path))
    return tuple(different), tuple(absent)


def template_differences(layout: Layout, template: Template) -> Iterator[str]:
    """Yield a sentence for each way the layout's template and reference differ from a template."""
    if template.sha256 and template.sha256 != layout.template.sha256:
        yield f"template {template.name}: is not the file the layout was made from (its SHA-256 differs)"
    if template.size != layout.template.size:
        yield f"template {template.name}: is {template.size} µm, not {layout.template.size} as stated"
    ids, known = [e.id for e in template.elements], [e.id for e in drawn_elements(layout)]
    if ids != known:
        odd = sorted(set(ids) ^ set(known)) or ["their order"]
        yield f"template {template.name}: its elements differ from the reference's ({', '.join(odd[:5])})"
        return
    yield from _reference_difference(layout, template)


def _photo_difference(photo: GivenPhoto, path: Path) -> Iterator[str]:
    size = _seen_size(path)
    if size is not None and size != photo.pixels:
        wide, high = photo.pixels
        yield f"photo {photo.file}: is {size[0]}×{size[1]} px as seen; the layout says {wide}×{high}"


def _seen_size(path: Path) -> tuple[int, int] | None:
    """Return a picture's pixels with its Exif orientation applied, from the header alone."""
    import warnings

    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path) as image:
                width, height = image.size
                # Pillow states a TIFF's size as seen already.
                turned = image.format != "TIFF" and image.getexif().get(_ORIENTATION) in _SWAPPING
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    return (height, width) if turned else (width, height)


def _reference_difference(layout: Layout, template: Template) -> Iterator[str]:
    """Refit the template again; only a slide along the freed direction may tell the two apart."""
    from fitter.reference import Member, reference_layout

    transform, drawn = layout.transform, drawn_elements(layout)
    member = Member(transform.rotate, transform.mirror)
    made = reference_layout(template, layout.page, member)
    slides = {
        (known.center[0] - new.center[0], known.center[1] - new.center[1])
        for new, known in zip(made.elements, drawn, strict=True)
        if not new.bleeds and new.tie != "carried"
    }
    step = next(iter(slides)) if len(slides) == 1 else (0, 0)
    axis = {"x": 0, "y": 1}.get(made.free or "")
    if axis is not None and step != (0, 0) and step[1 - axis] == 0:
        if "shift" in layout.given.without and transform.repeat is None:
            yield f"reference: slid along the page by {millimetres(abs(step[axis]))}, but shift was switched off"
        flipped = member.flips[axis]
        made = reference_layout(template, layout.page, member, slide=-step[axis] if flipped else step[axis])
    for new, known in zip(made.elements, drawn, strict=True):
        if new != known:
            yield f"reference {known.id}: is not what the template gives on this page"
    if replace(transform, rescale=None, repeat=None) != made.transform:
        yield "transform: its scale and offset are not what the template gives on this page"
