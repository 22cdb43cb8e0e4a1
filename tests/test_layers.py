"""Liquid flows one way and so do imports; the contracts stand in pyproject.toml."""

from pathlib import Path

from importlinter.cli import lint_imports

ROOT = Path(__file__).resolve().parent.parent


def test_every_import_contract_is_kept(monkeypatch):
    monkeypatch.chdir(ROOT)
    assert lint_imports(cache_dir=None, verbose=True) == 0
