"""The order photos were taken in, across cameras and time zones."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from fitter.photos import Photo
from fitter.photos.order import by_time


def names(*photos):
    """Return the names of photos, given as (name, time), in order."""
    made = [Photo(Path(name), name, (3, 2), taken=taken) for name, taken in photos]
    return [photo.path.name for photo in by_time(made)]


def test_moments_are_compared_and_not_clocks():
    """20:30 at +02:00 is before 19:00 at UTC."""
    assert names(("b", "2026-07-04T19:00:00+00:00"), ("a", "2026-07-04T20:30:00+02:00")) == ["a", "b"]


def test_a_camera_without_an_offset_takes_the_usual_one():
    """Two phones at +02:00 and one at -05:00: the camera's clock is taken to be at +02:00."""
    order = names(
        ("phone-1", "2026-07-04T10:00:00+02:00"),
        ("phone-2", "2026-07-04T10:10:00+02:00"),
        ("away", "2026-07-04T03:07:00-05:00"),
        ("camera", "2026-07-04T10:05:00"),
    )
    assert order == ["phone-1", "camera", "away", "phone-2"]


def test_equal_moments_go_by_the_camera_clock_and_then_by_number():
    """The same moment: earlier clock first; the same clock: 9 before 10."""
    order = names(
        ("img10", "2026-07-04T10:00:00+02:00"),
        ("img9", "2026-07-04T10:00:00+02:00"),
        ("z", "2026-07-04T09:00:00+01:00"),
    )
    assert order == ["z", "img9", "img10"]


def test_fractions_of_a_second_count():
    """In a burst they are all there is."""
    assert names(("b", "2026-07-04T10:00:00.5"), ("c", "2026-07-04T10:00:00.75"), ("a", "2026-07-04T10:00:00")) == [
        "a",
        "b",
        "c",
    ]


def test_the_ends_of_the_calendar():
    """A camera that never had its clock set does not stop the others."""
    order = names(("b", "9999-12-31T23:59:59-10:00"), ("a", "0001-01-01T00:00:00+10:00"), ("c", None))
    assert order == ["a", "b", "c"]


@given(
    st.permutations(
        [
            ("a", "2026-07-04T10:00:00+02:00"),
            ("b", "2026-07-04T10:00:00"),
            ("c", "2026-07-04T08:00:00+00:00"),
            ("d", None),
            ("e", "2026-07-04T10:00:00.1"),
            ("f", None),
        ]
    )
)
def test_the_order_does_not_depend_on_the_folder(shuffled):
    """Any listing gives the same order."""
    assert names(*shuffled) == ["c", "a", "b", "e", "d", "f"]
