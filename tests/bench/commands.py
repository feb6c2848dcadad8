"""Whole commands as a user runs them: time by the clock and peak memory of their processes."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.bench.instances import ASPECTS, pixels

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "examples" / "photos"
DEMO_PHOTOS = ("creek", "biscuit-and-pup", "north-ridge", "dandelions", "figs", "hill-meadow", "last-light")
FITTER = (sys.executable, "-m", "fitter")
TIME_OUT = 300

# The peak memory of a process starts at that of the process it was forked from.  A small one in between keeps
# this program's own memory out of the figure.  What all processes of a command hold together is looked at ten times
# a second; pages they share count for each.
_BETWEEN = """
import json, os, subprocess, sys, threading, time
from pathlib import Path

def held(pid):
    here = Path("/proc") / str(pid)
    try:
        mine = [line for line in (here / "status").read_text().splitlines() if line.startswith("VmRSS")]
        below = (here / "task" / str(pid) / "children").read_text().split()
    except OSError:
        return 0
    return sum(int(line.split()[1]) for line in mine) + sum(held(int(child)) for child in below)

def watch():
    while not ended.wait(0.1):
        seen.append(held(child.pid))

seen, ended = [0], threading.Event()
started = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
threading.Thread(target=watch, daemon=True).start()
said = child.stdout.read()
_, status, usage = os.wait4(child.pid, 0)
ended.set()
print(json.dumps({"seconds": time.perf_counter() - started, "kib": max(usage.ru_maxrss, *seen),
                  "cpu": usage.ru_utime + usage.ru_stime,
                  "code": os.waitstatus_to_exitcode(status), "said": said.decode(errors="replace")[-400:]}))
"""

# Drawing alone: photos still to be decoded, without the start of the interpreter and the writing of the PNG.
_DRAW = """
import sys, time
from pathlib import Path
from fitter import draw_proof, read_layout
from fitter.proof import save_png
path = Path(sys.argv[1])
layout = read_layout(path)
draw_proof(layout, base=path.parent, ppi=20)
started = time.perf_counter()
image = draw_proof(layout, base=path.parent, ppi=int(sys.argv[2]))
drawn = time.perf_counter()
save_png(image, Path(sys.argv[3]), overwrite=True, ppi=int(sys.argv[2]))
print(drawn - started, time.perf_counter() - drawn)
"""


@dataclass(frozen=True)
class Command:
    """One command as measured: seconds by the clock and of the processor, peak MB (10⁶ bytes) of its processes."""

    what: str
    seconds: float
    cpu: float
    megabytes: float
    code: int
    said: str


def measure(what: str, arguments: Sequence[str]) -> Command:
    """Run a command to its end and return what it took; ``said`` is the tail of its output."""
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", _BETWEEN, *arguments],
        capture_output=True,
        cwd=ROOT,
        timeout=TIME_OUT,
        check=True,
    )
    found = json.loads(done.stdout)
    megabytes = found["kib"] * 1024 / 1e6
    return Command(what, found["seconds"], found["cpu"], megabytes, found["code"], found["said"])


def commands(folder: Path, *, quick: bool, effort: float) -> Iterator[Command]:
    """Run the command line on the demo photos, then on 12-megapixel ones, and draw the proof at 300 ppi.

    Parameters
    ----------
    folder
        An empty folder for inputs and outputs.
    effort
        Deterministic seconds for each fit with one page.
    """
    one = ["--top", "1", "--effort", f"{effort:g}"]
    yield measure("fitter --help", [*FITTER, "--help"])
    for template, count, words in (("tilted-trio", 3, 60), ("six-in-tiers", 6, 150))[: 1 if quick else 2]:
        photos = [str(DEMO / f"{name}.jpg") for name in DEMO_PHOTOS[:count]]
        yield _fit(folder, f"demo-{count}", template, photos, words, one)
    if not quick:
        photos = [str(DEMO / f"{name}.jpg") for name in DEMO_PHOTOS[:4]]
        yield _fit(folder, "demo-defaults", "uneven-four", photos, 60, [])
    large = large_photos(folder / "photos")
    yield _fit(folder, "large", "eight-around", large, 60, one)
    layout = folder / "large" / "layout-1.json"
    if layout.is_file():
        yield measure(
            "fitter proof --ppi 300, 8 photos of 12 MP, 12×12 in",
            [*FITTER, "proof", str(layout), "--ppi", "300", "--out", str(folder / "proof-300.png")],
        )
        drawn = measure("drawing alone", [sys.executable, "-c", _DRAW, str(layout), "300", str(folder / "again.png")])
        if drawn.code == 0:
            draw, save = (float(word) for word in drawn.said.split()[-2:])
            yield Command("… of which drawing", draw, draw, drawn.megabytes, 0, "")
            yield Command("… of which writing the PNG", save, save, drawn.megabytes, 0, "")
        else:
            yield drawn


def _fit(folder: Path, out: str, template: str, photos: list[str], words: int, options: list[str]) -> Command:
    shown = " ".join(options) or "(defaults)"
    size = "12 MP" if out == "large" else "demo"
    return measure(
        f"fitter fit {template}, {len(photos)} {size} photos, {words} words, {shown}",
        [*FITTER, "fit", template, *photos, "--words", str(words), "--out", str(folder / out), *options],
    )


def large_photos(folder: Path) -> list[str]:
    """Write eight 12-megapixel JPEGs of all different aspect, smooth with grain like photographs."""
    from PIL import Image

    folder.mkdir(parents=True, exist_ok=True)
    dice = random.Random(8)
    made = []
    for number, aspect in enumerate(ASPECTS[:8], 1):
        width, height = pixels(aspect)
        coarse = Image.new("RGB", (12, 12))
        coarse.putdata([tuple(dice.randrange(256) for _ in range(3)) for _ in range(144)])
        smooth = coarse.resize((width, height), Image.Resampling.BICUBIC)
        grain = Image.effect_noise((width, height), 24).convert("RGB")
        path = folder / f"large-{number}.jpg"
        Image.blend(smooth, grain, 0.15).save(path, quality=90)
        made.append(str(path))
    return made
