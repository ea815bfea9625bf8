"""A file's night moved to tonight."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from app.drill.moving import moved
from app.drill.taps import case_ids, posts
from tests.app.drill.lines import CASE, made, scenario

LATER = datetime(2027, 2, 1, 22, 15, 30, tzinfo=UTC)
LINES = (
    "00:00 | CA | case.open",
    "05:00 | DOC | room.in | id=x; p=P1; recv=06:00",
    "07:00 | DOC | tap.fix | ref=x; at=04:30",
)


def test_everything_keeps_its_distance_from_offset_zero() -> None:
    given = scenario(*LINES)
    later = moved(given, LATER)
    by = LATER - given.cases["A"].t0
    assert later.cases["A"].t0 == LATER
    assert [one.at - other.at for one, other in zip(made(later), made(given), strict=True)] == [by] * 3
    assert [one.received - other.received for one, other in zip(posts(later), posts(given), strict=True)] == [by] * 3
    fix = made(later)[2].tap.body
    assert fix["ref"] == made(later)[1].tap.id
    assert fix["at"] == "2027-02-01T22:20:00.000000Z"


def test_fit_tests_and_drills_stay_as_many_days_old() -> None:
    facts = moved(scenario(*LINES), LATER).staff["P1"].facts
    assert facts["fit"] == {"K2": "2026-05-11"}  # 90 days later, as 2027-02-01 is after 2026-11-03
    assert facts["drill"] == "2026-07-31"


def test_the_change_of_shift_stays_as_far_ahead_in_the_hospitals_own_time() -> None:
    given = scenario(*LINES, case=f"{CASE}; shift_end=20:00")  # 5 h 50 min after 14:10
    assert made(moved(given, LATER))[0].tap.body["shift_end"] == "04:05"
    assert made(moved(given, LATER, ZoneInfo("Asia/Tokyo")))[0].tap.body["shift_end"] == "13:05"


def test_the_same_file_at_another_time_is_another_case() -> None:
    given = scenario(*LINES)
    assert case_ids(moved(given, LATER)) == case_ids(moved(given, LATER))
    assert case_ids(moved(given, LATER)) != case_ids(moved(given, LATER + timedelta(seconds=1)))
    ids = {one.tap.id for one in made(moved(given, LATER))}
    assert ids.isdisjoint(one.tap.id for one in made(given))


def test_the_zone_of_the_hospital_comes_with_the_room() -> None:
    opening = made(moved(scenario(*LINES), LATER, ZoneInfo("Europe/Vienna")))[0]
    assert opening.facts["room"]["tz"] == "Europe/Vienna"
