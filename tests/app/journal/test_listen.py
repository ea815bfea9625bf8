"""News between server processes on one PostgreSQL."""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.pool import NullPool

from app.base.database import open_engine
from app.base.ids import new_id
from app.journal.entry import Tap
from app.journal.keys import ServerKey
from app.journal.listen import Listener
from app.journal.writer import Prepared, Writer

pytestmark = pytest.mark.postgres
AT = "2026-11-03T14:10:01.000000Z"
PATIENCE_S = 60
NewTap = Callable[..., Tap]
News = queue.Queue[tuple[Any, ...]]


@pytest.fixture
def engine(postgres_url: str) -> Iterator[Engine]:
    engine = open_engine(postgres_url)
    yield engine
    engine.dispose()


@pytest.fixture
def news(postgres_url: str) -> Iterator[News]:
    heard: News = queue.Queue()
    listener = Listener(postgres_url, lambda case, seq: heard.put((case, seq)), lambda: heard.put(("resync",)))
    listener.start()
    assert heard.get(timeout=PATIENCE_S) == ("resync",)
    yield heard
    listener.stop()


def test_every_commit_is_heard_with_case_and_newest_number(news: News, writer: Writer, new_tap: NewTap) -> None:
    cases = [new_id(), new_id()]
    for case in cases:
        writer.create_case(case).result(PATIENCE_S)
    writer.submit([Prepared(new_tap(case), {}, AT) for case in (*cases, cases[0])]).result(PATIENCE_S)
    assert {news.get(timeout=PATIENCE_S) for _ in cases} == {(cases[0], 2), (cases[1], 1)}
    writer.submit([Prepared(new_tap(cases[1]), {}, AT)]).result(PATIENCE_S)
    assert news.get(timeout=PATIENCE_S) == (cases[1], 2)


def test_what_was_rolled_back_is_never_heard(
    news: News, writer: Writer, case: str, new_tap: NewTap, monkeypatch: pytest.MonkeyPatch
) -> None:
    commit, failed = writer.steps.commit, []

    def fail_once(transaction: Any) -> None:
        if not failed:
            failed.append(1)
            raise ZeroDivisionError
        commit(transaction)

    monkeypatch.setattr(writer.steps, "commit", fail_once)
    writer.submit([Prepared(new_tap(case), {}, AT) for _ in range(2)]).result(PATIENCE_S)
    assert [news.get(timeout=PATIENCE_S) for _ in range(2)] == [(case, 1), (case, 2)]  # one by one; never 2 at once
    assert news.empty()


def test_after_a_broken_line_everybody_is_told_to_read_again(
    news: News, postgres_server: Callable[[str], str], writer: Writer, case: str, new_tap: NewTap
) -> None:
    admin = create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with admin.connect() as connection:
        connection.execute(text("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE query LIKE 'LISTEN%'"))
    admin.dispose()
    assert news.get(timeout=PATIENCE_S) == ("resync",)
    writer.submit([Prepared(new_tap(case), {}, AT)]).result(PATIENCE_S)
    assert news.get(timeout=PATIENCE_S) == (case, 1)


@pytest.mark.parametrize("payload", ["", "nonsense", "a b c", "a 1.5"])
def test_what_others_say_on_the_channel_harms_nobody(
    payload: str, news: News, engine: Engine, writer: Writer, case: str, new_tap: NewTap
) -> None:
    with engine.begin() as connection:
        connection.execute(text("SELECT pg_notify('doorside', :payload)"), {"payload": payload})
    writer.submit([Prepared(new_tap(case), {}, AT)]).result(PATIENCE_S)
    assert news.get(timeout=PATIENCE_S) == (case, 1)


def test_a_listener_without_a_server_keeps_trying_and_stops_when_told() -> None:
    listener = Listener("postgresql+psycopg://nobody@127.0.0.1:1/none", lambda *_: None, lambda: None)
    listener.start()
    listener.stop()


def test_a_writer_goes_on_after_the_server_dropped_its_connections(
    engine: Engine, key: ServerKey, writer: Writer, case: str, new_tap: NewTap, postgres_server: Callable[[str], str]
) -> None:
    writer.submit([Prepared(new_tap(case), {}, AT)]).result(PATIENCE_S)
    admin = create_engine(postgres_server("postgres"), isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with admin.connect() as connection:
        query = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = :name"
        connection.execute(text(query), {"name": engine.url.database})
    admin.dispose()
    outcomes = writer.submit([Prepared(new_tap(case), {}, AT) for _ in range(3)]).result(PATIENCE_S)
    assert [outcome.status for outcome in outcomes] == ["stored"] * 3
