"""`doorside tls`, and what `doorside serve` does with it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from app.base.settings import load
from app.cli import main


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DOORSIDE_DATA", str(tmp_path))


def test_make_show_and_renew_in_words_and_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tls", "make", "--name", "door.example", "--address", "192.0.2.7", "--days", "30"]) == 0
    assert "door.example, 192.0.2.7" in capsys.readouterr().out
    assert main(["tls", "--json", "show"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert shown["names"] == ["door.example"]
    assert main(["tls", "--json", "renew", "--days", "60"]) == 0
    renewed = json.loads(capsys.readouterr().out)
    assert renewed["until"] > shown["until"]
    assert renewed["authority_sha256"] == shown["authority_sha256"]


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["make"], 2, "needs a name or an address"),
        (["make", "--name", "a", "--days", "900"], 2, "825"),
        (["show"], 2, "doorside tls make"),
        (["renew"], 2, "doorside tls make"),
    ],
)
def test_what_cannot_be_is_said_on_standard_error(
    words: list[str], status: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tls", *words]) == status
    assert said in capsys.readouterr().err


def test_serving_https_without_a_certificate_says_how_to_make_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--tls", "--port", "0"]) == 2
    assert "doorside tls make" in capsys.readouterr().err


def test_plain_http_beyond_this_machine_needs_the_setting(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--host", "0.0.0.0", "--port", "0"]) == 1
    assert "read along" in capsys.readouterr().err
    assert load({}, host="0.0.0.0").plain_on_network
    assert not load({}, host="0.0.0.0", tls="yes").plain_on_network
    assert not load({}, host="127.0.0.1").plain_on_network
