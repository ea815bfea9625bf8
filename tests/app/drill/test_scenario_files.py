"""Every scenario file of ours comes out as worked out by hand, in its own order and in random ones."""

from __future__ import annotations

from datetime import timedelta
from itertools import groupby
from pathlib import Path
from shutil import copyfile

import pytest
from sqlalchemy import Engine

from app.case.correction import happenings
from app.case.happening import Mark
from app.drill.outcome import Outcome, outcome
from app.drill.player import play
from app.drill.scenario import read_file
from app.drill.taps import case_ids, posts
from app.journal import store
from app.journal.keys import ServerKey
from app.journal.writer import Writer
from app.protocol.library import protocol_for, protocols
from tests.app.drill.test_player import journal

FILES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.scenario"))
OWN = [path for path in FILES if path.stem[:2] not in {f"s{n}" for n in range(1, 8)}]
SEEDS = (1, 2, 3, 4, 5)


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """One database is enough here: that both store alike is the journal's own test."""
    return sqlite_url


def played(path: Path, writer: Writer, engine: Engine, key: ServerKey, seed: int | None = None) -> Outcome:
    given = read_file(path)
    assert play(given, writer, shuffle=seed) == sum(len(post.made) for post in posts(given))
    return outcome(given, engine, key.public, in_order=seed is None)


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.stem)
def test_a_file_comes_out_as_worked_out_by_hand_in_any_order_of_arrival(
    path: Path, migrated_sqlite: Path, tmp_path: Path, key: ServerKey, writer: Writer, engine: Engine
) -> None:
    in_order = played(path, writer, engine, key)
    assert in_order.differences == ()
    assert in_order.chain == "ok"
    for seed in SEEDS:
        copyfile(migrated_sqlite, tmp_path / f"{seed}.db")
        with journal(tmp_path / f"{seed}.db", key) as (other, other_engine):
            mixed = played(path, other, other_engine, key, seed)
        assert mixed.differences == (), f"seed {seed}"
        assert (mixed.entries, mixed.chain, mixed.final, mixed.intervals, mixed.state) == (
            in_order.entries, "ok", in_order.final, in_order.intervals, in_order.state,
        ), f"seed {seed}"  # fmt: skip


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.stem)
def test_a_file_says_everything_that_it_expects_and_why(path: Path) -> None:
    given, lines = read_file(path), path.read_text("utf-8").splitlines()
    assert given.expected.live is not None
    assert given.expected.final is not None
    measured = {(one.case, one.code) for one in given.expected.intervals}
    assert {(case, code) for case in given.cases for code in ("I01", "I02", "I15", "I16", "I17")} <= measured
    comments = sum(1 for comment, _ in groupby(line.startswith("# ") for line in lines) if comment)
    assert comments >= 4, "the working stands beside the lines"


def test_there_are_thirteen_of_ours_and_every_protocol_is_among_them() -> None:
    assert len(OWN) == 13
    used = set()
    for path in OWN:
        for setup in read_file(path).cases.values():
            used.add(protocol_for(setup.opening["procedure"], str(setup.opening["age"])).id)
    assert used == {protocol.id for protocol in protocols()}


def test_the_files_together_raise_every_rule() -> None:
    raised = {notice.rule for path in FILES for notice in read_file(path).expected.live or ()}
    assert sorted(f"R{n:02d}" for n in range(1, 61) if f"R{n:02d}" not in raised) == []


def test_a_tap_from_the_future_is_stored_at_its_arrival_and_marked(writer: Writer, engine: Engine) -> None:
    (path,) = [path for path in OWN if path.stem == "clock-jumps-and-a-gap"]
    given = read_file(path)
    play(given, writer)
    case = case_ids(given)["A"]
    (ahead,) = [h for h in happenings(store.entries(engine, case)) if h.kind == "message"]
    assert ahead.marks == {Mark.AHEAD}
    assert ahead.at - given.cases["A"].t0 == timedelta(minutes=25)
