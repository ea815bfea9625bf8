"""Codes that pair a screen: once, for five minutes, and of no use to whoever reads the database."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, text

from app.base.errors import DoorsideError, NotValid, Unknown
from app.stations.codes import LENGTH, LETTERS, LIFE, make, read, use
from app.stations.values import Plan

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
KEY = b"k" * 32
PLAN = Plan("inside", "Tablet 2", "de", ("A", "B"))


def test_a_code_carries_out_what_was_chosen_at_the_desk(engine: Engine) -> None:
    code = make(engine, PLAN, KEY, NOW)
    assert use(engine, f" {code[:4].lower()}-{code[4:]} ", KEY, NOW + LIFE) == PLAN
    room = make(engine, Plan("outside", "Door 4", room="R4"), KEY, NOW)
    assert use(engine, room, KEY, NOW).room == "R4"


def test_a_code_has_eight_of_thirty_characters_none_of_which_is_read_as_another(engine: Engine) -> None:
    assert (LENGTH, len(LETTERS), len(set(LETTERS))) == (8, 30, 30)
    assert not set("01ILOU") & set(LETTERS)
    codes = {make(engine, PLAN, KEY, NOW) for _ in range(20)}
    assert len(codes) == 20
    assert all(len(code) == LENGTH and set(code) <= set(LETTERS) for code in codes)


def test_a_code_pairs_one_screen(engine: Engine) -> None:
    code = make(engine, PLAN, KEY, NOW)
    use(engine, code, KEY, NOW)
    with pytest.raises(Unknown, match="used already"):
        use(engine, code, KEY, NOW)


@pytest.mark.parametrize("late", [LIFE + timedelta(seconds=1), timedelta(days=1), -timedelta(seconds=1)])
def test_a_code_is_good_for_five_minutes(engine: Engine, late: timedelta) -> None:
    code = make(engine, PLAN, KEY, NOW)
    with pytest.raises(Unknown, match="five minutes"):
        use(engine, code, KEY, NOW + late)


@pytest.mark.parametrize("typed", ["", "ABCDEFG", "ABCDEFGHJ", "ABCD0FGH", "ABCDOFGH", "ÄBCDEFGH", "ABCD\0FGH"])
def test_what_can_be_no_code_is_told_from_a_wrong_one(typed: str) -> None:
    with pytest.raises(NotValid, match="8 characters"):
        read(typed)


def test_the_database_does_not_tell_a_code(engine: Engine) -> None:
    code = make(engine, PLAN, KEY, NOW)
    with engine.connect() as connection:
        assert code not in str(connection.execute(text("SELECT * FROM pairing_code")).all())
    with pytest.raises(Unknown):
        use(engine, code, b"another key".ljust(32), NOW)


def test_codes_that_ran_out_are_forgotten(engine: Engine) -> None:
    make(engine, PLAN, KEY, NOW)
    make(engine, PLAN, KEY, NOW + LIFE + timedelta(seconds=1))
    with engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM pairing_code")).scalar_one() == 1


def test_two_tablets_that_send_one_code_at_once_become_one_station(engine: Engine) -> None:
    code, came = make(engine, PLAN, KEY, NOW), []
    both = threading.Barrier(2)

    def send() -> None:
        both.wait()
        try:
            came.append(use(engine, code, KEY, NOW))
        except DoorsideError as error:
            came.append(error)

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(isinstance(one, Plan) for one in came) == [False, True]


@pytest.mark.parametrize("plan", [Plan("phone", "x"), Plan("inside", "x", "xx")])
def test_no_code_is_made_for_what_is_not_there(engine: Engine, plan: Plan) -> None:
    with pytest.raises(NotValid):
        make(engine, plan, KEY, NOW)
