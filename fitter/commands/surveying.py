"""One run of ``photos``: corrections written, photos read, a table, contact sheets.

Enters: a :class:`Request`.  Leaves: files and an exit code.  A photo that cannot be used is listed with what is wrong,
and the others go on.  Sheets that would come out as they lie there are left alone.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitter import __version__
from fitter.cache import FOLDER_VARIABLE, Cache
from fitter.commands.outputs import refuse_existing, refuse_originals, staging, writable
from fitter.corrections import parse_corrections, write_corrections
from fitter.errors import EXIT_DONE, InputError, OutputExistsError
from fitter.noticed import notice
from fitter.photos import Alike, Photo, Survey, alike, survey_photos
from fitter.progress_line import ProgressLine
from fitter.seeing.look import Looker
from fitter.shown import encodable, shown

if TYPE_CHECKING:
    from fitter.proof.contact import Cell

GOOD_PPI, FAIR_PPI = 300, 200
_SHEET_KIND = "contact-sheet"
_SHEET_PPI = 150
_MOST_SHEETS = 1000


@dataclass(frozen=True)
class Request:
    """What the user asked for; see ``fitter photos --help``."""

    photos: tuple[str, ...]
    keep: tuple[str, ...] = ()
    ratings: tuple[str, ...] = ()
    out: Path | None = None
    overwrite: bool = False
    as_json: bool = False


@dataclass(frozen=True)
class Row:
    """What the table says of one photo, each figure as words."""

    number: int
    name: str
    pixels: str
    taken: str
    weight: str
    marks: str
    good: str
    fair: str
    problems: str
    remarks: str

    @property
    def columns(self) -> list[str]:
        """What stands in the table, what is wrong before what else is worth knowing."""
        *columns, problems, remarks = map(str, asdict(self).values())
        return [*columns, "; ".join(filter(None, (problems, remarks)))]


HEADINGS = Row(0, "photo", "pixels", "taken", "weight", "keeps", f"{GOOD_PPI} ppi", f"{FAIR_PPI} ppi", "", "")


def run_survey(request: Request) -> int:
    """Do everything ``fitter photos`` does and return its exit code."""
    corrections = parse_corrections(request.keep, request.ratings, request.photos)
    if request.out is not None:
        refuse_originals(_sheets_there(request.out.absolute()), request.photos)
    if corrections and request.out is not None:
        # A correction changes its sheet: what may not be replaced is found before anything is written.
        refuse_existing(_sheets_there(request.out.absolute()), overwrite=request.overwrite)
    corrected = write_corrections(corrections, overwrite=request.overwrite)
    progress = ProgressLine()
    with Cache.of_user() as cache:
        try:
            survey = survey_photos(request.photos, cache=cache, progress=progress.count)
            looker = Looker(cache)
            survey = replace(survey, photos=notice(survey.photos, looker, maps=False, progress=progress.count))
        finally:
            progress.clear()
        groups = alike(survey.photos)
        rows = table(survey.photos, groups)
        sheets: list[tuple[Path, bool]] = []
        refusal: OutputExistsError | None = None
        try:
            if request.out is not None and survey.photos:
                sheets = draw_sheets(request, survey, rows, cache)
        except OutputExistsError as failure:
            refusal = failure  # the table is worth having all the same
        cache.flush()
        problems = (looker.problem, cache.problem)
    notes = (*survey.notes, *filter(None, problems))
    if request.as_json:
        found = document(survey, groups, notes, corrected, sheets)
        click.echo(encodable(json.dumps(found, indent=1, ensure_ascii=False)))
    click.echo(summary(survey, rows, notes, corrected, sheets), err=request.as_json)
    if refusal is not None:
        raise refusal
    if not survey.photos:
        raise InputError("none of the photos given can be used; what is wrong with each is listed above")
    return EXIT_DONE


def forget_all() -> int:
    """Clear the user's cache and say what was freed."""
    cache = Cache.of_user()
    if cache.folder is None:
        click.echo(f"Nothing is kept: {FOLDER_VARIABLE} is off.")
        return EXIT_DONE
    freed = cache.clear()
    click.echo(f"Forgotten: {freed / 1e6:.1f} MB in {shown(str(cache.folder))}")
    return EXIT_DONE


def table(photos: Sequence[Photo], groups: Sequence[Alike]) -> list[Row]:
    """Return a row for each photo, numbered from 1."""
    company = {member: group for group in groups for member in group.members}
    rows = []
    for index, photo in enumerate(photos):
        remarks = []
        if photo.rejected:
            remarks.append("left out (rated -1)")
        if index in company:
            group = company[index]
            others = [str(i + 1) for i in group.members if i != index]
            several = f"{', '.join(others[:4])}{' …' if len(others) > 4 else ''}"
            remarks.append(f"{'in a burst with' if group.burst else 'looks like'} {several}")
        rows.append(
            Row(
                number=index + 1,
                name=photo.path.name,
                pixels=f"{photo.pixels[0]} × {photo.pixels[1]}",
                taken=time_words(photo.taken),
                weight=f"{photo.weight:g}",
                marks=marks_words(photo),
                good=print_words(photo, GOOD_PPI),
                fair=print_words(photo, FAIR_PPI),
                problems="; ".join(photo.notes),
                remarks="; ".join(remarks),
            )
        )
    return rows


def time_words(taken: str | None) -> str:
    """Write a capture time the way people read it.

    Examples
    --------
    >>> time_words("2026-07-04T21:05:09.375+02:00"), time_words(None)
    ('2026-07-04 21:05:09.375 +02:00', '–')
    """
    if taken is None:
        return "–"
    clock = datetime.fromisoformat(taken)
    day, _, rest = taken.partition("T")
    if clock.utcoffset() is None:
        return f"{day} {rest}"
    return f"{day} {rest[:-6]} {rest[-6:]}"


def marks_words(photo: Photo) -> str:
    """Say what a photo keeps in view."""
    counts: dict[str, int] = {}
    for mark in photo.marks:
        after = {"found": " found", "camera": " aimed at"}.get(mark.source, "")
        counts[mark.kind + after] = counts.get(mark.kind + after, 0) + mark.count

    def words(name: str, count: int) -> str:
        kind, space, after = name.partition(" ")
        return f"{count} {kind}{'s' if count > 1 else ''}{space}{after}"

    return ", ".join(words(name, count) for name, count in counts.items()) or "–"


def print_words(photo: Photo, ppi: int) -> str:
    """Say how large the whole photo prints at a resolution; rounded down, so it is never less than that."""
    width, height = (int(side * 10) / 10 for side in photo.largest_print(ppi))
    return f"{width:.1f} × {height:.1f} in"


def summary(
    survey: Survey,
    rows: Sequence[Row],
    notes: Sequence[str],
    corrected: Sequence[Path],
    sheets: Sequence[tuple[Path, bool]],
) -> str:
    """Return everything the command prints."""
    lines = []
    if rows:
        cells = [row.columns for row in (HEADINGS, *rows)]
        cells[0][0] = "#"
        widths = [max(len(row[column]) for row in cells) for column in range(len(cells[0]))]
        right = {0, 4, 6, 7}
        for row in cells:
            padded = (
                text.rjust(width) if column in right else text.ljust(width)
                for column, (text, width) in enumerate(zip(row, widths, strict=True))
            )
            lines.append("  ".join(padded).rstrip())
    lines += [f"cannot be used: {path.name}: {reason}" for path, reason in survey.problems]
    lines += [f"note: {note}" for note in notes]
    left_out = sum(photo.rejected for photo in survey.photos)
    count = len(survey.photos)
    lines.append(
        f"{count:,} photo{'' if count == 1 else 's'}"
        + (f", {left_out} left out" if left_out else "")
        + (f", {len(survey.problems)} cannot be used" if survey.problems else "")
    )
    lines += [f"Corrected: {path}" for path in corrected]
    lines += [f"{'Written' if new else 'Unchanged'}: {path}" for path, new in sheets]
    return "\n".join(map(shown, lines))


def document(
    survey: Survey,
    groups: Sequence[Alike],
    notes: Sequence[str],
    corrected: Sequence[Path],
    sheets: Sequence[tuple[Path, bool]],
) -> dict[str, Any]:
    """Return the same for programs."""
    return {
        "format": "photo-survey/1",
        "photos": [
            {
                "file": str(photo.path),
                "sha256": photo.sha256,
                "pixels": photo.pixels,
                "orientation": photo.orientation,
                "taken": photo.taken,
                "weight": photo.weight,
                "rating": photo.rating,
                "left_out": photo.rejected,
                "marks": [asdict(mark) for mark in photo.marks],
                "largest_print_in": {
                    str(ppi): [round(side, 3) for side in photo.largest_print(ppi)] for ppi in (GOOD_PPI, FAIR_PPI)
                },
                "notes": photo.notes,
            }
            for photo in survey.photos
        ],
        "alike": [asdict(group) for group in groups],
        "problems": [{"file": str(path), "problem": reason} for path, reason in survey.problems],
        "notes": list(notes),
        "corrected": [str(path) for path in corrected],
        "sheets": [str(path) for path, _ in sheets],
    }


def draw_sheets(request: Request, survey: Survey, rows: Sequence[Row], cache: Cache) -> list[tuple[Path, bool]]:
    """Draw the contact sheets that are not there yet as they would be; return all, with whether each was written.

    Raises
    ------
    OutputExistsError
        When a file of that name is there with other content and may not be replaced.
    """
    from fitter.proof.contact import PER_SHEET

    folder = (request.out or Path()).absolute()
    cells = sheet_cells(survey, rows)
    parts = [cells[start : start + PER_SHEET] for start in range(0, len(cells), PER_SHEET)]
    files = [folder / f"contact-{number}.png" for number in range(1, len(parts) + 1)]
    stale = tuple(file for file in _sheets_there(folder) if file not in files)
    photos = {row.number: photo for row, photo in zip(rows, survey.photos, strict=True)}
    title = Path(request.photos[0]).resolve().name if len(request.photos) == 1 else "Photos"
    headings = [_heading(survey, number, len(parts)) for number in range(1, len(parts) + 1)]
    contents = [_content(part, photos, (title, heading)) for part, heading in zip(parts, headings, strict=True)]
    fresh = {file for file, content in zip(files, contents, strict=True) if not _is_there(file, content, cache)}
    refuse_existing((*(file for file in files if file in fresh), *stale), overwrite=request.overwrite)
    if not fresh and not stale:
        return [(file, False) for file in files]
    _draw(folder, list(zip(files, parts, headings, contents, strict=True)), fresh, stale, photos, title, cache)
    return [(file, file in fresh) for file in files]


def _draw(
    folder: Path,
    sheets: Sequence[tuple[Path, Sequence[Cell], str, str]],
    fresh: set[Path],
    stale: tuple[Path, ...],
    photos: dict[int, Photo],
    title: str,
    cache: Cache,
) -> None:
    """Draw what is new, put all of it in place at once, and remember what it shows."""
    from fitter.photos import preview
    from fitter.proof import save_png
    from fitter.proof.contact import draw_contact_sheet

    drawn: dict[str, str] = {}
    with writable(folder), staging(folder) as stage:
        for file, part, heading, content in sheets:
            if file not in fresh:
                continue
            image = draw_contact_sheet(
                part, lambda cell: preview(photos[cell.number], cache), title=title, summary=heading
            )
            staged = stage.path(file)
            save_png(image, staged, overwrite=True, ppi=_SHEET_PPI)
            drawn[content] = hashlib.sha256(staged.read_bytes()).hexdigest()
        stage.commit(stale=stale)
    for content, digest in drawn.items():
        cache.put(content, _SHEET_KIND, __version__, digest.encode())


def sheet_cells(survey: Survey, rows: Sequence[Row]) -> list[Cell]:
    """Return what the sheets say of each photo, those that cannot be used last."""
    from fitter.proof.contact import Cell

    cells = []
    for row, photo in zip(rows, survey.photos, strict=True):
        stars = (
            f" ({photo.rating:g} star{'' if photo.rating == 1 else 's'})" if photo.rating and photo.rating > 0 else ""
        )
        lines = (
            f"{row.pixels}  ·  {row.taken}" if photo.taken else f"{row.pixels}  ·  no time",
            f"prints to {row.good} at {GOOD_PPI}, {row.fair} at {FAIR_PPI} ppi",
            "  ·  ".join(filter(None, [f"weight {row.weight}{stars}", row.marks.strip("–"), row.remarks])),
        )
        cells.append(Cell(row.number, row.name, lines, photo.marks, row.problems, photo.rejected))
    for number, (path, reason) in enumerate(survey.problems, len(rows) + 1):
        cells.append(Cell(number, path.name, problem=reason))
    return cells


def _sheets_there(folder: Path) -> tuple[Path, ...]:
    """Return the contact sheets in a folder."""
    names = (f"contact-{number}.png" for number in range(1, _MOST_SHEETS))
    return tuple(folder / name for name in names if os.path.lexists(folder / name))


def _heading(survey: Survey, number: int, count: int) -> str:
    """Return the line under a sheet's title."""
    parts = [f"{len(survey.photos):,} photo{'' if len(survey.photos) == 1 else 's'}"]
    days = sorted(photo.taken[:10] for photo in survey.photos if photo.taken)
    if days:
        parts.append(days[0] if days[0] == days[-1] else f"{days[0]} to {days[-1]}")
    if survey.problems:
        parts.append(f"{len(survey.problems):,} cannot be used")
    if count > 1:
        parts.append(f"sheet {number} of {count}")
    return "  ·  ".join(parts)


def _content(cells: Sequence[Cell], photos: dict[int, Photo], words: tuple[str, str]) -> str:
    """Return a hash of everything a sheet shows."""
    shown = [(asdict(cell), photos[cell.number].sha256 if cell.number in photos else "") for cell in cells]
    return hashlib.sha256(json.dumps([__version__, words, shown]).encode()).hexdigest()


def _is_there(file: Path, content: str, cache: Cache) -> bool:
    """Whether a file is the sheet that shows this content, byte for byte as it was written."""
    written = cache.get(content, _SHEET_KIND, __version__)
    if written is None:
        return False
    try:
        stat = file.stat()
        digest = cache.known_hash(stat)
        if digest is None:
            digest = hashlib.sha256(file.read_bytes()).hexdigest()
            cache.remember_hash(stat, digest)
    except OSError:
        return False
    return digest.encode() == written
