"""`doorside tls`, and what `doorside serve` does with it."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest

from app.base import certificates
from app.base.settings import load
from app.base.time import utc_now
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


def test_status_says_how_long_it_still_holds_and_by_its_exit_status_when_to_renew(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["tls", "make", "--name", "door.example", "--days", "31"]) == 0
    capsys.readouterr()
    assert main(["tls", "status"]) == 0
    assert "In order: 30 days left" in capsys.readouterr().out
    assert main(["tls", "renew", "--days", "29"]) == 0
    capsys.readouterr()
    assert main(["tls", "status"]) == 1
    assert "Only 28 days left" in (said := capsys.readouterr().out)
    assert "doorside tls renew" in said
    assert main(["tls", "--json", "status"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["days_left"], told["renew"]) == (28, True)


def test_status_tells_to_make_a_new_authority_when_renewing_would_not_help(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    long_ago = utc_now() - timedelta(days=365 * certificates.CA_YEARS - 5)
    certificates.make(tmp_path / "tls", ["door.example"], [], long_ago)
    certificates.renew(tmp_path / "tls", utc_now())
    assert main(["tls", "status"]) == 1
    assert "new authority" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["status"], 2, "doorside tls make"),
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
