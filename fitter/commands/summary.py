"""What a finished run tells: a summary for people, a JSON document for programs, a record of its timings.

Enters: a :class:`Record`.  Leaves: text.  Decides nothing.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from fitter.commands.outputs import Plan
from fitter.shown import encodable, shown

if TYPE_CHECKING:
    from fitter.api import FitResult
    from fitter.layout import Layout, PlacedPhoto

Status = Literal["proved", "feasible", "impossible", "interrupted"]


@dataclass(frozen=True)
class Record:
    """One run.

    Parameters
    ----------
    plan
        The files it was to write.
    result
        What the fitting returned.
    notes
        What was skipped while reading, a sentence each.
    layouts
        The layouts as written.
    files
        The files that were written.
    fit_seconds, check_seconds, draw_seconds
        Time by the clock for steps 1 to 4, 5 and 6.
    """

    plan: Plan
    result: FitResult
    notes: tuple[str, ...] = ()
    layouts: tuple[Layout, ...] = ()
    files: tuple[Path, ...] = ()
    fit_seconds: float = 0.0
    check_seconds: float = 0.0
    draw_seconds: float = 0.0

    @property
    def status(self) -> Status:
        """How the run ended; ``proved`` only when every page is."""
        if self.result.interrupted:
            return "interrupted"
        if not self.result.layouts:
            return "impossible"
        proved = all(layout.search.status == "proved" for layout in self.result.layouts)
        return "proved" if proved else "feasible"

    @property
    def remarks(self) -> tuple[str, ...]:
        """What was skipped while reading, and what went otherwise than planned."""
        return (*self.notes, *self.result.notices)

    @property
    def timings(self) -> dict[str, float]:
        """Seconds by the clock, by step."""
        return {
            "read_to_place": round(self.fit_seconds, 3),
            "check": round(self.check_seconds, 3),
            "draw": round(self.draw_seconds, 3),
        }

    def run_document(self) -> str:
        """Return the content of ``run.json``: what may differ from run to run."""
        document = {
            "format": "page-run/1",
            "status": self.status,
            "seconds": self.timings,
            "stats": self.result.stats,
        }
        return json.dumps(document, indent=2, ensure_ascii=False, default=str) + "\n"


def placed_photos(layout: Layout) -> list[PlacedPhoto]:
    """Return the photos on the page, bottom to top."""
    return [element.photo for element in layout.elements if element.photo is not None]


def lost(layout: Layout) -> dict[str, tuple[float, float | None]]:
    """Return, by file, the share of each picture and of its importance outside its crop window, 0 to 1.

    The second is ``None`` where nothing is known of what the picture shows.
    """
    from fitter.crops import importance_of
    from fitter.proof.figures import cut_away

    grids = {photo.file: photo.importance for photo in layout.given.photos}
    found: dict[str, tuple[float, float | None]] = {}
    for photo in placed_photos(layout):
        grid = grids.get(photo.file)
        matters = float(1 - importance_of(grid).share(photo.pixels, photo.crop)) if grid else None
        found[photo.file] = cut_away(photo), matters
    return found


def json_document(record: Record, exit_code: int) -> str:
    """Return the document that ``--json`` writes to standard output."""
    folder = record.plan.folder
    layouts: list[dict[str, Any]] = [
        {
            "layout": str(record.plan.layout(index)),
            "proof": str(record.plan.proof(index)) if record.plan.proof(index) in record.files else None,
            "status": layout.search.status,
            "cost": layout.costs.total,
            "bound": layout.search.bound,
            "gap": layout.search.gap,
            "terms": layout.costs.terms,
            "cut_away": {
                file: {"picture": round(area, 4), "importance": None if matters is None else round(matters, 4)}
                for file, (area, matters) in lost(layout).items()
            },
            "smallest_ppi": min((photo.ppi for photo in placed_photos(layout)), default=None),
            "changes": layout.changes,
            "notes": layout.notes,
            "waived": [f"{waiver.rule} {waiver.element}: {waiver.why}" for waiver in layout.waived],
            "left_out": layout.left_out,
        }
        for index, layout in enumerate(record.layouts, start=1)
    ]
    document = {
        "format": "page-result/1",
        "status": record.status,
        "exit_code": exit_code,
        "folder": str(folder),
        "layouts": layouts,
        "compare": str(record.plan.compare) if record.plan.compare in record.files else None,
        "files": [str(file) for file in record.files],
        "reasons": record.result.reasons,
        "notes": record.remarks,
        "seconds": record.timings,
    }
    return encodable(json.dumps(document, indent=2, ensure_ascii=False))


def summary(record: Record) -> str:
    """Return the closing words for people."""
    return "\n".join(map(shown, _summary_lines(record)))


def _summary_lines(record: Record) -> Iterator[str]:
    if not record.result.layouts:
        if record.result.interrupted:
            yield "Interrupted before a first page was found; nothing was written."
        else:
            yield "No page exists:"
        yield from (f"  - {reason}" for reason in record.result.reasons)
        yield from record.result.notices
        return
    if record.result.interrupted:
        yield "Interrupted: the best found by then was kept."
    for index, layout in enumerate(record.layouts, start=1):
        cost = f"cost {layout.costs.total / 1e6:.3f}"
        yield f"Page {index} of {len(record.layouts)}: {cost}, {_quality(layout)}"
        yield from _page_lines(layout)
    notes = dict.fromkeys((*record.remarks, *(note for layout in record.layouts for note in layout.notes)))
    if notes:
        yield "Notes"
        yield from (f"  - {note}" for note in notes)
    yield f"Written to {folder_words(record.plan.out)}: {', '.join(file.name for file in record.files)}"


def _page_lines(layout: Layout) -> Iterator[str]:
    if not layout.changes:
        yield "  - the template as it is"
    yield from (f"  - {change}" for change in layout.changes)
    from fitter.proof.figures import losses

    photos = placed_photos(layout)
    if photos:
        yield f"  cut away: {', '.join(_loss_words(file, *shares) for file, shares in lost(layout).items())}"
        for caption, value in losses(layout):
            yield f"  {caption}, on average: {value}"
        least = min(photos, key=lambda photo: photo.ppi)
        yield f"  smallest resolution: {least.ppi} ppi ({Path(least.file).name})"
    if layout.left_out:
        yield f"  left out: {', '.join(Path(file).name for file in layout.left_out)}"
    for waiver in layout.waived:
        yield f"  WAIVED {waiver.rule} for {waiver.element}: {waiver.why}"


def _loss_words(file: str, area: float, matters: float | None) -> str:
    """Say how much of a photo is cut away, and how much of what matters where that is known."""
    of_what = "" if matters is None or area == 0 else f" of the picture ({100 * matters:.0f} % of what matters)"
    return f"{Path(file).name} {100 * area:.0f} %{of_what}"


def folder_words(folder: Path) -> str:
    """Name a folder as the user did."""
    return "the current folder" if folder == Path() else str(folder)


def _quality(layout: Layout) -> str:
    """Say in words how good the page is known to be."""
    if layout.search.status == "proved":
        return "proved best"
    return f"not proved best: another page may cost up to {100 * layout.search.gap:.1f} % less"
