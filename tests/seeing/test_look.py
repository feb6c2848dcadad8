"""The door: files, the detector, the cache."""

from __future__ import annotations

import os
from importlib import metadata
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fitter.cache import Cache
from fitter.photos import read_photo
from fitter.seeing import faces
from fitter.seeing.look import KIND, VERSION, Looker
from tests.seeing.drawn import person, speckled


@pytest.fixture
def photo_file(tmp_path: Path) -> Path:
    """One drawn person, left of the middle."""
    path = tmp_path / "dock.jpg"
    person().save(path, quality=90)
    return path


def test_a_drawn_face_is_found_where_it_is(photo_file: Path) -> None:
    """The keep box lies around the head drawn at 200, 200."""
    seen = Looker().look(read_photo(photo_file))
    (box,) = seen.detected
    assert seen.turn == 0
    assert box[0] * 640 < 160 < 240 < (box[0] + box[2]) * 640
    assert box[1] * 480 < 150 < 250 < (box[1] + box[3]) * 480
    assert box[2] < 0.4


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_the_way_up_is_noticed(turn: int) -> None:
    """Turned against the clock by so many quarters, the picture needs as many with it; the face is still found."""
    upright = np.asarray(person())
    found, told = faces.FaceFinder().find(np.ascontiguousarray(np.rot90(upright, turn)))
    assert told == turn
    (straight,), _ = faces.FaceFinder().find(upright)
    assert faces.turned(found[0].box, turn) == pytest.approx(straight.box, abs=0.02)


def test_orientation_is_applied_before_faces_are_looked_for(tmp_path: Path) -> None:
    """A phone's picture stored on its side with an Exif orientation is upright as seen."""
    path = tmp_path / "phone.jpg"
    exif = Image.Exif()
    exif[0x0112] = 6
    person().rotate(90, expand=True).save(path, exif=exif, quality=90)
    seen = Looker().look(read_photo(path))
    assert seen.turn == 0
    assert seen.pixels == (640, 480)
    assert seen.detected[0][0] * 640 < 160


def test_small_faces_are_looked_for_more_finely(tmp_path: Path) -> None:
    """A face of some thirty pixels in a large photo is found."""
    path = tmp_path / "far.jpg"
    person((2400, 1600), (1500, 700), 60).save(path, quality=90)
    (box,) = Looker().look(read_photo(path)).detected
    assert box[0] < 1500 / 2400 < box[0] + box[2]


def test_a_crowd_is_looked_at_enlarged() -> None:
    """Of two dozen faces too small to be found at once most are found beside two dozen larger ones."""

    def row(radius: int) -> np.ndarray:
        return np.tile(np.asarray(person((120, 106), (60, 45), radius)), (1, 8, 1))

    large, small = np.vstack([row(9)] * 3), np.vstack([row(5)] * 3)
    finder = faces.FaceFinder()
    assert finder.find(np.vstack([small, small]))[0] == ()
    found, turn = finder.find(np.vstack([large, small]))
    assert turn == 0
    assert sum(face.box[1] < 0.5 for face in found) == 24
    assert 12 < sum(face.box[1] >= 0.5 for face in found) <= 24


def test_a_group_has_parts(tmp_path: Path) -> None:
    """Two heads side by side share a keep box, and are there one by one; a single one has no parts."""
    path = tmp_path / "pair.jpg"
    one = np.asarray(person((160, 480), (80, 200), 40))
    Image.fromarray(np.hstack([one[:, ::-1], one, one[:, ::-1] // 2, one // 2])).save(path, quality=92)
    seen = Looker().look(read_photo(path))
    groups = [box for box in seen.detected if any(_inside(part, box) for part in seen.parts)]
    assert groups and len(seen.parts) >= 2
    assert all(any(_inside(part, box) for box in seen.detected) for part in seen.parts)
    assert len(seen.parts) + len(seen.detected) - len(groups) == sum(face.score >= 0.75 for face in seen.faces)


def _inside(part: tuple[float, ...], box: tuple[float, ...]) -> bool:
    return all(
        box[axis] <= part[axis] + 1e-9 and part[axis] + part[axis + 2] <= box[axis] + box[axis + 2] + 1e-9
        for axis in (0, 1)
    )


def test_what_was_found_is_kept(photo_file: Path, tmp_path: Path) -> None:
    """A second look takes everything from the cache, to the last unit, and does not open the file."""
    photo = read_photo(photo_file)
    with Cache(tmp_path / "cache") as cache:
        first = Looker(cache).look(photo)
    photo_file.unlink()
    with Cache(tmp_path / "cache") as cache:
        again = Looker(cache).look(photo)
    assert (again.faces, again.turn, again.pixels) == (first.faces, first.turn, first.pixels)
    assert (again.scene == first.scene).all()


@pytest.mark.parametrize("data", [b"", b"{}\n", b'{"faces": [], "turn": 0, "shape": [9, 9]}\nxx', b"\xff\n\x00"])
def test_a_useless_cache_entry_is_found_anew(photo_file: Path, data: bytes) -> None:
    """What the cache holds wrongly never stands in the way."""
    photo, cache = read_photo(photo_file), Cache(None)
    looker = Looker(cache)
    version = f"{VERSION}/{faces.version()}"
    cache.put(photo.sha256, KIND, version, data)
    seen = looker.look(photo)
    assert len(seen.faces) == 1
    assert cache.get(photo.sha256, KIND, version) != data


def test_looking_is_repeatable_and_leaves_the_file_alone(photo_file: Path) -> None:
    """Two looks give the same; a write-protected file is enough, and is unchanged."""
    before = photo_file.read_bytes(), os.stat(photo_file).st_mtime_ns
    photo_file.chmod(0o400)
    one, other = (Looker().look(read_photo(photo_file)) for _ in range(2))
    assert one.faces == other.faces
    assert (one.importance() == other.importance()).all()
    assert (photo_file.read_bytes(), os.stat(photo_file).st_mtime_ns) == before


def test_without_the_extra_everything_but_faces_goes_on(photo_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sentence is there to be said once, no face is found, the map is there."""

    def absent(name: str) -> None:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(faces.metadata, "files", absent)
    looker = Looker()
    assert looker.problem is not None
    assert "page-fitter[faces]" in looker.problem
    seen = looker.look(read_photo(photo_file))
    assert seen.faces == ()
    assert seen.detected == ()
    assert faces.version() == "none"
    with pytest.raises(RuntimeError, match="extra 'faces'"):
        faces.FaceFinder()


@pytest.mark.parametrize("size", [(1, 1), (1, 700), (3000, 2), (90, 60)])
def test_odd_sizes_can_be_looked_at(tmp_path: Path, size: tuple[int, int]) -> None:
    """Single pixels, threads and stamps have a map and no faces."""
    path = tmp_path / "odd.png"
    Image.fromarray(speckled((size[1], size[0]))).save(path)
    seen = Looker().look(read_photo(path))
    assert seen.detected == ()
    assert max(seen.scene.shape) <= 128
