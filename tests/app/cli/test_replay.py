"""`doorside replay`: what it prints, and its exit status."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

import pytest

from app.base.database import open_engine
from app.base.settings import load
from app.cli import replay
from app.journal import store
from app.journal.keys import read_key
from app.journal.verify import verify

SCENARIOS = Path(__file__).parents[2] / "scenarios"
S1, S7 = SCENARIOS / "s1-normal-intubation.scenario", SCENARIOS / "s7-wrong-order-taps-and-corrections.scenario"


def command(*words: object) -> int:
    parser = ArgumentParser()
    replay.add_parser(parser.add_subparsers())
    args = parser.parse_args(["replay", *(str(word) for word in words)])
    return int(args.run(args))


def printed(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, Any]:
    status = command(*words, "--json")
    out, err = capsys.readouterr()
    assert err == ""
    return status, json.loads(out)


def test_a_scenario_that_comes_out_as_expected_ends_with_status_zero(capsys: pytest.CaptureFixture[str]) -> None:
    status, got = printed(capsys, S1)
    assert status == 0
    assert list(got) == [
        "scenario", "ok", "entries", "chain", "live", "final", "intervals", "state", "differences",
    ]  # fmt: skip
    assert (got["scenario"], got["ok"], got["entries"], got["chain"]) == ("S1 Normal intubation", True, 69, "ok")
    assert got["live"] == got["final"] == got["differences"] == []
    measured = got["intervals"]["A"]
    assert measured["I01"] == 785
    assert measured["I02"] == {"P1": 110, "P2": 155, "P3": 95, "P4": 130}
    assert measured["I13"] is True
    assert measured["I14"] == {"q1": {"ack": 18, "in": 150}}
    assert measured["I15"]["P4"] == "open"
    assert measured["I17"] is None
    state = got["state"]["A"]
    assert set(state) == {"id", "state", "phase", "inside", "places", "requests", "attempts", "exposures"}
    assert (state["state"], state["phase"], state["inside"], state["attempts"]) == ("closed", "after", ["P4"], 1)
    assert state["places"] == {"clean": {}, "soiled": {}, "door": {"fona": 1, "sga": 1, "bougie": 1}}
    assert (state["requests"], state["exposures"]) == ({}, [])


def test_notices_stand_with_case_second_rule_severity_subject_and_words(capsys: pytest.CaptureFixture[str]) -> None:
    status, got = printed(capsys, S7)
    assert status == 0
    assert [(one["at_s"], one["rule"], one["severity"]) for one in got["live"]] == [
        (672, "R14", "C"), (672, "R17", "C"), (672, "R18", "C"), (1020, "R26", "W"), (1092, "R58", "N"),
        (1100, "R58", "N"), (1138, "R32", "C"),
    ]  # fmt: skip
    assert set(got["live"][0]) == {"case", "at_s", "rule", "severity", "subject", "text"}
    assert (got["live"][0]["case"], got["live"][0]["subject"]) == ("A", "P6")
    assert got["final"] == []


def test_a_random_order_of_arrival_gives_the_same_final_record(capsys: pytest.CaptureFixture[str]) -> None:
    _, in_order = printed(capsys, S7)
    for seed in (1, 2, 3):
        status, got = printed(capsys, S7, "--shuffle", seed)
        assert status == 0
        for part in ("entries", "chain", "final", "intervals", "state"):
            assert got[part] == in_order[part]


@pytest.fixture
def wrong(tmp_path: Path) -> Path:
    """S1 with one interval and one notice that do not come out."""
    text = S1.read_text(encoding="utf-8")
    text = text.replace("I01 call_to_entry | 13:05", "I01 call_to_entry | 13:06")
    text = text.replace("expect | live | none", "expect | live | 18:20 | R26 | W | pre-oxygenation")
    path = tmp_path / "wrong.scenario"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_difference_ends_with_status_one_and_still_prints_only_json(
    wrong: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, got = printed(capsys, wrong)
    assert status == 1
    assert got["ok"] is False
    assert got["differences"] == [
        {"what": "live", "expected": "18:20 R26 W pre-oxygenation", "got": None},
        {"what": "final", "expected": "18:20 R26 W pre-oxygenation", "got": None},
        {"what": "interval A I01 call_to_entry", "expected": "13:06", "got": "13:05"},
    ]


def test_for_people_the_differences_stand_side_by_side(wrong: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(wrong) == 1
    last = capsys.readouterr().out.splitlines()[-4:]
    assert [line.split("  ")[0] for line in last] == [
        "NOT as expected",
        "live",
        "final",
        "interval A I01 call_to_entry",
    ]
    columns = [last[0].rindex(word) for word in ("expected", "got")]
    assert [last[3][start:].split()[0] for start in columns] == ["13:06", "13:05"]


def test_for_people_it_prints_notices_intervals_and_where_the_case_stands(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(S7) == 0
    out = capsys.readouterr().out
    assert out.startswith("S7 Wrong-order taps and corrections\n68 entries, chain ok\n")
    assert "  A    18:58  R32  C  " in out
    assert "Standing in the final record: nothing" in out
    assert "  I15  P1 28:50, P2 31:50, P3 34:50, P4 open" in out
    assert "Case A is closed, phase after" in out
    assert out.endswith("As expected.\n")


def test_a_mistake_in_the_file_is_one_sentence_on_standard_error_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.scenario"
    path.write_text("# Bad\ncase | A | date=2026-11-03; t0=14:10\n00:00 | DOC | romm.in | p=P1\n", encoding="utf-8")
    assert command(path, "--json") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Line 3: there is no kind of entry called 'romm.in'." in err
    assert "Did you mean room.in" in err
    assert err.count("\n") == 1


def test_a_file_that_is_not_there_ends_with_status_two(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert command(tmp_path / "nowhere.scenario") == 2
    assert "cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize("words", [("--shuffle", "many"), ("--pace", "0"), ("--pace", "-1"), ("--pace", "nan")])
def test_words_that_cannot_be_used_end_with_status_two(
    words: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        command(S1, *words)
    assert stopped.value.code == 2
    assert "argument" in capsys.readouterr().err


def test_a_database_that_cannot_be_used_ends_with_status_two(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(S1, "--db", "mysql://somewhere/x") == 2
    assert "DOORSIDE_DB" in capsys.readouterr().err


def test_a_missing_database_is_made_and_keeps_the_case_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DOORSIDE_DATA", str(tmp_path / "data"))
    url = f"sqlite:///{tmp_path / 'new' / 'kept.db'}"
    _, first = printed(capsys, S1, "--db", url)
    status, second = printed(capsys, S1, "--db", url, "--shuffle", 4)
    assert status == 0
    assert first["state"] == second["state"]
    key = read_key(load().key_file)
    assert key is not None
    engine = open_engine(url)
    assert len(store.entries(engine, first["state"]["A"]["id"])) == 69
    assert verify(engine, key.public).clean
    engine.dispose()


@pytest.mark.postgres
def test_it_plays_into_postgresql_as_well(postgres_url: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, got = printed(capsys, SCENARIOS / "s5-two-rooms-one-runner.scenario", "--db", postgres_url, "--shuffle", 2)
    assert (status, got["entries"], got["chain"]) == (0, 74, "ok")


def test_a_broken_chain_is_not_ok_though_nothing_else_differs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from app.drill import outcome
    from app.journal.chains import Finding
    from app.journal.verify import Report

    broken = Report(1, 69, None, "given", True, Finding("c", 3, "x", "altered", "Entry 3 was altered."))
    monkeypatch.setattr(outcome, "verify", lambda engine, trusted: broken)
    status, got = printed(capsys, S1)
    assert (status, got["ok"], got["chain"], got["differences"]) == (1, False, "Entry 3 was altered.", [])
