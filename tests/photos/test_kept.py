"""Photos read through the cache: the same answers, quicker, whatever happened to it."""

import json
import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from fitter.cache import Cache
from fitter.photos import preview, read_photo, read_photos, survey_photos
from fitter.photos import read as reading

FIXTURES = Path(__file__).parent.parent / "fixtures" / "photos"


@pytest.mark.parametrize("name", ["mwg-6.jpg", "mwg-7.heic", "kinds.jpg", "area-5.jpg", "beside.jpg", "private.jpg"])
def test_a_kept_photo_is_the_same_photo(tmp_path, name, monkeypatch):
    """Everything known comes back, without decoding."""
    path = FIXTURES / name
    with Cache(tmp_path) as cache:
        first = read_photo(path, cache=cache)
        small = preview(first, cache)
    monkeypatch.setattr(reading, "_examine", lambda *given: pytest.fail("was decoded"))
    with Cache(tmp_path) as cache:
        assert read_photo(path, cache=cache) == first == replace(first)
        assert preview(first, cache).size == small.size


def test_a_changed_file_is_read_anew(tmp_path):
    """Another content under the same name, size and time of change aside."""
    path = tmp_path / "lake.jpg"
    with Cache(tmp_path / "c") as cache:
        shutil.copy(FIXTURES / "mwg-1.jpg", path)
        before = read_photo(path, cache=cache)
        shutil.copy(FIXTURES / "mwg-6.jpg", path)
        after = read_photo(path, cache=cache)
    assert (before.orientation, after.orientation) == (1, 6)
    assert before.sha256 != after.sha256


def test_corrections_are_never_kept(tmp_path):
    """What lies beside a photo counts at once."""
    path = tmp_path / "lake.jpg"
    shutil.copy(FIXTURES / "mwg-1.jpg", path)
    with Cache(tmp_path / "c") as cache:
        read_photo(path, cache=cache)
        (tmp_path / "lake.jpg.keep.json").write_text('{"keep": [], "rating": 5}', encoding="utf-8")
        photo = read_photo(path, cache=cache)
    assert (photo.keep, photo.weight) == ((), 2.0)


@pytest.mark.parametrize("kept", [b"", b"[]", b"{}", b'{"size": 3}', b"rubbish", b'{"size": [1], "xmp": {}}'])
def test_a_kept_answer_that_is_none_is_asked_again(tmp_path, kept):
    """Whatever lies under the key."""
    path = FIXTURES / "mwg-6.jpg"
    plain = read_photo(path)
    with Cache(tmp_path) as cache:
        cache.put(plain.sha256, "photo", reading._VERSION, kept)
        cache.put(plain.sha256, "preview", reading._VERSION, kept)
        assert read_photo(path, cache=cache) == plain
        cache.put(plain.sha256, "preview", reading._VERSION, kept)
        assert preview(plain, cache).mode == "RGB"


def test_what_is_kept_names_no_place_person_or_file(tmp_path):
    """Nothing exiftool wrote into the photo is in the cache's file, nor where the photo lies."""
    home = tmp_path / "family-cabin"
    home.mkdir()
    shutil.copy(FIXTURES / "private.jpg", home / "secret-name.jpg")
    os.utime(home / "secret-name.jpg", (10**9, 10**9))
    with Cache(tmp_path / "c") as cache:
        read_photo(home / "secret-name.jpg", cache=cache)
    data = cache.file.read_bytes()
    for word in (b"77410263", b"55120", b"Nobody", b"61.2", b"61,12", b"secret-name", b"family-cabin"):
        assert word not in data


def test_a_survey_goes_on_past_what_is_broken(tmp_path):
    """Each file that cannot be used has its line; the others are there in order."""
    for name in ("mwg-1.jpg", "mwg-3.heic", "four-stars.jpg"):
        shutil.copy(FIXTURES / name, tmp_path)
    (tmp_path / "empty.png").touch()
    (tmp_path / "rubbish.heic").write_bytes(b"\0\0\0\x18ftypheic" + b"rubbish" * 10)
    data = (FIXTURES / "mwg-6.webp").read_bytes()
    (tmp_path / "cut.webp").write_bytes(data[:200])
    shutil.copy(FIXTURES / "mwg-1.jpg", tmp_path / "corrected.jpg")
    (tmp_path / "corrected.jpg.keep.json").write_text("{", encoding="utf-8")
    seen = []
    survey = survey_photos([tmp_path], cache=Cache(None), progress=lambda done, count: seen.append((done, count)))
    assert {photo.path.name for photo in survey.photos} == {"mwg-1.jpg", "mwg-3.heic", "four-stars.jpg"}
    problems = {path.name: reason for path, reason in survey.problems}
    assert problems.keys() == {"empty.png", "rubbish.heic", "cut.webp", "corrected.jpg"}
    assert "empty" in problems["empty.png"] and "not JSON" in problems["corrected.jpg"]
    assert all("\n" not in reason and str(tmp_path / "cut") not in reason for reason in problems.values())
    assert seen == [(number, 7) for number in range(1, 8)]


def test_photos_that_look_alike_are_noted_and_used(tmp_path):
    """One sentence for the group; nothing is dropped."""
    for number in (1, 2):
        shutil.copy(FIXTURES / f"mwg-{number}.jpg", tmp_path)
    shutil.copy(FIXTURES / "four-stars.jpg", tmp_path)
    notes = []
    assert len(read_photos([tmp_path], note=notes.append)) == 3
    assert notes == ["four-stars.jpg, mwg-1.jpg look alike; all are used"]


def test_what_is_kept_is_plain_json(tmp_path):
    """So that another version can tell what it is."""
    with Cache(tmp_path) as cache:
        photo = read_photo(FIXTURES / "mwg-6.jpg", cache=cache)
        kept = json.loads(cache.get(photo.sha256, "photo", reading._VERSION))
    assert kept["size"] == [96, 64] and kept["orientation"] == 6
