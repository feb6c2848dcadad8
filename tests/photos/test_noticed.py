"""What the program finds in photos gives way to what somebody marked."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from fitter.noticed import notice, with_found
from fitter.photos import Mark, Photo
from fitter.photos.regions import covered
from fitter.seeing.heads import Face
from fitter.seeing.look import Seen

BOX = (0.35, 0.1, 0.2, 0.35)
PLAIN = Photo(Path("lake.jpg"), "ab", (300, 200))


@dataclass(frozen=True)
class Found:
    """What a look at a photo came back with."""

    groups: tuple[tuple[tuple[float, float, float, float], int], ...] = ((BOX, 1),)
    turn: int = 0
    parts: tuple[tuple[float, float, float, float], ...] = ()

    def grid(self, marked):
        """Say what was marked, in place of a map."""
        return ((1 + len(marked),),)


def marked(*marks, **more):
    """Return a photo with marks."""
    keep = tuple(mark.box for mark in marks if mark.source in ("correction", "file"))
    detected = tuple(mark.box for mark in marks if mark.source in ("camera", "found"))
    return replace(PLAIN, marks=marks, keep=keep, detected=detected, **more)


def test_a_found_face_is_kept_where_possible():
    """With how many faces its box is for."""
    photo = with_found(PLAIN, Found(groups=((BOX, 2),)))
    assert (photo.keep, photo.detected) == ((), (BOX,))
    assert photo.marks == (Mark(BOX, "face", "found", 2),)


def test_each_face_that_is_kept_counts_once():
    """Not again where its box lies inside another's, and not at all where it is not sure enough to be kept."""
    near = Face((0.42, 0.52, 0.02, 0.05), 0.9)
    large = Face((0.35, 0.3, 0.3, 0.6), 0.95)
    unsure = Face((0.5, 0.6, 0.02, 0.05), 0.72)
    seen = Seen(PLAIN.pixels, (large, near, unsure), 0, np.zeros((1, 1), np.int64))
    marks = with_found(PLAIN, seen).marks
    assert len(marks) == 2 and covered(marks[1].box, marks[0].box) == pytest.approx(1)
    assert [mark.count for mark in marks] == [1, 1]


def test_heads_of_a_group_stand_behind_its_box():
    """They are regions, but no marks of their own; one whose group a mark covers is none."""
    part = (0.36, 0.15, 0.05, 0.1)
    photo = with_found(PLAIN, Found(parts=(part,)))
    assert photo.detected == (BOX, part)
    assert [mark.box for mark in photo.marks] == [BOX]
    mark = Mark((0.3, 0.1, 0.3, 0.3), "subject", "file")
    assert with_found(marked(mark), Found(parts=(part,))) == marked(mark)


def test_a_marked_subject_stays_and_a_face_beside_it_is_added():
    """Somebody marked the dog; the face is found besides."""
    dog = Mark((0.7, 0.6, 0.2, 0.3), "subject", "file")
    photo = with_found(marked(dog), Found())
    assert (photo.keep, photo.detected) == ((dog.box,), (BOX,))


def test_a_found_face_on_a_marked_one_is_nothing_new():
    """The mark covers more than half of it."""
    mark = Mark((0.3, 0.1, 0.3, 0.3), "subject", "file")
    assert with_found(marked(mark), Found()) == marked(mark)


@pytest.mark.parametrize(
    "photo",
    [
        marked(settled=True),
        marked(Mark((0, 0, 0.1, 0.1), "subject", "correction"), settled=True),
        marked(Mark((0, 0, 0.1, 0.1), "face", "file")),
    ],
)
def test_what_is_settled_is_never_overridden(photo):
    """The user's own file, even one that says nothing needs keeping; faces another program marked."""
    assert with_found(photo, Found()) == photo


def test_found_faces_replace_what_the_camera_aimed_at():
    """With no face found, it stays."""
    aim = Mark((0, 0, 0.1, 0.1), "subject", "camera")
    assert with_found(marked(aim), Found()).detected == (BOX,)
    assert with_found(marked(aim), Found(groups=())) == marked(aim)


@pytest.mark.parametrize(("turn", "words"), [(1, "turn clockwise"), (2, "half a turn"), (3, "counter-clockwise")])
def test_a_photo_on_its_side_is_noticed(turn, words):
    """Said, not done."""
    (note,) = with_found(PLAIN, Found(groups=(), turn=turn)).notes
    assert words in note


def test_photos_left_out_are_not_looked_at():
    """Nor is anything else of theirs touched."""

    class Looker:
        def look(self, photo):
            assert not photo.rejected
            return Found()

    rejected = replace(PLAIN, rating=-1.0)
    steps = []
    noticed = notice([rejected, PLAIN], Looker(), progress=lambda done, count: steps.append((done, count)))
    assert noticed[0] == rejected and noticed[1].detected == (BOX,)
    assert noticed[1].importance == ((1,),)
    assert steps == [(1, 2), (2, 2)]
    (without,) = notice([PLAIN], Looker(), maps=False)
    assert (without.detected, without.importance) == ((BOX,), ())
