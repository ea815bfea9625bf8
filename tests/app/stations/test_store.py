"""Stations: paired, proven by a secret of which only the hash is kept, revoked."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, text

from app.base.errors import NotPermitted
from app.stations.store import authenticate, pair
from app.stations.values import KINDS

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)


@pytest.mark.parametrize("kind", KINDS)
def test_a_station_proves_itself_with_what_pairing_gave_it(engine: Engine, kind: str) -> None:
    station = authenticate(engine, pair(engine, kind=kind, label="Door 4", now=NOW), kind)
    assert (station.kind, station.label, station.language, station.all_cases, station.cases) == (
        kind,
        "Door 4",
        "en",
        True,
        (),
    )
    assert station.serves("any")


def test_two_stations_have_nothing_in_common(engine: Engine) -> None:
    one, two = (pair(engine, kind="inside", label="x", now=NOW) for _ in range(2))
    assert one.partition(".")[0] != two.partition(".")[0]
    assert one.partition(".")[2] != two.partition(".")[2]
    assert len(one.partition(".")[2]) >= 40


@pytest.mark.parametrize("spoil", [lambda c: "", lambda c: c[:-1], lambda c: c + "x", lambda c: c.partition(".")[0],
                                   lambda c: "." + c.partition(".")[2], lambda c: c.upper()])  # fmt: skip
def test_anything_but_the_secret_proves_nothing(engine: Engine, spoil: Callable[[str], str]) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW)
    with pytest.raises(NotPermitted, match="not paired"):
        authenticate(engine, spoil(cookie), "inside")


def test_a_station_passes_for_no_other_kind(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW)
    with pytest.raises(NotPermitted):
        authenticate(engine, cookie, "desk")


def test_the_secret_is_not_kept(engine: Engine) -> None:
    secret = pair(engine, kind="inside", label="x", now=NOW).partition(".")[2]
    with engine.connect() as connection:
        assert secret not in str(connection.execute(text("SELECT * FROM station")).all())


def test_a_revoked_station_proves_nothing_more(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW)
    with engine.begin() as connection:
        connection.execute(text("UPDATE station SET revoked_at = created_at"))
    with pytest.raises(NotPermitted):
        authenticate(engine, cookie, "inside")


def test_a_station_serves_the_cases_it_is_paired_to_and_may_write_to_those_it_was(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW, cases=("A", "B"))
    with engine.begin() as connection:
        connection.execute(text("UPDATE station_case SET ended_at = paired_at WHERE case_id = 'A'"))
    station = authenticate(engine, cookie, "inside")
    assert station.cases == ("B",)
    assert (station.serves("A"), station.served("A")) == (False, True)
    assert (station.serves("B"), station.served("B")) == (True, True)
    assert not station.served("C")


def test_there_is_no_station_of_another_kind(engine: Engine) -> None:
    with pytest.raises(ValueError, match="no kind of station"):
        pair(engine, kind="phone", label="x", now=NOW)
