"""The built wheel: complete, so that an installation from it needs no network, no Node and no checkout."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[3]
# As the installed command does it, saying first which app it is.
RUN_VERSION = """
import sys
import app, app.cli
print(app.__file__)
sys.argv = ["doorside", "--version"]
app.cli.main()
"""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this checkout, built with the build tool that the lock file pins."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return next(folder.glob("doorside-*.whl"))


@pytest.fixture(scope="module")
def names(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as opened:
        return set(opened.namelist())


def shipped(folder: Path, inside: str) -> set[str]:
    """What a folder of the checkout must become inside the wheel."""
    files = (path for path in folder.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    return {f"{inside}/{path.relative_to(folder).as_posix()}" for path in files}


@pytest.mark.parametrize("folder", ["templates", "static", "migrations"])
def test_every_page_static_file_and_migration_is_inside(names: set[str], folder: str) -> None:
    wanted = shipped(ROOT / folder, f"app/_data/{folder}")
    assert wanted
    assert wanted - names == set()


def test_every_module_and_every_data_file_of_the_app_is_inside(names: set[str]) -> None:
    assert shipped(ROOT / "app", "app") - names == set()


def test_every_third_party_file_is_inside_as_recorded(wheel: Path, fetch_vendor: ModuleType) -> None:
    with zipfile.ZipFile(wheel) as opened:
        for name, digest in fetch_vendor.expected_hashes(ROOT).items():
            assert fetch_vendor.sha256(opened.read(fetch_vendor.WHEEL_FOLDER + name)) == digest


def test_nothing_else_is_inside(names: set[str]) -> None:
    assert {name.split("/")[0] for name in names} == {"app", "doorside-0.1.0.dist-info"}
    assert [name for name in names if "__pycache__" in name or "/tests/" in name or name.endswith(".lock")] == []


def test_the_licence_goes_with_it(names: set[str]) -> None:
    assert "doorside-0.1.0.dist-info/licenses/LICENSE" in names


def test_the_command_runs_out_of_the_wheel_from_another_folder(wheel: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(wheel) as opened:
        opened.extractall(tmp_path / "installed")
    done = subprocess.run(
        [sys.executable, "-P", "-c", RUN_VERSION],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(tmp_path / "installed")},
        capture_output=True,
        text=True,
        check=False,
    )
    place, version = done.stdout.splitlines()
    assert place == str(tmp_path / "installed" / "app" / "__init__.py")
    assert "0.1.0" in version
