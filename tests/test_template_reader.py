"""The template reader: units, transforms, roles, limits, bleeding edges, outlines."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.pages import page_table
from fitter.svg_shapes import Matrix, parse_transform, upright_tilt
from fitter.template import Role
from fitter.template_reader import read_template
from fitter.ties import polygon
from tests.drawings import element_of, inches, read_drawing, write_drawing

PHOTO = '<rect id="photo-1" x="1" y="1" width="4" height="3"/>'
BLEED = 0.125


# --- page sizes and units -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "halvings", "start"),
    [("a3", 3, (841, 1189)), ("a4", 4, (841, 1189)), ("a5", 5, (841, 1189)), ("a6", 6, (841, 1189)),
     ("b5", 5, (1000, 1414))],
)  # fmt: skip
def test_iso_sizes_follow_from_halving(name: str, halvings: int, start: tuple[int, int]) -> None:
    """ISO 216: each size is the one before cut in half across its long side, rounded down to whole mm."""
    short, long = start
    for _ in range(halvings):
        short, long = long // 2, short
    assert page_table()[name] == (short * 1000, long * 1000)
    assert page_table()[f"{name}-landscape"] == (long * 1000, short * 1000)


@pytest.mark.parametrize(
    ("name", "pixels"), [("4x6in", (1200, 1800)), ("5x7in", (1500, 2100)), ("8x10in", (2400, 3000))]
)
def test_print_sizes_at_300_ppi(name: str, pixels: tuple[int, int]) -> None:
    """Prints at 300 ppi have the pixel sizes photo labs state (common practice, no source)."""
    assert tuple(side * 300 // 25_400 for side in page_table()[name]) == pixels


@pytest.mark.parametrize(
    "width", ["12in", "304.8mm", "30.48cm", "1219.2Q", "864pt", "72pc", "1152px", "1152", " 12IN "]
)
def test_css_units_agree(tmp_path: Path, width: str) -> None:
    """CSS Values 4, section 6.2: 1 in = 2.54 cm = 25.4 mm = 101.6 Q = 6 pc = 72 pt = 96 px."""
    template = read_drawing(tmp_path, PHOTO, f'width="{width}" height="12in" viewBox="0 0 12 12"')
    assert template.size == (304_800, 304_800)


def test_user_units_without_view_box_are_96_to_the_inch(tmp_path: Path) -> None:
    """Without a viewBox a user unit is a CSS pixel, with units inside shapes allowed."""
    body = '<rect id="photo-1" x="96" y="1in" width="384" height="76.2mm"/>'
    template = read_drawing(tmp_path, body, 'width="12in" height="12in"')
    assert inches(template.elements[0].box) == (1, 1, 5, 4)


def test_view_box_alone_gives_the_page(tmp_path: Path) -> None:
    """A page without width and height takes its viewBox at 96 user units to the inch."""
    template = read_drawing(tmp_path, PHOTO.replace("4", "192"), 'viewBox="0 0 816 1056"')
    assert template.size == (215_900, 279_400)


def test_view_box_origin_and_scale(tmp_path: Path) -> None:
    """A viewBox in millimetres that starts off the origin lands in place."""
    body = '<rect id="photo-1" x="30" y="40" width="100" height="80"/>'
    template = read_drawing(tmp_path, body, 'width="210mm" height="297mm" viewBox="10 20 210 297"')
    assert template.elements[0].box == (20_000, 20_000, 120_000, 100_000)


@pytest.mark.parametrize(
    ("aspect", "box"),
    [("", (3, 1, 5, 3)), ("xMinYMid meet", (1, 1, 3, 3)), ("xMaxYMid", (5, 1, 7, 3)), ("none", (2, 1, 6, 3))],
)
def test_view_box_of_other_proportions(tmp_path: Path, aspect: str, box: tuple[float, ...]) -> None:
    """SVG 2, section 8.2: an 8 x 4 viewport shows a 4 x 4 viewBox scaled evenly unless told ``none``."""
    attribute = f' preserveAspectRatio="{aspect}"' if aspect else ""
    body = '<rect id="photo-1" x="1" y="1" width="2" height="2"/>'
    template = read_drawing(tmp_path, body, f'width="8in" height="4in" viewBox="0 0 4 4"{attribute}')
    assert inches(template.elements[0].box) == box


def test_percentages_are_of_the_view_box(tmp_path: Path) -> None:
    """A background of 100 % covers the page."""
    template = read_drawing(tmp_path, PHOTO + '<rect id="background" width="100%" height="100%"/>')
    assert inches(element_of(template, "background").box) == (-BLEED, -BLEED, 12 + BLEED, 12 + BLEED)


# --- transforms -----------------------------------------------------------------------------------


def _numpy_matrix(kind: str, values: list[float]) -> np.ndarray:
    """Return the 3 x 3 matrix of SVG 2 / CSS Transforms 1, written independently of the reader."""
    if kind == "translate":
        return np.array([[1, 0, values[0]], [0, 1, values[1]], [0, 0, 1.0]])
    if kind == "scale":
        return np.diag([values[0], values[1], 1.0])
    t = np.deg2rad(values[0])
    turn = np.array([[np.cos(t), -np.sin(t), 0], [np.sin(t), np.cos(t), 0], [0, 0, 1.0]])
    if len(values) == 1:
        return turn
    there = np.array([[1, 0, values[1]], [0, 1, values[2]], [0, 0, 1.0]])
    return there @ turn @ np.linalg.inv(there)


_VALUE = st.floats(-50, 50).map(lambda v: round(v, 3))
_SCALE = st.floats(0.2, 5).map(lambda v: round(v, 3))
_STEP = st.one_of(
    st.tuples(st.just("translate"), st.lists(_VALUE, min_size=2, max_size=2)),
    st.tuples(st.just("scale"), st.lists(_SCALE, min_size=2, max_size=2)),
    st.tuples(st.just("rotate"), st.lists(_VALUE, min_size=1, max_size=1)),
    st.tuples(st.just("rotate"), st.lists(_VALUE, min_size=3, max_size=3)),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(_STEP, min_size=1, max_size=3), min_size=1, max_size=4))
def test_nested_transforms_against_numpy(groups: list[list[tuple[str, list[float]]]]) -> None:
    """Groups within groups map a point as the product of their matrices, outermost first."""
    expected, total = np.eye(3), Matrix()
    for steps in groups:
        total = total @ parse_transform(" ".join(f"{kind}({' '.join(map(str, v))})" for kind, v in steps))
        for kind, values in steps:
            expected = expected @ _numpy_matrix(kind, values)
    x, y, _ = expected @ np.array([3.0, -7.0, 1.0])
    assert total.apply((3.0, -7.0)) == pytest.approx((x, y), rel=1e-9, abs=1e-6)


def test_a_tilted_slot_in_nested_groups(tmp_path: Path) -> None:
    """The corners of a tilted, scaled and moved slot are those that numpy computes."""
    body = (
        '<g transform="translate(6 5)"><g transform="rotate(7) scale(2)">'
        '<rect id="photo-1" transform="translate(0.25 0.5)" x="-1" y="-0.75" width="2" height="1.5"/></g></g>'
    )
    slot = read_drawing(tmp_path, body).elements[0]
    whole = _numpy_matrix("translate", [6, 5]) @ _numpy_matrix("rotate", [7]) @ np.diag([2, 2, 1.0])
    whole = whole @ _numpy_matrix("translate", [0.25, 0.5])
    corners = whole @ np.array([[-1, 1, 1, -1], [-0.75, -0.75, 0.75, 0.75], [1, 1, 1, 1.0]])
    assert (slot.tilt, slot.size) == (7.0, (4 * 25_400, 3 * 25_400))
    drawn = np.array(polygon(slot).exterior.coords[:-1]) / 25_400
    assert np.allclose(drawn, corners[:2].T, atol=1e-4)


@pytest.mark.parametrize("angle", [90, -90, 180, 270, 94, -86, 44, 46, 135, -135, 3.5])
def test_quarter_turns_swap_sides_and_keep_the_shape(tmp_path: Path, angle: float) -> None:
    """However it is turned, a slot's tilt ends in (-45, 45] and its outline is where it was drawn."""
    body = f'<rect id="photo-1" transform="rotate({angle} 6 6)" x="4" y="5" width="4" height="2"/>'
    slot = read_drawing(tmp_path, body).elements[0]
    assert -45 < slot.tilt <= 45
    turn = _numpy_matrix("rotate", [angle, 6, 6])
    corners = (turn @ np.array([[4, 8, 8, 4], [5, 5, 7, 7], [1, 1, 1, 1.0]]))[:2].T * 25_400
    for corner in corners:
        assert min(math.dist(corner, other) for other in polygon(slot).exterior.coords) < 3


def test_mirrored_groups(tmp_path: Path) -> None:
    """A mirrored group flips its slots: a clockwise tilt becomes an anticlockwise one."""
    body = (
        '<g transform="translate(12 0) scale(-1 1)">'
        '<rect id="photo-1" transform="translate(4 4) rotate(5)" x="-1" y="-1" width="2" height="2.5"/></g>'
    )
    slot = read_drawing(tmp_path, body).elements[0]
    assert slot.tilt == -5.0
    assert slot.size == (2 * 25_400, 63_500)
    assert slot.center[0] == pytest.approx((12 - 4 + 0.25 * math.sin(math.radians(5))) * 25_400, abs=1)


def test_upright_tilt_range() -> None:
    """The half-open range keeps one reading for a slot turned by 45 degrees."""
    assert upright_tilt(-45) == (45.0, True)
    assert upright_tilt(45) == (45.0, False)
    assert upright_tilt(360) == (0.0, False)


def test_a_tilted_ellipse_and_a_turned_circle(tmp_path: Path) -> None:
    """An ellipse keeps its tilt; a circle has none however it is turned."""
    body = (
        '<ellipse id="photo-1" transform="rotate(10 4 4)" cx="4" cy="4" rx="2" ry="1"/>'
        '<circle id="photo-2" transform="rotate(10 8 8)" cx="8" cy="8" r="2"/>'
    )
    oval, circle = read_drawing(tmp_path, body).elements
    assert (oval.shape, oval.tilt, oval.size) == ("ellipse", 10.0, (101_600, 50_800))
    assert (circle.shape, circle.tilt, circle.size) == ("ellipse", 0.0, (101_600, 101_600))


# --- outlines -------------------------------------------------------------------------------------


def test_a_path_that_is_a_rectangle_becomes_one(tmp_path: Path) -> None:
    """Four right-angled corners are a rectangle, tilted ones included."""
    body = (
        '<path id="photo-1" d="M 1 1 h 4 v 3 h -4 z"/>'
        '<polygon id="photo-2" transform="rotate(-6 8 8)" points="6,7 10,7 10,9 6,9"/>'
    )
    first, second = read_drawing(tmp_path, body).elements
    assert (first.shape, inches(first.box)) == ("rect", (1, 1, 5, 4))
    assert (second.shape, second.tilt, second.size) == ("rect", -6.0, (101_600, 50_800))


@pytest.mark.parametrize(
    "data",
    [
        "M 3 6 A 3 3 0 0 1 9 6 A 3 3 0 0 1 3 6 Z",
        "M3 6a3 3 0 1 1 6 0a3 3 0 1 1-6 0z",
    ],
)
def test_a_round_path_stays_within_a_tenth_of_a_millimetre(tmp_path: Path, data: str) -> None:
    """Arcs become polygons of at most 200 points, nowhere further than 0.1 mm from the true circle."""
    slot = read_drawing(tmp_path, f'<path id="photo-1" d="{data}"/>').elements[0]
    assert slot.shape == "path"
    assert 12 < len(slot.outline) <= 200
    edge = polygon(slot).exterior
    for step in range(720):
        at = edge.interpolate(step / 720, normalized=True)
        assert abs(math.dist((at.x, at.y), (6 * 25_400, 6 * 25_400)) - 3 * 25_400) <= 100


def test_a_cubic_curve_against_its_formula(tmp_path: Path) -> None:
    """Every point of a Bernstein-form cubic lies within 0.1 mm of the polygon."""
    slot = read_drawing(tmp_path, '<path id="photo-1" d="M 2 8 C 2 1 10 1 10 8 Z"/>').elements[0]
    from shapely import Point

    edge = polygon(slot).exterior
    t = np.linspace(0, 1, 101)[:, None]
    controls = np.array([[2, 8], [2, 1], [10, 1], [10, 8]]) * 25_400.0
    weights = np.hstack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])
    assert max(edge.distance(Point(point)) for point in weights @ controls) <= 100


def test_the_largest_part_of_a_path_counts(tmp_path: Path) -> None:
    """A compound path is its largest part, with a note."""
    body = '<path id="photo-1" d="M 1 1 h 1 v 1 h -1 z M 4 4 h 5 l -2 5 z"/>'
    template = read_drawing(tmp_path, body)
    assert template.elements[0].shape == "path"
    assert any("several parts" in note for note in template.notes)


def test_a_tilted_path_is_kept_before_tilting(tmp_path: Path) -> None:
    """A path in a tilted group records the group's tilt and its outline before it."""
    body = '<polygon id="embellishment-1" transform="rotate(20 6 6)" points="5,5 7,5 6,7"/>'
    star = element_of(read_drawing(tmp_path, PHOTO + body), "embellishment-1")
    assert (star.tilt, star.size) == (20.0, (50_800, 50_800))
    assert set(star.outline) == {(-25_400, -25_400), (25_400, -25_400), (0, 25_400)}


# --- roles, groups, limits ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("attributes", "role"),
    [
        ('data-role="journaling" id="photo-7"', "journaling"),
        ('id="photo-2"', "photo"),
        ('id="paper3"', "paper"),
        ('id="Title_main"', "title"),
        ('class="big ribbon-a"', "ribbon"),
        ('id="rect12" label="photos left"', "photo"),
        ('id="strip-1"', "paper"),
    ],
)
def test_roles(tmp_path: Path, attributes: str, role: Role) -> None:
    """data-role wins, then the word that starts id, class or label."""
    template = read_drawing(tmp_path, f'<rect {attributes} x="1" y="1" width="2" height="2"/>' + PHOTO)
    assert template.elements[0].role == role


@pytest.mark.parametrize("attributes", ['id="photographer"', 'id="my-photo"', 'id="rect1"', ""])
def test_shapes_without_a_role_are_left_out_with_a_note(tmp_path: Path, attributes: str) -> None:
    """A shape that names no role is no slot, and the notes say so."""
    template = read_drawing(tmp_path, f'<rect {attributes} x="1" y="1" width="2" height="2"/>' + PHOTO)
    assert [element.id for element in template.elements] == ["photo-1"]
    assert any("have no role" in note for note in template.notes)


def test_groups_hand_down_role_cluster_limits_and_fill(tmp_path: Path) -> None:
    """A group's role, cluster, limits and fill hold for its shapes unless they say otherwise."""
    body = (
        '<g data-role="photo" data-cluster="left" data-fixed="" fill="#abc">'
        '<rect x="1" y="1" width="2" height="2"/>'
        '<rect id="title" style="fill: rgb(1, 2, 3)" x="4" y="1" width="2" height="2"/>'
        '<g id="cluster-inner"><rect fill="Navy" x="7" y="1" width="2" height="2"/></g></g>'
    )
    first, second, third = read_drawing(tmp_path, body).elements
    assert (first.id, first.role, first.cluster, first.color) == ("photo-1", "photo", "left", "#aabbcc")
    assert (second.role, second.limits.fixed, second.color) == ("title", True, "#010203")
    assert (third.id, third.cluster, third.color) == ("photo-2", "inner", "#000080")


def test_generated_ids_avoid_drawn_ones(tmp_path: Path) -> None:
    """A shape without an id gets the first free number of its role, whatever is drawn later."""
    body = '<rect data-role="photo" x="6" y="6" width="2" height="2"/>' + PHOTO
    assert [element.id for element in read_drawing(tmp_path, body).elements] == ["photo-2", "photo-1"]


def test_limits(tmp_path: Path) -> None:
    """may-be, min and vertical are read with their units."""
    body = (
        '<rect id="photo-1" data-may-be="photo, journaling" data-min="2in" x="1" y="1" width="4" height="3"/>'
        '<rect id="title" data-vertical="ok" x="6" y="1" width="2" height="4"/>'
    )
    photo, title = read_drawing(tmp_path, body).elements
    assert photo.limits.may_be == ("photo", "journaling")
    assert (photo.limits.smallest_side, photo.limits.fixed) == (50_800, False)
    assert title.limits.vertical


def test_what_is_no_slot_is_ignored_once_per_kind(tmp_path: Path) -> None:
    """Text, gradients and embedded pictures are noted per kind; titles and editors' data silently."""
    body = (
        "<title>Lake</title><defs><linearGradient/></defs><text>a</text><text>b</text>"
        '<image href="data:image/png;base64,AAAA"/><rect id="photo-9" display="none" width="1" height="1"/>'
        '<e:view xmlns:e="http://example.invalid/editor" e:on="1"/>' + PHOTO
    )
    notes = read_drawing(tmp_path, body).notes
    assert notes == ("Ignored 1 <image>.", "Ignored 2 <text>.", "Ignored 1 hidden <rect>.")


def test_name_hash_and_file_are_recorded(tmp_path: Path) -> None:
    """A template knows its name, its file's SHA-256 and its path."""
    path = write_drawing(tmp_path, PHOTO, name="lake.svg")
    template = read_template(path)
    assert template.name == "lake"
    assert template.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert template.file == str(path)


# --- edges ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("x", "left", "bleeds", "noted"),
    [
        (-0.5, -BLEED, True, False),
        (0, -BLEED, True, False),
        (0.03125, -BLEED, True, True),
        (0.125, 0.25, False, True),
        (0.25, 0.25, False, False),
        (0.5, 0.5, False, False),
    ],
)
def test_edges_snap_to_the_nearer_legal_line(
    tmp_path: Path, x: float, left: float, bleeds: bool, noted: bool
) -> None:
    """On or past the trim bleeds; between trim and safe line the nearer of 1/4 in and -1/8 in wins."""
    body = f'<rect id="photo-1" x="{x}" y="1" width="{4 - x}" height="3"/>'
    template = read_drawing(tmp_path, body)
    slot = template.elements[0]
    assert inches(slot.box) == pytest.approx((left, 1, 4, 4), abs=1e-4)
    assert slot.box[0] <= -3175 if bleeds else slot.box[0] >= 6350
    assert slot.bleeds == (("left",) if bleeds else ())
    assert bool(template.notes) is noted


def test_every_side_bleeds_on_its_own(tmp_path: Path) -> None:
    """A band across the page bleeds left and right only."""
    body = PHOTO + '<rect id="paper-1" x="0" y="5" width="12" height="2"/>'
    band = element_of(read_drawing(tmp_path, body), "paper-1")
    assert band.bleeds == ("left", "right")
    assert inches(band.box) == (-BLEED, 5, 12 + BLEED, 7)


def test_text_never_bleeds(tmp_path: Path) -> None:
    """A card drawn past the trim is pulled back to the safe line, with a note."""
    template = read_drawing(tmp_path, '<rect id="journaling" x="-1" y="1" width="5" height="3"/>')
    assert inches(template.elements[0].box) == (0.25, 1, 4, 4)
    assert template.elements[0].bleeds == ()
    assert "1 in past the trim" in template.notes[0]


def test_decoration_is_moved_not_cut(tmp_path: Path) -> None:
    """A circle that ends a little outside the safe line keeps its size and moves in."""
    body = PHOTO + '<circle id="embellishment-1" cx="0.625" cy="8" r="0.5"/>'
    circle = element_of(read_drawing(tmp_path, body), "embellishment-1")
    assert inches(circle.box) == (0.25, 7.5, 1.25, 8.5)


def test_a_tilted_slot_is_moved_inside(tmp_path: Path) -> None:
    """A tilted slot whose corner leaves the safe box moves by just that much."""
    body = '<rect id="photo-1" transform="rotate(5 3 3)" x="0.3" y="1.5" width="4" height="3"/>'
    slot = read_drawing(tmp_path, body).elements[0]
    assert min(x for x, _ in polygon(slot).exterior.coords) == pytest.approx(6350, abs=3)
    assert slot.tilt == 5.0


def test_a_tilted_sheet_may_bleed(tmp_path: Path) -> None:
    """A tilted paper with two corners well past the left trim bleeds there and stays as drawn."""
    body = PHOTO + '<rect id="paper-1" transform="rotate(5 0 6)" x="-2" y="4" width="5" height="4"/>'
    sheet = element_of(read_drawing(tmp_path, body), "paper-1")
    assert sheet.bleeds == ("left",)
    assert sheet.size == (5 * 25_400, 4 * 25_400)


def test_corners_of_a_bleeding_outline_go_to_the_lines(tmp_path: Path) -> None:
    """A torn paper edge along the trim: each corner ends past the bleed line or inside the safe box."""
    body = PHOTO + '<polygon id="paper-1" points="0,8 3,8.5 3,11 0.1,11 -0.05,9.5"/>'
    sheet = element_of(read_drawing(tmp_path, body), "paper-1")
    assert sheet.bleeds == ("left",)
    for x, _ in polygon(sheet).exterior.coords:
        assert x <= -3175 + 2 or x >= 6350 - 2


def test_what_lies_outside_the_page_is_left_out(tmp_path: Path) -> None:
    """Shapes parked beside the page are no slots."""
    template = read_drawing(tmp_path, PHOTO + '<rect id="photo-2" x="13" y="1" width="2" height="2"/>')
    assert [element.id for element in template.elements] == ["photo-1"]
    assert any("lie outside the page" in note for note in template.notes)


@settings(max_examples=80, deadline=None)
@given(
    x=st.floats(-2, 10), y=st.floats(-2, 10), w=st.floats(1, 9), h=st.floats(1, 9),
    role=st.sampled_from(["photo", "paper", "journaling", "embellishment"]),
)  # fmt: skip
def test_untilted_slots_always_end_on_legal_lines(
    tmp_path_factory: pytest.TempPathFactory, x: float, y: float, w: float, h: float, role: str
) -> None:
    """Wherever an upright slot is drawn, R1 holds for it once read, and its size is even."""
    body = f'<rect id="{role}-9" x="{x:.4f}" y="{y:.4f}" width="{w:.4f}" height="{h:.4f}"/>'
    template = read_drawing(
        tmp_path_factory.mktemp("edges"), '<rect id="photo" x="1" y="1" width="1" height="1"/>' + body
    )
    for slot in template.elements:
        left, top, right, bottom = slot.box
        inside = {"left": left, "top": top, "right": 304_800 - right, "bottom": 304_800 - bottom}
        for side, distance in inside.items():
            assert distance <= -3175 if side in slot.bleeds else distance >= 6350 - 3
        assert slot.size[0] % 2 == slot.size[1] % 2 == 0
        assert not (role == "journaling" and slot.bleeds)
