"""`sh deploy/run.sh`: the command's own output and nothing else, from any folder."""

import json
import os
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

SAYS_WHAT_IT_GOT = """
import json, os, sys
import app
print(json.dumps({"words": sys.argv[1:], "folder": os.getcwd(), "app": app.__file__}))
sys.exit(7 if "fail" in sys.argv else 0)
"""


@pytest.fixture
def started(copy: Path, set_up: ModuleType) -> Path:
    """A checkout that was started before, whose command prints what it was given."""
    (copy / "app" / "cli").mkdir(parents=True)
    (copy / "app" / "__init__.py").touch()
    (copy / "app" / "cli" / "__init__.py").touch()
    (copy / "app" / "cli" / "__main__.py").write_text(SAYS_WHAT_IT_GOT)
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", copy / ".venv"], check=True)
    version = ".".join(str(part) for part in sys.version_info[:3])
    set_up.stamp_file(copy).write_text(set_up.mark(copy, "requirements.lock", version) + "\n")
    return copy


def run(root: Path, *words: str, folder: Path | None = None, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", str(root / "deploy" / "run.sh"), *words],
        cwd=folder,
        env=os.environ | environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )


def test_words_reach_the_command_as_they_are(started: Path) -> None:
    done = run(started, "calc", "a b", "", "*", "x=1")
    assert json.loads(done.stdout)["words"] == ["calc", "a b", "", "*", "x=1"]


def test_without_words_it_is_the_demo(started: Path) -> None:
    assert json.loads(run(started).stdout)["words"] == ["demo"]


def test_a_second_start_says_nothing_of_its_own(started: Path) -> None:
    done = run(started, "verify")
    assert len(done.stdout.splitlines()) == 1
    assert done.stderr == ""


def test_the_command_runs_in_the_callers_folder_with_this_checkouts_app(started: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    (elsewhere / "app").mkdir(parents=True)
    (elsewhere / "app" / "__init__.py").write_text("raise SystemExit('the wrong app')")
    done = run(started, "verify", folder=elsewhere, PYTHONPATH=str(elsewhere))
    assert done.stderr == ""
    said = json.loads(done.stdout)
    assert said["folder"] == str(elsewhere.resolve())
    assert said["app"] == str(started.resolve() / "app" / "__init__.py")


def test_the_exit_status_is_the_commands(started: Path) -> None:
    assert run(started, "fail").returncode == 7


def test_a_first_start_without_a_python_says_what_is_missing(copy: Path) -> None:
    done = run(copy, "verify", PYTHON="false")
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr == (
        "doorside: no Python 3.11 or newer with venv and ensurepip was found under the name false"
        " (on Debian: apt-get install python3 python3-venv).\n"
    )


def test_a_first_start_that_fails_starts_nothing_and_prints_nothing(copy: Path) -> None:
    with (copy / "deploy" / "icons.txt").open("a") as icons:
        icons.write("alarm\n")
    done = run(copy, "verify", PYTHON=sys.executable)
    assert done.returncode == 1
    assert done.stdout == ""
    assert "icons/alarm.svg has no recorded hash" in done.stderr.splitlines()[-1]


def test_the_real_command_prints_its_version_and_nothing_else(checkout: Path, tmp_path: Path) -> None:
    done = run(checkout, "--version", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == 1
    assert "0.1.0" in done.stdout
    assert done.stderr == ""


def test_words_after_test_sh_go_to_pytest_and_nothing_else_runs(checkout: Path) -> None:
    done = subprocess.run(
        ["sh", str(checkout / "deploy" / "test.sh"), "--version"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("pytest ")
    assert len(done.stdout.splitlines()) == 1


@pytest.mark.parametrize("script", ["deploy/run.sh", "deploy/test.sh", "deploy/wheelhouse.sh", ".ci/run"])
def test_every_script_is_one_that_a_plain_shell_can_read(checkout: Path, script: str) -> None:
    done = subprocess.run(["sh", "-n", str(checkout / script)], capture_output=True, text=True, check=False)
    assert done.stderr == ""
