"""The published page distance, worked out from layouts alone."""

from __future__ import annotations

from fitter.layout import Layout


def distance(one: Layout, other: Layout) -> float:
    """Return the page distance of two layouts: turns, mirroring, roles and divisions, lead photo and its size."""
    total = {0: 0.0, 180: 0.3}.get((one.transform.rotate - other.transform.rotate) % 360, 0.5)
    total += 0.2 if one.transform.mirror != other.transform.mirror else 0.0
    kinds = [slots(one), slots(other)]
    total += 0.3 * sum(kinds[0].get(name) != kinds[1].get(name) for name in {*kinds[0], *kinds[1]})
    leads = [lead(one), lead(other)]
    if leads[0][0] != leads[1][0]:
        total += 0.3
    elif abs(leads[0][1] - leads[1][1]) >= 0.2 * leads[1][1]:
        total += 0.2
    return round(total, 3)


def differ(one: Layout, other: Layout, aspect: str) -> bool:
    """Return whether two layouts differ in what ``--vary`` names."""
    here, there = one.transform, other.transform
    if aspect == "rotation":
        return (here.rotate, here.mirror) != (there.rotate, there.mirror)
    if aspect == "lead":
        return lead(one)[0] != lead(other)[0]
    if aspect == "scale":
        areas = lead(one)[1], lead(other)[1]
        return here.rescale != there.rescale or abs(areas[0] - areas[1]) >= 0.2 * areas[1]
    mine, theirs = slots(one), slots(other)
    both = set(mine) & set(theirs)
    if aspect == "roles":
        return any(mine[name][0] != theirs[name][0] for name in both)
    panels = [{e.on for e in page.elements if e.source is None and e.on is not None} for page in (one, other)]
    return set(mine) != set(theirs) or any(mine[n][1] != theirs[n][1] for n in both) or panels[0] != panels[1]


def slots(layout: Layout) -> dict[str, tuple[object, ...]]:
    """Return role and division of every slot that can hold something of its own; added slots by their room."""
    tied = {e.id for e in layout.reference if e.tie in ("mat", "carried")}
    found: dict[str, tuple[object, ...]] = {}
    for item in layout.elements:
        if item.role == "background" or item.source in tied or (item.source is None and item.on is not None):
            continue
        divided = None if item.split is None else (item.split.kind, item.split.count)
        found[item.source or item.id] = (item.role, divided)
    return found


def lead(layout: Layout) -> tuple[object, int]:
    """Return what the largest photo looks like (all that tells look-alikes apart) and its area, if there is one."""
    given = {photo.file: photo for photo in layout.given.photos}
    order = [photo.file for photo in layout.given.photos]
    shown = [(e.size[0] * e.size[1], -order.index(e.photo.file), e.photo) for e in layout.elements if e.photo]
    if not shown:
        return None, 0
    area, _, photo = max(shown, key=lambda entry: entry[:2])
    known = given[photo.file]
    return (known.pixels[0] / known.pixels[1], known.weight, known.keep, known.detected, known.importance), area
