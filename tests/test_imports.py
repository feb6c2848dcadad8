"""Who may import whom, and what ``fitter --help`` may load."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = ("fitter", "solver")
HEAVY = ("ortools", "shapely", "PIL", "numpy", "cv2")


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def modules() -> dict[str, Path]:
    return {
        module_name(path): path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))
    }


def is_type_checking(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")


def imported(tree: ast.Module, name: str, *, package: bool, top_only: bool) -> set[str]:
    """Full names of what a module imports when run, those of ``if TYPE_CHECKING`` left out."""
    found: set[str] = set()
    known = modules()

    def visit(node: ast.AST) -> None:
        if is_type_checking(node):
            return
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                home = name.split(".") if package else name.split(".")[:-1]
                home = home[: len(home) - node.level + 1]
                base = ".".join([*home, *([base] if base else [])])
            for alias in node.names:
                whole = f"{base}.{alias.name}"
                found.add(whole if whole in known else base)
        for child in ast.iter_child_nodes(node):
            if not (top_only and isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)):
                visit(child)

    visit(tree)
    return found - {name}


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(*, top_only: bool = False) -> dict[str, set[str]]:
    return {
        name: imported(
            tree(path),
            name,
            package=path.name == "__init__.py",
            top_only=top_only,
        )
        for name, path in modules().items()
    }


def within(name: str, package: str) -> bool:
    return name == package or name.startswith(package + ".")


def reached(start: str) -> set[str]:
    """Every module that modules of ``start`` import, directly or through others of ours."""
    graph = imports()
    todo = [name for name in graph if within(name, start)]
    seen: set[str] = set()
    while todo:
        for target in graph.get(todo.pop(), set()) - seen:
            seen.add(target)
            todo.append(target)
    return seen


def test_solver_imports_only_ortools_numpy_and_the_standard_library() -> None:
    """Step 3 is integers in, integers out: it knows neither fitter nor geometry nor pictures."""
    allowed = {"solver", "ortools", "numpy", *sys.stdlib_module_names}
    wrong = {
        (name, target)
        for name, targets in imports().items()
        if within(name, "solver")
        for target in targets
        if target.split(".")[0] not in allowed
    }
    assert modules().keys() & {"solver.problem"}
    assert not wrong


def test_solver_does_no_input_or_output() -> None:
    """Step 3 opens no files and prints nothing."""
    calls = {
        (name, node.func.id)
        for name, path in modules().items()
        if within(name, "solver")
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        if node.func.id in {"print", "open", "input"}
    }
    assert not calls


@pytest.mark.parametrize(
    ("judge", "forbidden"),
    [
        ("fitter.check", ("fitter.formulate", "fitter.place", "fitter.api", "solver", "ortools")),
        ("fitter.proof", ("fitter.formulate", "fitter.place", "fitter.api", "solver", "ortools")),
        ("fitter.template_reader", ("fitter.formulate", "fitter.place", "solver", "ortools")),
        ("fitter.photos", ("fitter.formulate", "fitter.place", "fitter.seeing", "solver", "ortools")),
        ("fitter.seeing", ("fitter.formulate", "fitter.place", "fitter.check", "solver", "ortools")),
        ("fitter.formulate", ("fitter.check", "fitter.proof", "fitter.commands", "fitter.cli")),
        ("fitter.api", ("fitter.commands", "fitter.cli", "click", "fitter.proof")),
    ],
)
def test_steps_know_only_what_they_may(judge: str, forbidden: tuple[str, ...]) -> None:
    """Checking and drawing stand apart from solving, also through other modules."""
    assert any(within(name, judge) for name in modules()), f"{judge} is gone: mend this test"
    wrong = {target for target in reached(judge) for package in forbidden if within(target, package)}
    assert not wrong


def test_no_module_prints() -> None:
    """Only the command line talks to the user, through click."""
    wrong = {
        name
        for name, path in modules().items()
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print"
    }
    assert not wrong


def test_imports_form_no_cycle() -> None:
    """Modules import one way, imports inside functions included."""
    graph = {name: {t for t in targets if t in modules()} for name, targets in imports().items()}
    done: set[str] = set()
    path: list[str] = []

    def visit(name: str) -> None:
        assert name not in path, " -> ".join([*path[path.index(name) :], name])
        if name in done:
            return
        path.append(name)
        for target in sorted(graph[name]):
            visit(target)
        done.add(path.pop())

    for name in graph:
        visit(name)


@pytest.mark.parametrize("arguments", [["--help"], ["fit", "--help"], ["templates", "--help"], ["--version"]])
def test_help_loads_no_heavy_library(arguments: list[str]) -> None:
    """Showing help is fast: no solver, geometry, picture or array library is imported for it."""
    code = (
        "import sys\n"
        "from fitter.cli import run\n"
        f"code = run({arguments!r})\n"
        f"heavy = sorted(set({HEAVY!r}) & set(sys.modules))\n"
        "print('HEAVY', code, heavy)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "HEAVY 0 []"


def test_import_of_the_package_is_light() -> None:
    """``import fitter`` alone loads nothing heavy either."""
    code = f"import sys, fitter; print(sorted(set({HEAVY!r}) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_public_name_can_be_loaded() -> None:
    """What ``fitter`` promises is there."""
    import fitter

    for name in fitter.__all__:
        assert getattr(fitter, name) is not None
