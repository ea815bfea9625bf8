"""Playing a file into a real journal, in order and in a random order of arrival."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from pathlib import Path
from shutil import copyfile
from typing import Any

import pytest
from sqlalchemy import Engine

from app.base.database import open_engine
from app.base.errors import Busy, Conflict
from app.base.moments import moment_text
from app.drill.outcome import Outcome, outcome
from app.drill.player import NotPlayed, play, shuffled, waits
from app.drill.scenario import read_file
from app.drill.taps import case_ids, posts
from app.journal import store
from app.journal.keys import ServerKey
from app.journal.writer import Outcome as Stored
from app.journal.writer import Prepared, Writer
from tests.app.drill.lines import scenario
from tests.app.drill.test_reader import SEVEN


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """One database is enough here: that both store alike is the journal's own test."""
    return sqlite_url


def result(path: Path, writer: Writer, engine: Engine, key: ServerKey, seed: int | None = None) -> Outcome:
    given = read_file(path)
    assert play(given, writer, shuffle=seed) == sum(len(post.made) for post in posts(given))
    return outcome(given, engine, key.public, in_order=seed is None)


@pytest.mark.parametrize("path", SEVEN, ids=lambda path: path.stem[:2])
def test_a_shared_scenario_comes_out_as_it_expects(path: Path, writer: Writer, engine: Engine, key: ServerKey) -> None:
    got = result(path, writer, engine, key)
    assert got.differences == ()
    assert got.chain == "ok"


@pytest.mark.parametrize("path", SEVEN, ids=lambda path: path.stem[:2])
def test_any_order_of_arrival_gives_the_same_record(
    path: Path, migrated_sqlite: Path, tmp_path: Path, key: ServerKey, writer: Writer, engine: Engine
) -> None:
    in_order = result(path, writer, engine, key)
    for seed in range(1, 21):
        copyfile(migrated_sqlite, tmp_path / f"{seed}.db")
        with journal(tmp_path / f"{seed}.db", key) as (other, other_engine):
            got = result(path, other, other_engine, key, seed)
        assert got.differences == ()
        assert (got.entries, got.final, got.intervals, got.state) == (
            in_order.entries, in_order.final, in_order.intervals, in_order.state,
        ), f"seed {seed}"  # fmt: skip


@contextmanager
def journal(path: Path, key: ServerKey) -> Iterator[tuple[Writer, Engine]]:
    """A writer on one more database."""
    engine = open_engine(f"sqlite:///{path}")
    writer = Writer(engine, key)
    writer.start()
    try:
        yield writer, engine
    finally:
        writer.stop()
        engine.dispose()


def test_a_shuffled_file_arrives_whole_in_another_order_all_at_its_end() -> None:
    given = read_file(SEVEN[0])
    in_order = [one.tap.id for post in posts(given) for one in post.made]
    mixed = shuffled(given, 1)
    ids = [one.tap.id for post in mixed for one in post.made]
    assert sorted(ids) == sorted(in_order)
    assert ids != in_order
    assert len({post.received for post in mixed}) == 1
    assert all(one.at <= post.received for post in mixed for one in post.made)
    assert ids == [one.tap.id for post in shuffled(given, 1) for one in post.made]
    assert ids != [one.tap.id for post in shuffled(given, 2) for one in post.made]


def test_entries_are_stored_in_order_of_arrival_with_the_files_times(writer: Writer, engine: Engine) -> None:
    given = scenario("00:00 | CA | case.open", "05:00 | DOC | hold | recv=09:00", "06:00 | DR | door.open")
    play(given, writer)
    stored = store.entries(engine, case_ids(given)["A"])
    assert [(entry.seq, entry.tap.kind, entry.received_at[11:19]) for entry in stored] == [
        (1, "case.open", "14:10:00"),
        (2, "door.open", "14:16:00"),
        (3, "hold", "14:19:00"),
    ]


def test_playing_a_file_twice_into_one_database_stores_it_once(writer: Writer, engine: Engine) -> None:
    given = read_file(SEVEN[6])
    assert play(given, writer) == play(given, writer, shuffle=3) == 68
    assert len(store.entries(engine, case_ids(given)["A"])) == 68


def test_pace_waits_between_arrivals_as_the_file_does_divided_by_the_pace(writer: Writer) -> None:
    given = scenario("00:00 | CA | case.open", "01:00 | DOC | hold", "01:30 | DR | door.open")
    waited: list[float] = []
    play(given, writer, pace=10, wait=waited.append)
    assert waited == [0.0, 6.0, 3.0]
    assert [seconds for seconds, _ in waits(posts(given), 1.0)] == [0.0, 60.0, 30.0]


class Stubborn:
    """A journal that answers as it is told."""

    def __init__(self, *answers: Exception | str) -> None:
        self.answers = list(answers)
        self.lists: list[list[str]] = []

    def create_case(self, case: str, ref: str | None = None, room_id: str | None = None, /) -> Future[Any]:
        return _done("stored")

    def submit(self, prepared: list[Prepared], /) -> Future[list[Stored]]:
        answer = self.answers.pop(0) if self.answers else "stored"
        if isinstance(answer, Busy):
            raise answer
        self.lists.append([one.tap.kind for one in prepared])
        refused = answer if isinstance(answer, Conflict) else None
        status: Any = "refused" if refused else "stored"
        return _done([Stored(one.tap.id, status, None, refused) for one in prepared])


def _done(value: Any) -> Future[Any]:
    future: Future[Any] = Future()
    future.set_result(value)
    return future


TWO_LINES = ("00:00 | CA | case.open", "01:00 | DOC | hold")


def test_a_refused_entry_stops_the_playing_with_the_reason() -> None:
    with pytest.raises(NotPlayed, match="Another entry is stored"):
        play(scenario(*TWO_LINES), Stubborn("stored", Conflict("Another entry is stored.")))  # type: ignore[arg-type]


def test_a_busy_journal_is_waited_for_once_something_of_ours_is_under_way() -> None:
    journal = Stubborn("stored", Busy("Too much is waiting."))
    assert play(scenario(*TWO_LINES), journal) == 2  # type: ignore[arg-type]
    assert journal.lists == [["case.open"], ["hold"]]
    with pytest.raises(Busy):
        play(scenario(*TWO_LINES), Stubborn(Busy("Too much is waiting.")))  # type: ignore[arg-type]


def test_all_entries_of_one_post_carry_one_time_of_arrival() -> None:
    given = scenario("07:00 | DOC | room.in | p=P1,P2; recv=09:00")
    (post,) = posts(given)
    assert moment_text(post.received) == "2026-11-03T14:19:00.000000Z"
    assert len(post.made) == 2
