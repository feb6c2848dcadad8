"""Bursts and near-duplicates by the difference hash."""

from pathlib import Path

import pytest
from PIL import Image, ImageEnhance

from fitter.photos import Photo, alike, open_seen
from fitter.photos.alike import BITS, MOST_DIFFERENT, difference, look


@pytest.fixture(scope="module")
def pictures(demo_photos):
    """The demo's photos, small."""
    return {path.stem: open_seen(path, at_least=(400, 400)) for path in sorted(demo_photos.glob("*.jpg"))}


def photo(name, seen, taken=None):
    """Return a photo that looks as given."""
    return Photo(Path(name), name, (300, 200), taken=taken, look=seen)


def test_the_hash_by_hand():
    """Krawetz, "Kind of Like That" (2013): one bit for each neighbour that is brighter; rows, then columns."""
    ramp = Image.new("L", (9, 9))
    ramp.putdata([20 * x for _ in range(9) for x in range(9)])
    assert look(ramp) == "f" * 16 + "0" * 16
    assert look(ramp.transpose(Image.Transpose.ROTATE_270)) == "0" * 16 + "f" * 16
    assert difference(look(ramp), look(ramp.transpose(Image.Transpose.FLIP_LEFT_RIGHT))) == 64


def test_a_plain_picture_is_not_compared():
    """Two bare walls look alike and mean nothing."""
    wall = look(Image.new("RGB", (90, 60), (200, 190, 180)))
    assert wall == ""
    assert alike([photo("a", wall), photo("b", wall)]) == ()


def test_different_photos_look_different(pictures):
    """Every two of the demo's photos are more than the limit apart."""
    looks = [look(picture) for picture in pictures.values()]
    apart = [difference(a, b) for i, a in enumerate(looks) for b in looks[:i]]
    assert min(apart) > MOST_DIFFERENT


CHANGES = {
    "smaller": lambda im: im.resize((im.width // 2, im.height // 2)),
    "brighter": lambda im: ImageEnhance.Brightness(im).enhance(1.25),
    "grey": lambda im: im.convert("L"),
    "cut": lambda im: im.crop((im.width // 50, im.height // 50, im.width, im.height)),
}


@pytest.mark.parametrize("change", CHANGES)
def test_the_same_photo_changed_looks_alike(pictures, change):
    """Resized, brightened, without colour, cut by 2 %."""
    for name, picture in pictures.items():
        assert difference(look(picture), look(CHANGES[change](picture))) <= MOST_DIFFERENT, name


def bits(*ones):
    """Return a hash with these bits set."""
    return f"{sum(1 << one for one in ones):0{BITS // 4}x}"


def test_chains_of_pairs_make_groups():
    """20 bits apart is alike, 21 is not; two ends of a chain belong together."""
    base = bits()
    near, far = bits(*range(20)), bits(*range(40))
    other, edge = bits(*range(60, 120)), bits(*range(60, 81))
    photos = [photo(str(i), seen) for i, seen in enumerate([far, other, base, near, edge])]
    assert [group.members for group in alike(photos)] == [(0, 2, 3)]


@pytest.mark.parametrize(
    ("times", "burst"),
    [
        (["2026-07-04T10:00:00", "2026-07-04T10:00:09.5"], True),
        (["2026-07-04T10:00:00", "2026-07-04T10:00:11"], False),
        (["2026-07-04T10:00:08", "2026-07-04T10:00:00", "2026-07-04T10:00:16"], True),
        (["2026-07-04T10:00:00", None], False),
    ],
)
def test_a_burst_is_close_in_time(times, burst):
    """Ten seconds from one to the next; without a time nobody knows."""
    (group,) = alike([photo(str(i), bits(1, 2, 3), time) for i, time in enumerate(times)])
    assert group.burst is burst


def test_few_photos_make_no_groups():
    """None, and one."""
    assert alike([]) == alike([photo("a", bits(1))]) == ()
