"""`doorside protocol` at the command line."""

from __future__ import annotations

import argparse
import io
import json
import sys
from pathlib import Path

import pytest

from app.cli import protocol as command
from app.protocol.library import protocols
from app.protocol.read import digest


def _run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    command.add_parser(parser.add_subparsers())
    args = parser.parse_args(["protocol", *words])
    return int(args.run(args))


@pytest.fixture
def good(tmp_path: Path, adult_text: str) -> Path:
    path = tmp_path / "good.yaml"
    path.write_text(adult_text, "utf-8")
    return path


@pytest.fixture
def bad(tmp_path: Path, adult_text: str) -> Path:
    path = tmp_path / "bad.yaml"
    path.write_text(adult_text.replace("version: 2", "version: one").replace("ages: [adult]", "ages: [adlt]"), "utf-8")
    return path


def test_a_good_file_is_said_to_have_no_mistakes(good: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("check", str(good)) == 0
    out = capsys.readouterr().out
    assert "no mistakes" in out
    assert digest(protocols()[2]) in out


def test_a_bad_file_gets_one_line_a_mistake_and_exit_status_1(bad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("check", str(bad)) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[1] for line in lines[:2]] == ["5", "11"]
    assert "Did you mean 'adult'?" in lines[1]
    assert lines[2].startswith("2 mistakes in ")


def test_json_is_one_object_with_every_mistake(bad: Path, good: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("check", str(bad), "--json") == 1
    found = json.loads(capsys.readouterr().out)
    assert found["ok"] is False
    assert [(m["line"], m["where"]) for m in found["mistakes"]] == [(5, "version"), (11, "ages[0]")]
    assert _run("check", str(good), "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["ok"], found["id"], found["mistakes"]) == (True, "intubation-adult", [])


def test_standard_input_can_be_checked(
    adult_text: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(adult_text.encode()), encoding="utf-8"))
    assert _run("check", "-") == 0
    assert capsys.readouterr().out.startswith("-: no mistakes.")


def test_a_file_that_is_not_there_or_not_text_is_told_on_standard_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    noise = tmp_path / "noise.yaml"
    noise.write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path / "none.yaml", noise):
        assert _run("check", str(path)) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert "cannot be read" in said.err


def test_the_schema_is_printed_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("schema") == 0
    assert json.loads(capsys.readouterr().out)["title"] == "Doorside protocol"


def test_the_list_names_every_built_in_protocol(capsys: pytest.CaptureFixture[str]) -> None:
    assert _run("list") == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == [protocol.id for protocol in protocols()]
    assert _run("list", "--json") == 0
    listed = json.loads(capsys.readouterr().out)
    assert [item["digest"] for item in listed] == [digest(protocol) for protocol in protocols()]
