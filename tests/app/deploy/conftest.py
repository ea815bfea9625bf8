"""The set-up scripts are no package (they run before anything is installed): the tests load them from their folder."""

import importlib
import shutil
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def checkout() -> Path:
    """The checkout under test."""
    return ROOT


def load(name: str) -> ModuleType:
    folder = str(ROOT / "deploy")
    if folder not in sys.path:
        sys.path.insert(0, folder)
    return importlib.import_module(name)


@pytest.fixture
def fetch_vendor() -> ModuleType:
    return load("fetch_vendor")


@pytest.fixture
def set_up() -> ModuleType:
    return load("set_up")


@pytest.fixture
def count_tests() -> ModuleType:
    return load("count_tests")


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A checkout of its own, without .venv: the scripts, the locks and the static files in place."""
    root = tmp_path / "copy of doorside"
    root.mkdir()
    shutil.copytree(ROOT / "deploy", root / "deploy", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "static" / "vendor", root / "static" / "vendor")
    for name in ("package.json", "package-lock.json", ".npmrc", "requirements.lock", "requirements-dev.lock"):
        shutil.copy(ROOT / name, root / name)
    return root
