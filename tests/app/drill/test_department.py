"""The invented hospital, and its people and rooms in the registers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from app.base.database import open_engine
from app.base.moments import moment_text, whole_second
from app.case.fold import fold
from app.case.life import life
from app.case.rules.judge import live
from app.case.state import Life
from app.drill.department import NOW, YOURS, rooms, staff, tonight, wards
from app.drill.register import register
from app.drill.taps import posts
from app.journal.entry import Entry
from app.people.store import all_facts, immunity
from app.people.tables import Person
from app.rooms.tables import Room

ZONE = ZoneInfo("Europe/Vienna")
TONIGHT = datetime(2027, 1, 30, 1, 12, 40, tzinfo=UTC)


@pytest.fixture
def engine(sqlite_url: str) -> Iterator[Engine]:
    engine = open_engine(sqlite_url)
    yield engine
    engine.dispose()


def entries_until(moment: datetime) -> dict[str, list[Entry]]:
    """What all five rooms have entered by a moment of the files' own night, by room."""
    found: dict[str, list[Entry]] = {}
    for scenario in rooms():
        room = str(next(iter(scenario.cases.values())).room["name"])
        found[room] = [
            Entry(one.tap, one.facts, seq, moment_text(post.received), "", "")
            for seq, (post, one) in enumerate(
                ((post, one) for post in posts(scenario) if post.received < moment for one in post.made), start=1
            )
        ]
    return found


def test_every_room_and_every_page_of_the_demo_says_that_it_is_a_drill() -> None:
    for scenario in rooms():
        (setup,) = scenario.cases.values()
        assert "DRILL" in str(setup.opening["ref"])


def test_at_the_beginning_the_five_rooms_are_in_different_phases() -> None:
    stages = {room: life(fold(entries[0].tap.case, entries)) for room, entries in entries_until(NOW).items()}
    assert stages == {
        "Room 1": Life.SETTLED,
        "Room 2": Life.AIRWAY,
        "Room 3": Life.SETTLED,
        "Room 4": Life.INSIDE,
        "Room 5": Life.PLANNED,
    }


def test_the_room_that_is_left_to_the_user_is_pre_oxygenating_and_nothing_is_played_after_that() -> None:
    (yours,) = [one for one in rooms() if next(iter(one.cases.values())).room["name"] == YOURS]
    assert yours.end < NOW
    state = fold("c", entries_until(NOW)[YOURS])
    assert state.airway.stage == "oxygenating"
    assert len(state.inside) == 4


def test_something_happens_within_the_first_ten_seconds() -> None:
    def shown(moment: datetime) -> int:
        return sum(len(entries) for entries in entries_until(moment).values())

    assert shown(NOW + timedelta(seconds=10)) > shown(NOW)


def test_the_night_raises_what_it_is_written_to_raise_and_nothing_else() -> None:
    by_case = {entries[0].tap.case: entries for entries in entries_until(NOW + timedelta(hours=2)).values()}
    raised = live(by_case, NOW + timedelta(hours=1, minutes=15))
    assert [(whole_second(notice.at).strftime("%H:%M:%S"), notice.rule, notice.severity) for notice in raised] == [
        ("03:24:10", "R06", "W"),
        ("03:30:18", "R29", "W"),
        ("03:30:20", "R28", "W"),
        ("03:30:34", "R28", "W"),
        ("03:33:30", "R39", "W"),
        ("04:07:00", "R49", "C"),
    ]


def test_a_person_in_two_rooms_is_the_same_person_in_both() -> None:
    said: dict[str, Any] = {}
    for scenario in rooms():
        for handle, member in scenario.staff.items():
            assert said.setdefault(handle, member.facts) == member.facts


def test_nobody_is_in_two_rooms_at_once() -> None:
    inside = [p for entries in entries_until(NOW).values() for p in fold("c", entries).inside]
    assert len(inside) == len(set(inside)) == 14


def test_staff_are_as_well_fitted_tonight_as_in_the_files_and_some_are_free() -> None:
    people = {one.id: one for one in staff(TONIGHT, ZONE)}
    first = people["N01"]
    age = TONIGHT.date() - date.fromisoformat(first.facts["fit"]["K2"])
    assert age == NOW.date() - date(2026, 2, 10)
    assert (first.name, first.initials) == ("Ines Aldous", "IA")
    assert {"N23", "N24", "N25", "N26", "N27", "N28"} <= people.keys()
    assert len({one.initials for one in people.values()}) == len({one.name for one in people.values()}) == len(people)


def test_tonight_is_as_far_along_as_the_files_night() -> None:
    for scenario in rooms():
        (then,), (now,) = scenario.cases.values(), tonight(scenario, TONIGHT, ZONE).cases.values()
        assert TONIGHT - now.t0 == NOW - then.t0


def test_people_and_rooms_are_entered_in_the_registers(engine: Engine) -> None:
    register(engine, staff(TONIGHT, ZONE), wards())
    with Session(engine) as session:
        one = session.get(Person, "N03")
        room = session.get(Room, "room-3")
        unmeasured = session.get(Room, "room-7")
        counted = len(session.exec(select(Person)).all()), len(session.exec(select(Room)).all())
    assert one is not None
    facts, immune = all_facts(engine)["N03"], immunity(engine)["N03"]
    assert (one.name, one.resp, list(facts["fit"]), immune) == ("Wren Okaro", "tight:M1", ["M1"], {"measles": "yes"})
    assert room is not None
    assert (room.name, room.ach, room.clear, room.anteroom, room.mixing) == ("Room 3", 10, 99, "north lobby", 1)
    assert unmeasured is not None
    assert unmeasured.ach is None
    assert counted == (28, 7)


def test_a_row_that_is_in_a_register_stays_as_it_is(engine: Engine) -> None:
    with Session(engine) as session:
        session.add(Person(id="N03", name="Somebody Real", initials="SR", job="consultant"))
        session.commit()
    for _ in range(2):
        register(engine, staff(TONIGHT, ZONE), wards())
    with Session(engine) as session:
        person = session.get(Person, "N03")
    assert person is not None
    assert person.name == "Somebody Real"
