"""Where results go: planned before any work, written all together or not at all.

Enters: a folder.  Leaves: files that are complete under their final names, and none of an earlier run beside them.
Refuses to replace anything unless told to, and folders that cannot be written, before solving starts.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from fitter.errors import InputError, OutputExistsError, UseError
from fitter.freedoms import MOST_ALTERNATIVES


@dataclass(frozen=True)
class Plan:
    """The files a run may write.

    Parameters
    ----------
    out
        The output folder as the user wrote it.
    """

    out: Path

    @property
    def folder(self) -> Path:
        """Absolute path of the output folder."""
        return self.out.absolute()

    def layout(self, index: int) -> Path:
        """Return the path of layout ``index``, counted from 1."""
        return self.folder / f"layout-{index}.json"

    def proof(self, index: int) -> Path:
        """Return the path of proof ``index``, counted from 1."""
        return self.folder / f"proof-{index}.png"

    @property
    def compare(self) -> Path:
        """The picture of all proofs side by side; written when there are several."""
        return self.folder / "compare.png"

    @property
    def run(self) -> Path:
        """The record of what differs from run to run."""
        return self.folder / "run.json"

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file that any run may write here: what an earlier one wrote would pass for a page of this one."""
        pages = range(1, MOST_ALTERNATIVES + 1)
        return (*map(self.layout, pages), *map(self.proof, pages), self.compare, self.run)


def refuse_other_than_png(file: Path) -> None:
    """Refuse the name of a picture that does not say what it is going to be.

    Raises
    ------
    UseError
        When it does not end in ``.png``.
    """
    if file.suffix.lower() != ".png":
        raise UseError(f"--out {file}: the picture is a PNG; give a name that ends in .png, such as {file.stem}.png")


def refuse_existing(files: tuple[Path, ...], *, overwrite: bool) -> None:
    """Refuse to go on when outputs exist and may not be replaced.

    Raises
    ------
    OutputExistsError
        Naming the first of them.
    InputError
        When one of them is a folder.
    """
    there = [file for file in files if os.path.lexists(file)]
    for file in there:
        if file.is_dir():
            raise InputError(f"output {file} is a folder; remove it or choose another place with --out")
    if there and not overwrite:
        more = f" and {len(there) - 1} more exist" if len(there) > 1 else " exists"
        raise OutputExistsError(
            f"output {there[0]}{more} already; use --overwrite to replace, or another --out"
        )


def refuse_originals(files: Iterable[Path], photos: Iterable[str | Path]) -> None:
    """Refuse to write where one of the photos given lies, whatever else may be replaced.

    Parameters
    ----------
    files
        What may be written or removed.
    photos
        Files and folders as given: of a folder every picture counts.

    Raises
    ------
    InputError
        Naming the first.
    """
    there = [file for file in files if os.path.exists(file)]
    for given in photos:
        for file in there:
            in_folder = file.suffix == ".png" and os.path.isdir(given) and os.path.samefile(given, file.parent)
            if in_folder or (os.path.exists(given) and os.path.samefile(given, file)):
                raise InputError(
                    f"output {file} is one of the photos given, which are never changed; choose another --out"
                )


@contextmanager
def writable(folder: Path) -> Iterator[None]:
    """Make sure a folder can be written; take it away again if it was made here and stays empty.

    Raises
    ------
    InputError
        When the folder cannot be made or written.
    """
    missing = [path for path in (folder, *folder.parents) if not os.path.exists(path)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        _remove_empty(missing)
        reason = error.strerror or str(error)
        raise InputError(
            f"output folder {folder} cannot be written ({reason}); choose another --out"
        ) from None
    try:
        yield
    finally:
        _remove_empty(missing)


def _remove_empty(folders: list[Path]) -> None:
    """Remove those of the folders, innermost first, that are there and hold nothing."""
    for folder in folders:
        with suppress(OSError):
            folder.rmdir()


@dataclass
class Staging:
    """Files being prepared under hidden names beside their final place."""

    folder: Path
    files: dict[Path, Path] = field(default_factory=dict)

    def path(self, final: Path) -> Path:
        """Return where to write what will become ``final``."""
        return self.files.setdefault(final, self.folder / final.name)

    def commit(self, stale: tuple[Path, ...] = ()) -> None:
        """Move everything to its final place and remove ``stale`` files that were not written anew.

        Where one of the steps fails, those before it are taken back.
        """
        done: list[tuple[Path, Path]] = []

        def move(source: Path, target: Path) -> None:
            os.replace(source, target)
            done.append((source, target))

        try:
            earlier = Path(tempfile.mkdtemp(dir=self.folder))
            for final in dict.fromkeys((*self.files, *stale)):
                if os.path.lexists(final):
                    move(final, earlier / final.name)
                if final in self.files:
                    move(self.files[final], final)
        except BaseException:
            for source, target in reversed(done):
                os.replace(target, source)
            raise


@contextmanager
def staging(folder: Path) -> Iterator[Staging]:
    """Prepare files inside ``folder``; nothing of them stays unless committed.

    Raises
    ------
    InputError
        When writing fails (a full disk, say).
    """
    try:
        hidden = Path(tempfile.mkdtemp(prefix=".fitter-", dir=folder))
        try:
            yield Staging(hidden)
        finally:
            shutil.rmtree(hidden, ignore_errors=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(f"writing to {folder} failed ({reason}); nothing of this run was kept") from None
