"""The register of rooms: what was measured, and nothing that was not."""

from sqlalchemy import Engine

from app.rooms.store import add, all_facts, rooms
from app.rooms.tables import Room


def test_rooms_are_listed_by_name_without_those_out_of_use(engine: Engine) -> None:
    add(
        engine,
        Room(id="r2", name="Room 2", clear=99),
        Room(id="r1", name="Room 1", clear=99),
        Room(id="r3", name="Room 3", clear=99, active=False),
    )
    assert [room.name for room in rooms(engine)] == ["Room 1", "Room 2"]


def test_what_nobody_measured_is_left_out(engine: Engine) -> None:
    add(engine, Room(id="r1", name="Room 1", clear=99))
    assert all_facts(engine)["r1"] == {"id": "r1", "name": "Room 1", "clear": 99}


def test_what_was_measured_goes_with_the_entry(engine: Engine) -> None:
    add(engine, Room(id="r1", name="Room 1", clear=99.9, ach=12, anteroom="east", mixing=2))
    assert all_facts(engine)["r1"] == {
        "id": "r1",
        "name": "Room 1",
        "ach": 12,
        "clear": 99.9,
        "anteroom": "east",
        "mixing": 2,
    }


def test_rooms_out_of_use_are_kept_for_late_entries(engine: Engine) -> None:
    add(engine, Room(id="r3", name="Room 3", clear=99, active=False))
    assert "r3" in all_facts(engine)
