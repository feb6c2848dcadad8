"""The built wheel, installed outside the checkout, is what users get: it must run on its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def run(*command: str | Path, cwd: Path) -> str:
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    done = subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Bin folder of a new environment that holds page-fitter only through its wheel.

    The libraries it depends on are lent from the running environment, which leaves the checkout out
    because path files inside a lent folder are not followed.
    """
    folder = tmp_path_factory.mktemp("wheel")
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check")
    run(
        *pip, "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--wheel-dir", folder, ROOT, cwd=folder
    )
    (wheel,) = folder.glob("page_fitter-*.whl")
    home = folder / "env"
    venv.create(home, with_pip=False, symlinks=True)
    bin_folder = home / "bin"
    run(
        *pip,
        "--python",
        bin_folder / "python",
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        wheel,
        cwd=folder,
    )
    (site,) = home.glob("lib/python*/site-packages")
    (site / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return bin_folder


def test_the_package_comes_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    """Nothing of the checkout is used, and all resources travel along."""
    script = (
        "import fitter, solver, json\n"
        "from fitter import resources\n"
        "from fitter.commands.demo import demo_folder\n"
        "print(json.dumps([fitter.__file__, solver.__file__, str(resources.root()), str(demo_folder())]))\n"
    )
    places = json.loads(run(installed / "python", "-c", script, cwd=tmp_path))
    environment = installed.parent.resolve()
    assert all(Path(place).resolve().is_relative_to(environment) for place in places)
    shared, demo = Path(places[2]), Path(places[3])
    for name in ("page-sizes.json", "schemas", "templates", "fonts"):
        here, there = ROOT / "shared" / name, shared / name
        files = [here] if here.is_file() else [path for path in here.rglob("*") if path.is_file()]
        assert files
        for file in files:
            copy = there if here.is_file() else there / file.relative_to(here)
            assert copy.read_bytes() == file.read_bytes()
    assert {path.name for path in demo.iterdir()} == {p.name for p in (ROOT / "examples/photos").iterdir()}


def test_the_second_process_comes_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    """The search's second process finds the solver where the first one has it, also from a script without guard."""
    script = tmp_path / "page.py"
    script.write_text(
        "import solver.mate, solver.search\n"
        "from fitter import read_template\n"
        "from fitter.api import Options, fit_page\n"
        "from fitter.words import given_count\n"
        "solver.mate.cores = lambda: 2\n"
        "solver.search.ALONE = solver.search.WORTH = solver.search.MEETINGS = 0.001\n"
        "begin, begun = solver.mate.Process.begin, []\n"
        "solver.mate.Process.begin = lambda self, *rest: (begun.append(1), begin(self, *rest))\n"
        "options = Options(effort=0.5, time_limit=None)\n"
        "result = fit_page(read_template('pair-and-story'), [], texts=[given_count(60)], options=options)\n"
        "print(len(result.layouts) > 0, len(begun) > 0, result.notices)\n",
        encoding="utf-8",
    )
    assert run(installed / "python", script, cwd=tmp_path) == "True True ()\n"


@pytest.mark.slow
def test_the_demo_runs_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    """``fitter demo`` fits, checks and draws its page in a folder of its own."""
    out = run(installed / "fitter", "demo", "--json", cwd=tmp_path)
    result = json.loads(out)
    folder = tmp_path / "fitter-demo"
    assert result["status"] in {"proved", "feasible"}
    assert {path.name for path in folder.iterdir()} == {Path(file).name for file in result["files"]}
    assert {"layout-1.json", "proof-1.png", "run.json"} <= {path.name for path in folder.iterdir()}
    assert "every rule" in run(installed / "fitter", "check", "--help", cwd=tmp_path)
    run(installed / "fitter", "check", folder / "layout-1.json", cwd=tmp_path)
