"""Small files, small functions, and a top level that holds what it should and nothing else."""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("darkroom_service", "accounts", "chemistry", "waste")
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "deploy", "tests", *PACKAGES}
MADE_BY_RUNNING = {"data", "build", "darkroom_service.egg-info"}  # .gitignore names them


def sources():
    return [path for package in PACKAGES for path in (ROOT / package).rglob("*.py") if "migrations" not in path.parts]


def functions(path):
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef)
    return [node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, kinds)]


def test_there_is_something_to_measure():
    assert len(sources()) > 20


def test_no_file_is_longer_than_250_lines():
    long = {
        str(path.relative_to(ROOT)): lines for path in sources() if (lines := len(path.read_text().splitlines())) > 250
    }
    assert not long


def test_no_function_is_longer_than_30_lines():
    long = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name} has {node.end_lineno - node.lineno + 1} lines"
        for path in sources()
        for node in functions(path)
        if node.end_lineno - node.lineno + 1 > 30
    ]
    assert not long


def test_the_top_level_holds_only_what_it_should():
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - MADE_BY_RUNNING
    assert not found - TOP


def test_there_is_no_manage_py():
    assert not list(ROOT.rglob("manage.py")) or all(".venv" in path.parts for path in ROOT.rglob("manage.py"))
