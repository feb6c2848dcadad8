"""What the figures were measured on and with."""

from __future__ import annotations

import importlib.metadata
import os
import platform
import subprocess
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from tests.bench.commands import ROOT

LIBRARIES = ("ortools", "highspy", "numpy", "scipy", "shapely", "Pillow", "uharfbuzz")


class Run(NamedTuple):
    """What the figures were measured with."""

    quick: bool
    effort: float
    seed: int
    seconds: float
    load: float


def versions() -> str:
    """Return date, commit, interpreter and libraries."""
    libraries = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES)
    return f"{datetime.now(UTC):%Y-%m-%d}, {_commit()}, Python {platform.python_version()}, {libraries}"


def hardware(run: Run) -> str:
    """Return processor, memory, system and load."""
    return (
        f"{_processor()}, {os.cpu_count()} cores, {_memory()}, {platform.system()} {platform.release()}; "
        f"load at the start {run.load:.2f}"
    )


def _commit() -> str:
    def git(*words: str) -> str:
        done = subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=False)
        return done.stdout.strip() if done.returncode == 0 else ""

    name = git("rev-parse", "--short", "HEAD")
    changed = git("status", "--porcelain", "--untracked-files=no", "--", "fitter", "solver")
    return (f"commit {name}" if name else "no commit") + (" with changes" if changed else "")


def _processor() -> str:
    try:
        text = Path("/proc/cpuinfo").read_text(encoding="utf-8")
    except OSError:
        return platform.processor() or platform.machine()
    names = [line.partition(":")[2].strip() for line in text.splitlines() if line.startswith("model name")]
    return names[0] if names else platform.machine()


def _memory() -> str:
    try:
        return f"{os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 1e9:.0f} GB"
    except (ValueError, OSError, AttributeError):
        return "memory unknown"
