"""Stations: paired, proven by a secret of which only the hash is kept, revoked."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, text

from app.base.errors import NotPermitted, Revoked, Unknown
from app.stations.store import (
    authenticate,
    case_ended,
    case_made,
    known,
    listed,
    of_id,
    pair,
    report,
    revisions,
    revoke,
)
from app.stations.values import KINDS, Report, Station

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
HOUR, SECOND = timedelta(hours=1), timedelta(seconds=1)


def known_by_id(engine: Engine, cookie: str) -> Station:
    """A station whose first cookie is of no use any more."""
    found = of_id(engine, cookie.partition(".")[0])
    assert found is not None
    return found


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


def test_a_tap_counts_as_made_in_time_up_to_the_end_of_its_pairing_and_its_clocks_error(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW, cases=("A",))
    pair(engine, kind="inside", label="x", now=NOW + HOUR, cases=("B",), renews=cookie.partition(".")[0])
    station = known_by_id(engine, cookie)
    end, error = NOW + HOUR, timedelta(seconds=3)
    assert station.wrote_in_time("A", end)
    assert not station.wrote_in_time("A", end + SECOND)
    assert station.wrote_in_time("A", end + error, error)
    assert not station.wrote_in_time("A", end + error + SECOND, error)
    assert not station.wrote_in_time("A", end + HOUR, timedelta(days=1)), "a station's word on its clock has a limit"
    assert station.wrote_in_time("B", end + 9 * HOUR)
    assert not station.wrote_in_time("C", NOW)


def test_a_screen_that_is_paired_again_goes_on_under_its_id_with_a_new_secret(engine: Engine) -> None:
    first = pair(engine, kind="inside", label="Old", now=NOW)
    revoke(engine, first.partition(".")[0], NOW + HOUR)
    second = pair(engine, kind="inside", label="New", now=NOW + 2 * HOUR, cases=("A",), renews=first.partition(".")[0])
    assert first.partition(".")[0] == second.partition(".")[0]
    with pytest.raises(NotPermitted):
        known(engine, first, "inside")
    station = authenticate(engine, second, "inside")
    assert (station.label, station.cases, station.all_cases, station.revoked) == ("New", ("A",), False, False)
    assert station.wrote_in_time("B", NOW), "what it tapped when it served every case is still its own"
    assert not station.wrote_in_time("B", NOW + 2 * HOUR)


def test_a_revoked_station_is_known_and_sees_nothing(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW, cases=("A",))
    revoke(engine, cookie.partition(".")[0], NOW + HOUR)
    station = known(engine, cookie, "inside")
    assert (station.revoked, station.cases, station.serves("A"), station.served("A")) == (True, (), False, True)
    with pytest.raises(Revoked, match="ended at the desk"):
        authenticate(engine, cookie, "inside")
    with pytest.raises(Unknown):
        revoke(engine, "nobody", NOW)


def test_a_station_of_a_room_is_given_the_cases_made_there_and_let_go_when_they_end(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW, room="R4", cases=("early",))
    other = pair(engine, kind="inside", label="y", now=NOW, room="R5")
    gone = pair(engine, kind="inside", label="z", now=NOW, room="R4")
    revoke(engine, gone.partition(".")[0], NOW)
    assert case_made(engine, "A", "R4", NOW + HOUR) == (cookie.partition(".")[0],)
    assert case_made(engine, "A", "R4", NOW + HOUR) == (), "once"
    assert authenticate(engine, cookie, "inside").cases == ("early", "A")
    assert authenticate(engine, other, "inside").cases == ()
    assert case_ended(engine, "A", NOW + 2 * HOUR) == (cookie.partition(".")[0],)
    station = authenticate(engine, cookie, "inside")
    assert station.cases == ("early",)
    assert (station.wrote_in_time("A", NOW + HOUR), station.wrote_in_time("A", NOW + 3 * HOUR)) == (True, False)
    assert case_made(engine, "B", None, NOW) == ()


def test_a_station_chosen_for_one_case_keeps_it_when_it_ends(engine: Engine) -> None:
    cookie = pair(engine, kind="outside", label="x", now=NOW, cases=("A",))
    assert case_ended(engine, "A", NOW + HOUR) == ()
    assert authenticate(engine, cookie, "outside").cases == ("A",)


def test_every_change_of_what_a_station_sees_raises_its_revision(engine: Engine) -> None:
    cookie = pair(engine, kind="inside", label="x", now=NOW, room="R4")
    id_ = cookie.partition(".")[0]
    seen = [revisions(engine)[id_]]
    case_made(engine, "A", "R4", NOW)
    seen.append(revisions(engine)[id_])
    case_ended(engine, "A", NOW)
    seen.append(revisions(engine)[id_])
    revoke(engine, id_, NOW)
    seen.append(revisions(engine)[id_])
    assert seen == sorted(set(seen))


def test_a_report_is_kept_and_the_newest_counts(engine: Engine) -> None:
    id_ = pair(engine, kind="inside", label="x", now=NOW).partition(".")[0]
    (before,) = listed(engine)
    assert before.report is None
    newest = Report(NOW + HOUR, 71, False, -12.5, 3.25, 4, 1, "0.1")
    for said in (Report(NOW), newest):
        report(engine, id_, said)
    (after,) = listed(engine)
    assert after.report == newest


def test_there_is_no_station_of_another_kind(engine: Engine) -> None:
    with pytest.raises(ValueError, match="no kind of station"):
        pair(engine, kind="phone", label="x", now=NOW)
