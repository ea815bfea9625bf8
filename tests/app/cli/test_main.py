"""The command `doorside`: its words, its errors, its exit status."""

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from app import __version__
from app.base.errors import Busy, DoorsideError, NotValid, Unknown
from app.cli import COMMANDS, main

ROOT = Path(__file__).parents[3]


def test_without_a_word_it_prints_its_commands(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    shown = capsys.readouterr().out
    assert all(command in shown for command in COMMANDS)


def test_it_tells_its_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert __version__ in capsys.readouterr().out


@pytest.mark.parametrize("words", [["sing"], ["calc", "--no-such-word"], ["serve", "--port"]], ids=" ".join)
def test_wrong_words_are_said_on_standard_error_with_status_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    out, error = capsys.readouterr()
    assert out == ""
    assert "doorside" in error


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_a_file_and_explains_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    try:
        status = main([command, "--help"])
    except SystemExit as ended:
        status = ended.code  # type: ignore[assignment]
    assert status == 0
    assert command in capsys.readouterr().out
    assert (import_module(f"app.cli.{command}").__doc__ or "").startswith(f"`doorside {command}")


@pytest.mark.parametrize(
    ("error", "status"),
    [(NotValid("Bad."), 2), (Unknown("None such."), 2), (Busy("Too much."), 1), (DoorsideError("Broken."), 1)],
    ids=lambda part: str(part),
)
def test_a_refusal_is_a_sentence_on_standard_error(
    error: DoorsideError, status: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(_: object) -> int:
        raise error

    monkeypatch.setattr(import_module("app.cli.verify"), "run", refuse)
    assert main(["verify"]) == status
    out, told = capsys.readouterr()
    assert out == ""
    assert told == f"doorside verify: {error}\n"


def test_stopped_by_hand_it_ends_with_the_status_for_that(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(import_module("app.cli.verify"), "run", stopped)
    assert main(["verify"]) == 130


def test_a_fault_of_our_own_is_not_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(_: object) -> int:
        raise ZeroDivisionError

    monkeypatch.setattr(import_module("app.cli.verify"), "run", fails)
    with pytest.raises(ZeroDivisionError):
        main(["verify"])


def test_a_calculation_does_not_wait_for_the_web_servers_libraries() -> None:
    program = "import sys; from app.cli import main; main(['calc', '--help'])"
    check = f"try:\n    exec({program!r})\nexcept SystemExit:\n    pass\nassert 'fastapi' not in sys.modules"
    subprocess.run([sys.executable, "-c", f"import sys\n{check}"], cwd=ROOT, check=True, capture_output=True)


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_a_server_that_cannot_have_its_address_says_why(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, "--db", str(tmp_path / "d.db"), "--host", "0.0.0.0"]) == 1
    assert "Plain http" in capsys.readouterr().err
    assert main([command, "--db", str(tmp_path / "d.db"), "--port", "99999"]) == 2
    assert "DOORSIDE_PORT" in capsys.readouterr().err
