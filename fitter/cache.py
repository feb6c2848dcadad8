"""What was found out about a photo is kept, so that it is found out once.

Enters: small results (bytes, or anything JSON can hold) under a photo's SHA-256, the kind of result and the version
of what made it.  Leaves: the same again, or ``None``.  Also remembers which file has which SHA-256, by device, inode,
size and times, so that an unchanged file need not be read again; no file name is ever stored.

One SQLite file in the user's cache folder.  A cache must never stand in the way: one that was damaged is begun anew,
and one that cannot be used or stays busy behaves like an empty one for the rest of the run, and says so in
:attr:`Cache.problem`.
"""

from __future__ import annotations

import json
import os
import sqlite3
import sys
import threading
import time
import zlib
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from fitter.errors import InputError

FOLDER_VARIABLE = "FITTER_CACHE"
"""Environment variable that names the folder; ``off`` keeps nothing."""
MOST_BYTES = 256_000_000
"""Bytes the file may have; what was used least recently goes first."""
LARGEST_RESULT = 4_000_000
"""Bytes one result may have."""

_FORMAT = 1
_FILE = f"analysis-{_FORMAT}.sqlite3"
_TABLES = {
    "results": "sha256 TEXT, kind TEXT, version TEXT, data BLOB, crc INTEGER, used INTEGER, "
    "PRIMARY KEY (sha256, kind, version)",
    "files": "stat TEXT PRIMARY KEY, sha256 TEXT, used INTEGER",
}
_WAIT_SECONDS = 2.0
_KEPT_BACK = 128
"""Results gathered before they are written in one go."""
_MOST_HELD = 64_000_000
"""Bytes of results a cache without a folder holds in memory."""
_FRESH_SECONDS = 86_400
"""A result's last use is noted to the day, so that reading does not write."""
_SETTLED_NS = 2_000_000_000
"""A file changed this recently may change again without its times showing it."""

_Key = tuple[str, str, str]


def cache_folder(environment: Mapping[str, str] = os.environ) -> Path | None:
    """Return the folder the cache lies in; ``None`` when it is switched off or there is no home.

    ``FITTER_CACHE``, else ``page-fitter`` in the platform's place: ``XDG_CACHE_HOME`` or ``~/.cache`` (XDG Base
    Directory Specification 0.8), ``~/Library/Caches``, or ``LOCALAPPDATA``.
    """
    named = environment.get(FOLDER_VARIABLE)
    if named:
        return None if named.strip().lower() == "off" else Path(named)
    try:
        if sys.platform == "win32":
            place = Path(environment.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
        elif sys.platform == "darwin":
            place = Path.home() / "Library" / "Caches"
        else:
            chosen = Path(environment.get("XDG_CACHE_HOME") or "")
            # The specification says to ignore a path that is not absolute.
            place = chosen if chosen.is_absolute() else Path.home() / ".cache"
    except RuntimeError:
        return None
    return place / "page-fitter"


class Cache:
    """Results kept from run to run; use as a context manager, or :meth:`close` it.

    Safe with several threads and several processes.  New results are gathered and written together; other processes
    see them after that.

    Parameters
    ----------
    folder
        Where the file lies; made when the first result is written.  ``None`` keeps results for this run only.
    most_bytes
        Bytes the file may have.
    """

    def __init__(self, folder: Path | None, *, most_bytes: int = MOST_BYTES) -> None:
        self.folder = folder
        self.most_bytes = most_bytes
        self.problem: str | None = None
        self._lock = threading.RLock()
        self._database: sqlite3.Connection | None = None
        self._owner = 0
        self._new: dict[_Key, bytes] = {}
        self._new_files: dict[str, str] = {}
        self._touched: set[_Key] = set()
        self._held = 0

    @classmethod
    def of_user(cls) -> Cache:
        """Return the user's own cache (see :func:`cache_folder`)."""
        return cls(cache_folder())

    def __enter__(self) -> Cache:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def file(self) -> Path | None:
        """The file results are kept in."""
        return None if self.folder is None else self.folder / _FILE

    def get(self, sha256: str, kind: str, version: str) -> bytes | None:
        """Return a result, or ``None`` if there is none of that kind and version.

        Parameters
        ----------
        sha256
            Of the photo's file, lower-case hexadecimal.
        kind
            What it is, for example ``faces``.
        version
            Of what made it; results of another version are as good as none.
        """
        key = (sha256, kind, version)
        with self._lock:
            if key in self._new:
                return self._new[key]
            found = self._ask("SELECT data, crc, used FROM results WHERE sha256 = ? AND kind = ? AND version = ?", key)
            if not found:
                return None
            data, crc, used = found[0]
            if not isinstance(data, bytes) or zlib.crc32(data) != crc:
                return None
            if not isinstance(used, int) or used < time.time() - _FRESH_SECONDS:
                self._touched.add(key)
            return data

    def put(self, sha256: str, kind: str, version: str, data: bytes) -> None:
        """Keep a result; see :meth:`get` for the names.

        Raises
        ------
        ValueError
            When it is larger than :data:`LARGEST_RESULT`.
        """
        if len(data) > LARGEST_RESULT:
            raise ValueError(f"a result of {len(data):,} bytes is more than a cache should keep")
        with self._lock:
            self._held += len(data) - len(self._new.pop((sha256, kind, version), b""))
            self._new[sha256, kind, version] = bytes(data)
            if self.folder is None:
                while self._held > _MOST_HELD:
                    self._held -= len(self._new.pop(next(iter(self._new))))
            elif len(self._new) >= _KEPT_BACK:
                self.flush()

    def get_json(self, sha256: str, kind: str, version: str) -> Any:
        """Return a result kept with :meth:`put_json`, or ``None``."""
        data = self.get(sha256, kind, version)
        if data is None:
            return None
        try:
            return json.loads(data)
        except ValueError:
            return None

    def put_json(self, sha256: str, kind: str, version: str, value: Any) -> None:
        """Keep a result as JSON."""
        self.put(sha256, kind, version, json.dumps(value, separators=(",", ":")).encode())

    def known_hash(self, stat: os.stat_result) -> str | None:
        """Return the SHA-256 of a file that has not changed since :meth:`remember_hash`, or ``None``."""
        name = _stat_name(stat)
        with self._lock:
            if name in self._new_files:
                return self._new_files[name]
            found = self._ask("SELECT sha256 FROM files WHERE stat = ?", (name,))
            return str(found[0][0]) if found else None

    def remember_hash(self, stat: os.stat_result, sha256: str) -> None:
        """Remember a file's SHA-256; ``stat`` was taken before it was read.

        A file changed within the last two seconds is not remembered: it could change again without a trace.
        """
        if time.time_ns() - max(stat.st_mtime_ns, stat.st_ctime_ns) < _SETTLED_NS:
            return
        with self._lock:
            self._new_files[_stat_name(stat)] = sha256

    def flush(self) -> None:
        """Write what was gathered; what cannot be written is let go."""
        with self._lock:
            now = int(time.time())
            results = [(*key, data, zlib.crc32(data), now) for key, data in self._new.items()]
            files = [(stat, sha256, now) for stat, sha256 in self._new_files.items()]
            touched = [(now, *key) for key in self._touched]
            if not (results or files or touched) or self.folder is None:
                return
            for write in (True, False):  # once more after a damaged file was replaced
                database = self._open(make=True)
                if database is None:
                    break
                try:
                    with database:
                        database.execute("BEGIN IMMEDIATE")
                        database.executemany("REPLACE INTO results VALUES (?, ?, ?, ?, ?, ?)", results)
                        database.executemany("REPLACE INTO files VALUES (?, ?, ?)", files)
                        database.executemany(
                            "UPDATE results SET used = ? WHERE sha256 = ? AND kind = ? AND version = ?", touched
                        )
                    self._shrink(database)
                    break
                except sqlite3.Error as failure:
                    if not self._set_aside(failure) or not write:
                        break
            self._let_go()

    def close(self) -> None:
        """Write what was gathered and let the file go."""
        with self._lock:
            self.flush()
            self._disconnect()

    def clear(self) -> int:
        """Forget everything, also what other formats of this cache left; return the bytes freed.

        A sound file is emptied and stays: another run may have it open, and goes on with it.

        Raises
        ------
        InputError
            When the files can be neither emptied nor removed.
        """
        with self._lock:
            self._disconnect()
            self._let_go()
            freed = 0
            try:
                files = sorted(self.folder.glob("analysis-*.sqlite3*")) if self.folder else []
                before = {file: file.stat().st_size for file in files}
                emptied = self.file is not None and self.file in before and _emptied(self.file)
                for file, size in before.items():
                    freed += size
                    if not (emptied and file.name.startswith(_FILE)):
                        file.unlink()
                    elif file == self.file:
                        freed -= file.stat().st_size
            except (OSError, sqlite3.Error) as failure:
                reason = _reason(failure)
                raise InputError(f"cache {str(self.folder)!r} cannot be cleared: {reason}; try again") from None
            return freed

    def _let_go(self) -> None:
        self._new.clear()
        self._new_files.clear()
        self._touched.clear()
        self._held = 0

    def _ask(self, question: str, values: tuple[str, ...]) -> list[tuple[Any, ...]]:
        database = self._open(make=False)
        if database is None:
            return []
        try:
            return database.execute(question, values).fetchall()
        except sqlite3.Error as failure:
            self._set_aside(failure)
            return []

    def _open(self, *, make: bool) -> sqlite3.Connection | None:
        """Return the connection of this process, ``None`` if there is no file (yet) or it cannot be used."""
        if self._database is not None and self._owner == os.getpid():
            return self._database
        # A connection must not cross a fork; the child only lets go of its copy.
        self._database = None
        file = self.file
        if file is None or self.problem is not None or not (make or _is_there(file)):
            return None
        for again in (True, False):
            try:
                file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                database = sqlite3.connect(file, timeout=_WAIT_SECONDS, isolation_level=None, check_same_thread=False)
                try:
                    _prepare(database)
                except BaseException:
                    database.close()
                    raise
                self._database, self._owner = database, os.getpid()
                return database
            except (OSError, sqlite3.Error) as failure:
                if not self._set_aside(failure) or not again:
                    return None
        return None

    def _set_aside(self, failure: Exception) -> bool:
        """Remove a damaged file and return whether to try again; note what else is wrong.

        A file that was busy for long is not asked again: every question would wait as long.
        """
        self._disconnect()
        if getattr(failure, "sqlite_errorname", "") == "SQLITE_READONLY_DBMOVED":
            return True  # somebody removed the file: it is made anew
        file = self.file
        if file is not None and isinstance(failure, sqlite3.DatabaseError) and not _is_refusal(failure):
            try:
                for part in (file, file.with_name(file.name + "-journal")):
                    part.unlink(missing_ok=True)
                return True
            except OSError as worse:
                failure = worse
        reason = _reason(failure)
        self.problem = f"cache {str(self.folder)!r} cannot be used ({reason}); photos are looked at anew each time"
        return False

    def _disconnect(self) -> None:
        database, self._database = self._database, None
        if database is not None and self._owner == os.getpid():
            with suppress(sqlite3.Error):
                database.close()

    def _shrink(self, database: sqlite3.Connection) -> None:
        """Drop what was used least recently, a quarter at a time, until the file is small enough."""
        size = _size(database)
        while size > self.most_bytes:
            with database:
                database.execute("BEGIN IMMEDIATE")
                for table in _TABLES:
                    database.execute(
                        f"DELETE FROM {table} WHERE rowid IN (SELECT rowid FROM {table} ORDER BY used, rowid "
                        f"LIMIT (SELECT count(*) / 4 + 1 FROM {table}))"
                    )
            before, size = size, _size(database)
            if size >= before:
                return


def _prepare(database: sqlite3.Connection) -> None:
    """Check that the file is ours and make its tables if it is new."""
    database.execute("PRAGMA synchronous = OFF")  # losing a cache with the power costs only time
    if _format(database) == _FORMAT:
        return
    database.execute("PRAGMA auto_vacuum = FULL")
    with database:
        # Another process may be making the same file; only one of them gets past this line at a time.
        database.execute("BEGIN IMMEDIATE")
        found = _format(database)
        if found == _FORMAT:
            return
        if found or database.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            raise sqlite3.DatabaseError("not a cache of this format")
        for table, columns in _TABLES.items():
            database.execute(f"CREATE TABLE {table} ({columns})")
        database.execute(f"PRAGMA user_version = {_FORMAT}")


def _emptied(file: Path) -> bool:
    """Delete everything in a sound cache; return whether it is one.

    Raises
    ------
    sqlite3.OperationalError
        When another program holds it.
    """
    try:
        database = sqlite3.connect(file, timeout=_WAIT_SECONDS, isolation_level=None)
        try:
            if _format(database) != _FORMAT:
                return False
            database.execute("PRAGMA secure_delete = ON")
            with database:
                database.execute("BEGIN IMMEDIATE")
                for table in _TABLES:
                    database.execute(f"DELETE FROM {table}")
        finally:
            database.close()
    except sqlite3.Error as failure:
        if _is_busy(failure):
            raise
        return False
    return True


def _format(database: sqlite3.Connection) -> int:
    return int(database.execute("PRAGMA user_version").fetchone()[0])


def _size(database: sqlite3.Connection) -> int:
    (pages,) = database.execute("PRAGMA page_count").fetchone()
    (page,) = database.execute("PRAGMA page_size").fetchone()
    return int(pages) * int(page)


def _is_refusal(failure: sqlite3.DatabaseError) -> bool:
    """Whether the system or another program refuses access, as opposed to a file whose content is damaged."""
    words = str(failure)
    return _is_busy(failure) or (
        isinstance(failure, sqlite3.OperationalError)
        and any(word in words for word in ("unable to open", "readonly", "disk", "full", "access"))
    )


def _is_busy(failure: Exception) -> bool:
    return isinstance(failure, sqlite3.OperationalError) and "locked" in str(failure)


def _reason(failure: Exception) -> str:
    if _is_busy(failure):
        return "another program holds it"
    return getattr(failure, "strerror", None) or str(failure)


def _is_there(file: Path) -> bool:
    try:
        return file.exists()
    except OSError:
        return False


def _stat_name(stat: os.stat_result) -> str:
    return f"{stat.st_dev}:{stat.st_ino}:{stat.st_size}:{stat.st_mtime_ns}:{stat.st_ctime_ns}"
