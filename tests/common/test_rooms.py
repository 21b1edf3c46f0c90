import ast
from pathlib import Path

import pytest

import analytics

ROOT = Path(analytics.__file__).parent
ORDER = [
    "errors",
    "schema",
    "declared",
    "wording",
    "versions",
    "pieces",
    "workers",
    "roster",
    "catalogue",
    "intake",
    "strength",
    "trend",
    "muscles",
    "review",
    "week",
    "charts",
    "judging",
    "publish",
    "runs",
    "look",
    "consult",
    "simulate",
    "evidence",
    "cli",
    "__main__",
]
INTAKE = ["cells", "source", "header", "columns", "sheet", "rows", "table"]
"""The rooms inside the loader: what a text says, then the way of a file from bytes to the set table."""
MODULES = sorted(path for path in ROOT.rglob("*.py") if path != ROOT / "__init__.py")
NUMERICS = {
    "numpy",
    "scipy",
    "__future__",
    "dataclasses",
    "collections",
    "types",
    "math",
    "typing",
    "functools",
}
ARRAYS_ONLY = (
    "strength/curve.py",
    "strength/formulas.py",
    "trend/kalman.py",
    "trend/filter.py",
    "muscles/mixed.py",
    "muscles/pooling.py",
    "muscles/lines.py",
)
CLOCKS = ("date.today", "datetime.now", "datetime.today", "time.time")
LONGEST = 250
DATA = ("schema.py",)
COMMANDS = ("cli.py", "evidence/report.py")


def room(path):
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def name(path):
    return path.relative_to(ROOT).as_posix()


def imported(path):
    """Full dotted names of every module that `path` imports, at any depth of its code."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name(path)}: relative import"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_imports_point_up_only(path):
    for target in imported(path):
        first, _, rest = target.partition(".")
        if first != "analytics":
            continue
        other = rest.split(".")[0]
        if other in ORDER:
            assert ORDER.index(other) <= ORDER.index(room(path)), f"{name(path)} imports {target}"


@pytest.mark.parametrize("path", sorted((ROOT / "intake").rglob("*/*.py")), ids=name)
def test_inside_the_loader_imports_point_up_only(path):
    own = INTAKE.index(path.parent.name)
    for target in imported(path):
        if target.startswith("analytics.intake."):
            other = target.split(".")[2]
            assert other in ("lookup", "threads") or INTAKE.index(other) <= own, target


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_a_module_is_one_noun_of_readable_length(path):
    text = path.read_text(encoding="utf-8")
    doc = ast.get_docstring(ast.parse(text))
    assert doc, "no docstring"
    if name(path) not in DATA:
        assert len(text.splitlines()) <= LONGEST
    assert path.stem not in ("utils", "helpers", "common", "core", "misc")


@pytest.mark.parametrize("module", ARRAYS_ONLY)
def test_numerics_know_no_frames_files_or_charts(module):
    for target in imported(ROOT / module):
        first = target.split(".")[0]
        assert first in NUMERICS | {"analytics"}, target
        if first == "analytics":
            assert target.split(".")[1] in ("strength", "trend", "muscles"), target


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_only_a_few_modules_print_or_read_the_clock(path):
    if name(path) in COMMANDS:
        return
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            assert called != "print", f"line {node.lineno}"
            assert called not in CLOCKS, f"line {node.lineno}"
