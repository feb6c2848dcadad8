"""Whatever lies on or around a slot, however it is shaped: what was to be kept is seen, and losses are the checker's.

Every page has one or two photo slots (tilted, round, of free shape, bleeding, under a lapping note, with a carried
bloom or a mat) and photos with uneven importance and regions to keep.
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitter.layout import Grid
from fitter.photos import Photo
from fitter.template import Element, Template
from tests.proofs.fitting import INCH, fit, photo, rect, slot, sound, template

SHAPES = ("plain", "tilted", "round", "free", "bleeding", "sheet", "plain")
RIDERS = ("none", "bloom", "mat", "note", "tilted note", "button")


@st.composite
def slots(draw: st.DrawFn, name: str, left: float) -> list[Element]:
    """Return a photo slot of any shape, with what may lie on it."""
    kind = draw(st.sampled_from(SHAPES))
    width, height = draw(st.sampled_from([(2.5, 2.0), (2.0, 3.0), (2.5, 2.5)]))
    base = slot(name, left, 1.25, width, height)
    if kind == "tilted":
        base = replace(base, tilt=float(draw(st.sampled_from([-5, 4, 12]))))
    elif kind == "round":
        base = replace(base, shape="ellipse")
    elif kind == "free":
        w, h = base.size[0] // 2, base.size[1] // 2
        base = replace(
            base, shape="path", outline=((-w, 0), (-w // 2, -h), (w // 2, -h), (w, 0), (w // 2, h), (-w // 2, h))
        )
    elif kind == "bleeding":
        top = slot(name, left, -0.125, width, height + 1.375)
        base = replace(top, bleeds=("top",))
    elif kind == "sheet":
        base = replace(base, role="paper")
    made = [base]
    rider = draw(st.sampled_from(RIDERS))
    (x, y), (w, h) = base.center, base.size
    if rider == "mat" and kind in ("plain", "tilted", "sheet"):
        mat = rect(f"mat-{name}", "paper", (x, y), (w + INCH // 4, h + INCH // 4), tilt=base.tilt, on=name, tie="mat")
        made = [mat, base]
    corner = draw(st.sampled_from([(-1, -1), (1, -1), (-1, 1), (1, 1)]))
    spot = (x + corner[0] * (w // 2 - 6000), y + corner[1] * (h // 2 - 6000))
    if rider == "bloom":
        made.append(rect(f"bloom-{name}", "embellishment", spot, (9000, 9000), on=name, tie="carried"))
    if rider == "button":
        shape = replace(rect(f"button-{name}", "embellishment", spot, (8000, 8000)), shape="ellipse")
        made.append(replace(shape, on=name, tie="carried"))
    if rider in ("note", "tilted note") and kind in ("plain", "tilted", "sheet", "round"):
        end = y + h // 2 + 2000
        note = rect(f"note-{name}", "paper", (x, end), (w // 2 // 2 * 2, 12_000), on=name, tie="lapped")
        made.append(replace(note, tilt=3.0) if rider == "tilted note" else note)
    return made


@st.composite
def drawings(draw: st.DrawFn) -> Template:
    """Return a page of one or two such slots."""
    elements = draw(slots("a", 0.6))
    if draw(st.booleans()):
        elements += draw(slots("b", 4.25))
    return template((8, 6), *elements)


@st.composite
def uneven(draw: st.DrawFn) -> Grid:
    """Return an importance, most of it in one place."""
    rows, columns = draw(st.integers(1, 5)), draw(st.integers(1, 5))
    lump = draw(st.integers(0, rows * columns - 1))
    return tuple(tuple(1 + 30 * (r * columns + c == lump) for c in range(columns)) for r in range(rows))


@st.composite
def taken(draw: st.DrawFn) -> list[Photo]:
    """Return one or two photos."""
    found = []
    for number in range(draw(st.integers(1, 2))):
        pixels = draw(st.sampled_from([(1800, 1200), (1200, 1800), (2400, 1000)]))
        left, top = draw(st.integers(0, 7)) / 10, draw(st.integers(0, 7)) / 10
        box = ((left, top, 0.25, 0.2),)
        keep, detected = draw(st.sampled_from([((), ()), (box, ()), ((), box)]))
        grid = draw(st.one_of(st.just(()), uneven()))
        found.append(photo(number, *pixels, keep=keep, detected=detected, importance=grid))
    return found


@given(drawings(), taken(), st.sampled_from([0, 0, 15]), st.sets(st.sampled_from(["crop", "mirror-page", "drop"])))
@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
def test_what_is_to_be_kept_is_seen_and_losses_are_true(
    made: Template, photos: list[Photo], words: int, without: set[str]
) -> None:
    """R5 holds unless it is waived, and step 2 and step 5 agree on every cost."""
    result = fit(made, photos, words=words, effort=0.3, min_ppi=60, without=frozenset(without), leave_out=1)
    assert result.layouts or result.reasons
    for layout in result.layouts:
        sound(layout)
