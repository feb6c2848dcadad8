"""The cache: what is kept comes back, and nothing that is wrong with it stands in the way."""

import multiprocessing
import os
import sqlite3
import threading
import time

import pytest

from fitter.cache import LARGEST_RESULT, Cache, cache_folder
from fitter.errors import InputError

SHA = "ab" * 32


def kept(folder, **options):
    """Return a cache with one result, written and closed."""
    with Cache(folder, **options) as cache:
        cache.put(SHA, "faces", "1", b"found")
    return folder


def test_what_was_put_comes_back_in_a_later_run(tmp_path):
    """Bytes and JSON, before and after they are written."""
    with Cache(tmp_path / "new" / "cache") as cache:
        cache.put(SHA, "map", "1", b"\0\1")
        cache.put_json(SHA, "faces", "1", [[0.25, 1]])
        assert cache.get(SHA, "map", "1") == b"\0\1"
    with Cache(tmp_path / "new" / "cache") as cache:
        assert cache.get(SHA, "map", "1") == b"\0\1"
        assert cache.get_json(SHA, "faces", "1") == [[0.25, 1]]


@pytest.mark.parametrize("key", [("cd" * 32, "faces", "1"), (SHA, "map", "1"), (SHA, "faces", "2")])
def test_another_photo_kind_or_version_is_a_miss(tmp_path, key):
    """Nothing else is ever returned."""
    with Cache(kept(tmp_path)) as cache:
        assert cache.get(*key) is None
        assert cache.get_json(*key) is None


def test_looking_up_makes_no_files(tmp_path):
    """A folder appears with the first result, private to its owner."""
    with Cache(tmp_path / "c") as cache:
        assert cache.get(SHA, "faces", "1") is None
    assert list(tmp_path.iterdir()) == []
    assert kept(tmp_path / "c").stat().st_mode & 0o077 == 0


def test_without_a_folder_results_last_for_the_run():
    """Switched off, it still serves the run it is in."""
    cache = Cache(None)
    for number in range(300):
        cache.put(SHA, "map", str(number), b"x")
    assert cache.get(SHA, "map", "7") == b"x"
    cache.close()
    assert cache.problem is None and cache.clear() == 0


def test_without_a_folder_memory_is_bounded(monkeypatch):
    """The oldest results go; the newest stays."""
    monkeypatch.setattr("fitter.cache._MOST_HELD", 10_000)
    cache = Cache(None)
    for number in range(50):
        cache.put(SHA, "map", str(number % 30), bytes(1000))
    there = [number for number in range(30) if cache.get(SHA, "map", str(number))]
    assert there == list(range(10, 20))


def test_a_file_is_known_by_its_times_and_size(tmp_path):
    """Unchanged it is known; changed within two seconds it is not remembered; changed later it is not known."""
    file = tmp_path / "lake.jpg"
    file.write_bytes(b"one")
    with Cache(tmp_path / "c") as cache:
        cache.remember_hash(file.stat(), SHA)
        assert cache.known_hash(file.stat()) is None
        settled = os.stat_result((*file.stat()[:10],), {"st_mtime_ns": 10**18, "st_ctime_ns": 10**18 + 1, "st_size": 3})
        cache.remember_hash(settled, SHA)
        assert cache.known_hash(settled) == SHA
    with Cache(tmp_path / "c") as cache:
        assert cache.known_hash(settled) == SHA
        assert cache.known_hash(file.stat()) is None
    assert b"lake" not in (tmp_path / "c" / "analysis-1.sqlite3").read_bytes()


def test_the_file_stays_within_its_bound(tmp_path):
    """What was used least recently goes; the newest stays."""
    for number in range(40):
        with Cache(tmp_path, most_bytes=400_000) as cache:
            cache.put(SHA, "map", str(number), os.urandom(20_000))
    assert cache.file.stat().st_size <= 400_000
    with Cache(tmp_path) as cache:
        there = [number for number in range(40) if cache.get(SHA, "map", str(number))]
    assert 5 <= len(there) < 40 and there[-1] == 39


def test_a_result_too_large_is_a_mistake_of_the_program():
    """4 MB is plenty for a small map."""
    with pytest.raises(ValueError, match="bytes"):
        Cache(None).put(SHA, "map", "1", bytes(LARGEST_RESULT + 1))


@pytest.mark.parametrize("damage", ["rubbish", "cut", "scrambled", "empty"])
def test_a_damaged_cache_is_begun_anew(tmp_path, damage):
    """Nothing is raised, and what is put afterwards is kept."""
    file = kept(tmp_path) / "analysis-1.sqlite3"
    data = file.read_bytes()
    file.write_bytes(
        {
            "rubbish": b"rubbish" * 1000,
            "cut": data[: len(data) // 2],
            "scrambled": data[:100] + bytes(reversed(data[100:])),
            "empty": b"",
        }[damage]
    )
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") is None
        cache.put(SHA, "faces", "1", b"again")
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") == b"again"
        assert cache.problem is None


def test_a_result_with_a_flipped_bit_is_a_miss(tmp_path):
    """Every result carries a checksum."""
    file = kept(tmp_path) / "analysis-1.sqlite3"
    file.write_bytes(file.read_bytes().replace(b"found", b"foumd"))
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") is None


@pytest.mark.parametrize("version", [0, 7])
def test_a_cache_of_another_format_is_begun_anew(tmp_path, version):
    """Under our file name, but with other tables."""
    with sqlite3.connect(tmp_path / "analysis-1.sqlite3") as other:
        other.execute("CREATE TABLE results (x)")
        other.execute(f"PRAGMA user_version = {version}")
    other.close()
    with Cache(kept(tmp_path)) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"


def test_a_cache_that_cannot_be_used_says_so_once(tmp_path):
    """The folder's place is taken by a file: work goes on, with a sentence."""
    (tmp_path / "c").write_bytes(b"")
    with Cache(tmp_path / "c" / "deep") as cache:
        cache.put(SHA, "faces", "1", b"x")
        assert cache.get(SHA, "faces", "1") == b"x"
        cache.flush()
        assert cache.get(SHA, "faces", "1") is None
        assert "cannot be used" in cache.problem
        cache.put(SHA, "faces", "1", b"x")


def test_a_cache_that_is_a_folder_cannot_be_used(tmp_path):
    """Nor is it removed."""
    (tmp_path / "analysis-1.sqlite3").mkdir()
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") is None
        assert "cannot be used" in cache.problem
    assert (tmp_path / "analysis-1.sqlite3").is_dir()


def test_a_busy_cache_is_passed_by(tmp_path, monkeypatch):
    """While another process writes for long, results are let go instead of waiting for it."""
    monkeypatch.setattr("fitter.cache._WAIT_SECONDS", 0.05)
    other = sqlite3.connect(kept(tmp_path) / "analysis-1.sqlite3", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") is None
        cache.put(SHA, "faces", "2", b"x")
    other.execute("ROLLBACK")
    other.close()
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"
        assert cache.get(SHA, "faces", "2") is None


def test_a_busy_cache_is_waited_for_once(tmp_path, monkeypatch):
    """Many questions do not wait each in turn; one sentence says so."""
    monkeypatch.setattr("fitter.cache._WAIT_SECONDS", 0.2)
    other = sqlite3.connect(kept(tmp_path) / "analysis-1.sqlite3", isolation_level=None)
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"
        other.execute("BEGIN EXCLUSIVE")
        start = time.monotonic()
        for number in range(20):
            assert cache.get(SHA, "map", str(number)) is None
            cache.put(SHA, "map", str(number), b"x")
            cache.flush()
        assert time.monotonic() - start < 1.5
        assert "another program holds it" in cache.problem
    other.close()


def _work(folder, worker):
    with Cache(folder) as cache:
        for number in range(150):
            cache.put(f"{worker}-{number}", "map", "1", bytes([worker]) * 500)
            cache.get(f"0-{number}", "map", "1")


def test_several_processes_may_write_at_once(tmp_path):
    """Also the making of the file itself is shared; nothing is lost or mixed up."""
    context = multiprocessing.get_context("spawn")
    workers = [context.Process(target=_work, args=(tmp_path / "c", number)) for number in range(3)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert [worker.exitcode for worker in workers] == [0, 0, 0]
    with Cache(tmp_path / "c") as cache:
        for worker in range(3):
            for number in range(150):
                assert cache.get(f"{worker}-{number}", "map", "1") == bytes([worker]) * 500


def test_several_threads_share_one_cache(tmp_path):
    """One connection behind a lock."""
    with Cache(tmp_path) as cache:
        threads = [
            threading.Thread(target=lambda name=name: [cache.put(f"{name}{n}", "map", "1", b"x") for n in range(200)])
            for name in "abc"
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert all(cache.get(f"{name}{n}", "map", "1") == b"x" for name in "abc" for n in range(200))


def test_a_forked_child_opens_its_own_connection(tmp_path):
    """A connection carried over a fork would be corrupted."""
    with Cache(kept(tmp_path)) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"
        before = cache._database
        cache._owner = -1  # as a child sees it
        assert cache.get(SHA, "faces", "1") == b"found"
        assert cache._database is not before
        before.close()


def test_clearing_forgets_everything(tmp_path):
    """Also what an older format left; other files stay, and of results not a byte."""
    (kept(tmp_path) / "analysis-0.sqlite3").write_bytes(b"old")
    (tmp_path / "notes.txt").write_bytes(b"mine")
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"
        cache.put(SHA, "map", "1", os.urandom(100_000))
        cache.flush()
        assert cache.clear() > 90_000
        assert cache.get(SHA, "faces", "1") is None
    assert sorted(file.name for file in tmp_path.iterdir()) == ["analysis-1.sqlite3", "notes.txt"]
    left = (tmp_path / "analysis-1.sqlite3").read_bytes()
    assert len(left) < 50_000 and b"found" not in left and SHA.encode() not in left


def test_a_run_at_work_goes_on_while_another_clears(tmp_path):
    """What it finds afterwards is kept."""
    with Cache(kept(tmp_path)) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"
        Cache(tmp_path).clear()
        assert cache.get(SHA, "faces", "1") is None
        cache.put(SHA, "faces", "1", b"again")
    assert cache.problem is None
    with Cache(tmp_path) as cache:
        assert cache.get(SHA, "faces", "1") == b"again"


def test_a_file_removed_under_a_run_is_made_anew(tmp_path):
    """By hand, say."""
    with Cache(kept(tmp_path / "c")) as cache:
        assert cache.get(SHA, "faces", "1") == b"found"
        cache.file.unlink()
        (tmp_path / "c").rmdir()
        cache.put(SHA, "faces", "1", b"again")
    assert cache.problem is None
    with Cache(tmp_path / "c") as cache:
        assert cache.get(SHA, "faces", "1") == b"again"


@pytest.mark.parametrize("damage", [b"rubbish" * 1000, b""])
def test_a_damaged_cache_is_cleared_by_removing_it(tmp_path, damage):
    """There is nothing in it to go on with."""
    (kept(tmp_path) / "analysis-1.sqlite3").write_bytes(damage)
    assert Cache(tmp_path).clear() == len(damage)
    assert list(tmp_path.iterdir()) == []


def test_a_busy_cache_is_not_cleared(tmp_path, monkeypatch):
    """Who holds it is in the middle of something."""
    monkeypatch.setattr("fitter.cache._WAIT_SECONDS", 0.05)
    other = sqlite3.connect(kept(tmp_path) / "analysis-1.sqlite3", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(InputError, match="another program holds it; try again"):
        Cache(tmp_path).clear()
    other.close()


def test_what_cannot_be_cleared_is_said(tmp_path):
    """In one line."""
    (tmp_path / "analysis-1.sqlite3").mkdir()
    with pytest.raises(InputError, match="cannot be cleared"):
        Cache(tmp_path).clear()


def test_the_folder_follows_the_platform(monkeypatch, tmp_path):
    """XDG Base Directory Specification 0.8 on Linux: an absolute XDG_CACHE_HOME, else ~/.cache."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert cache_folder({}) == tmp_path / ".cache" / "page-fitter"
    assert cache_folder({"XDG_CACHE_HOME": "/var/c"}).as_posix() == "/var/c/page-fitter"
    assert cache_folder({"XDG_CACHE_HOME": "not/absolute"}) == tmp_path / ".cache" / "page-fitter"
    assert cache_folder({"FITTER_CACHE": "/srv/c", "XDG_CACHE_HOME": "/var/c"}).as_posix() == "/srv/c"
    assert cache_folder({"FITTER_CACHE": "off"}) is None
    monkeypatch.setattr("sys.platform", "darwin")
    assert cache_folder({}) == tmp_path / "Library" / "Caches" / "page-fitter"
