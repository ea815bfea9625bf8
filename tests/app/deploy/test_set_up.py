"""When .venv counts as right, and that two set-ups at once wait for each other."""

import os
import platform
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

VERSION = platform.python_version()


def stamped(copy: Path, set_up: ModuleType, lock: str, version: str = VERSION) -> None:
    """Leaves what an installation of `lock` leaves."""
    (copy / ".venv").mkdir(exist_ok=True)
    marks = "".join(f"{set_up.mark(copy, name, version)}\n" for name in set_up.INCLUDED[lock])
    set_up.stamp_file(copy).write_text(marks)


def test_a_new_checkout_is_not_ready(copy: Path, set_up: ModuleType) -> None:
    assert not set_up.is_ready(copy, "requirements.lock", VERSION)


def test_what_was_installed_for_the_tests_is_good_for_running_but_not_the_other_way_round(
    copy: Path, set_up: ModuleType
) -> None:
    stamped(copy, set_up, "requirements-dev.lock")
    assert set_up.is_ready(copy, "requirements.lock", VERSION)
    assert set_up.is_ready(copy, "requirements-dev.lock", VERSION)
    stamped(copy, set_up, "requirements.lock")
    assert set_up.is_ready(copy, "requirements.lock", VERSION)
    assert not set_up.is_ready(copy, "requirements-dev.lock", VERSION)


def test_a_changed_lock_is_installed_again(copy: Path, set_up: ModuleType) -> None:
    stamped(copy, set_up, "requirements.lock")
    (copy / "requirements.lock").write_text("another==1.0\n")
    assert not set_up.is_ready(copy, "requirements.lock", VERSION)


def test_another_version_of_python_is_installed_for_again(copy: Path, set_up: ModuleType) -> None:
    stamped(copy, set_up, "requirements.lock", version="3.11.0")
    assert not set_up.is_ready(copy, "requirements.lock", "3.12.0")


def test_an_unfinished_installation_is_not_taken_for_a_finished_one(copy: Path, set_up: ModuleType) -> None:
    stamped(copy, set_up, "requirements.lock")
    set_up.marker_file(copy).touch()
    assert not set_up.is_ready(copy, "requirements.lock", VERSION)
    assert set_up.usable_version(copy) is None


def test_a_missing_static_file_is_noticed(copy: Path, set_up: ModuleType) -> None:
    stamped(copy, set_up, "requirements.lock")
    (copy / "static" / "vendor" / "htmx.min.js").unlink()
    assert not set_up.is_ready(copy, "requirements.lock", VERSION)


def test_a_venv_whose_python_does_not_run_is_made_anew(copy: Path, set_up: ModuleType) -> None:
    assert set_up.usable_version(copy) is None
    (copy / ".venv" / "bin").mkdir(parents=True)
    (copy / ".venv" / "bin" / "python").symlink_to("/nowhere/python3")
    assert set_up.usable_version(copy) is None


def test_a_venv_is_made_and_stamped_and_then_left_alone(
    copy: Path, set_up: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    for lock in ("requirements.lock", "requirements-dev.lock"):
        (copy / lock).write_text("# nothing is needed\n")
    (copy / ".venv").mkdir()
    set_up.marker_file(copy).touch()
    (copy / ".venv" / "left-by-a-killed-set-up").touch()
    assert set_up.main(["requirements.lock"], root=copy) == 0
    assert not (copy / ".venv" / "left-by-a-killed-set-up").exists()
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.splitlines()[0] == f"doorside: making .venv with Python {VERSION}"
    assert set_up.main(["requirements.lock"], root=copy) == 0
    assert capsys.readouterr().err == ""
    assert set_up.usable_version(copy) == VERSION


def test_a_failed_installation_is_said_in_one_sentence_and_not_stamped(
    copy: Path, set_up: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    (copy / "requirements.lock").write_text(f"doorside-needs-this==1.0 --hash=sha256:{'0' * 64}\n")
    (copy / "wheelhouse").mkdir()
    # A .venv with a pip that can be reached, without the seconds that a real one takes.
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", copy / ".venv"], check=True)
    pip = next(Path(path) / "pip" for path in sys.path if (Path(path) / "pip" / "__init__.py").exists())
    site = next((copy / ".venv" / "lib").glob("python3*/site-packages"))
    (site / "pip").symlink_to(pip, target_is_directory=True)
    assert set_up.main(["requirements.lock"], root=copy) == 1
    first, last = capsys.readouterr().err.splitlines()
    assert first == "doorside: installing the packages of requirements.lock from wheelhouse/"
    assert last.startswith("doorside: requirements.lock could not be installed from wheelhouse/ (build it anew with")
    assert "doorside-needs-this==1.0" in last
    assert not set_up.is_installed(copy, "requirements.lock", VERSION)


def test_a_checkout_without_its_lock_file_is_named(
    copy: Path, set_up: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    (copy / "requirements.lock").unlink()
    stamp = set_up.stamp_file(copy)
    stamp.parent.mkdir()
    stamp.touch()
    assert set_up.main(["--check", "requirements.lock"], root=copy) == 1
    assert "requirements.lock cannot be read" in capsys.readouterr().err


HOLDER = """
import fcntl, pathlib, sys, set_up
root = pathlib.Path(sys.argv[1])
with set_up.only_one(root):
    print("held", flush=True)
    sys.stdin.readline()
    with open(root / ".doorside" / "set-up.lock") as again:
        try:
            fcntl.flock(again, fcntl.LOCK_EX | fcntl.LOCK_NB)
            print("nobody holds it")
        except BlockingIOError:
            print("still held")
"""


def holder(copy: Path) -> subprocess.Popen[str]:
    """A process that takes the lock, says so, and keeps it until it is told or killed."""
    return subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(copy)],
        env=os.environ | {"PYTHONPATH": str(copy / "deploy")},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def read(stream: object) -> str:
    return stream.readline().strip()  # type: ignore[attr-defined,no-any-return]


def test_two_set_ups_at_once_wait_for_each_other(copy: Path) -> None:
    with holder(copy) as first:
        assert read(first.stdout) == "held"
        with holder(copy) as second:
            assert read(second.stderr) == "doorside: another start is setting up this checkout; waiting for it"
            assert first.communicate("go\n") == ("still held\n", "")
            assert read(second.stdout) == "held"
            assert second.communicate("go\n") == ("still held\n", "")


def test_a_set_up_that_was_killed_keeps_nobody_waiting(copy: Path) -> None:
    with holder(copy) as first:
        assert read(first.stdout) == "held"
        first.kill()
        first.communicate()
    with holder(copy) as second:
        assert read(second.stdout) == "held"
        assert second.communicate("go\n") == ("still held\n", "")
