"""Migrations are named for what they do, stand on their own, and are complete."""

import ast
import io
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = {"darkroom_service", "accounts", "chemistry", "waste"}
MIGRATIONS = [path for package in sorted(PACKAGES) for path in sorted((ROOT / package).glob("migrations/0*.py"))]


def imported(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or "." * node.level


def test_there_are_migrations_to_judge():
    assert MIGRATIONS


@pytest.mark.parametrize("path", MIGRATIONS, ids=lambda path: f"{path.parent.parent.name}/{path.stem}")
def test_a_migration_says_what_it_does(path):
    assert "auto" not in path.stem
    assert path.stem[5:] != "initial"


@pytest.mark.parametrize("path", MIGRATIONS, ids=lambda path: f"{path.parent.parent.name}/{path.stem}")
def test_a_migration_imports_none_of_our_code(path):
    ours = {name for name in imported(path) if name.split(".")[0] in PACKAGES or name.startswith(".")}
    assert not ours


@pytest.mark.django_db
def test_no_model_has_changed_without_a_migration():
    out = io.StringIO()
    try:
        call_command("makemigrations", "--check", "--dry-run", stdout=out)
    except SystemExit:
        pytest.fail(out.getvalue())
