"""Signing in at a desk: who may, how guessing is slowed down, and when a session ends. Time is handed in."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, text

from app.base.errors import Conflict, DoorsideError, NotPermitted, NotSignedIn, NotValid, TooOften, Unknown
from app.people import store as people
from app.people.sign_in import door, locks, pins, store
from app.people.sign_in.door import PinMustChange
from app.people.sign_in.locks import PERSON, STATION, Failures
from app.people.sign_in.values import ALL_RIGHTS, LEVELS, Rights, Use
from app.people.tables import Person
from app.stations.store import pair

NOW = datetime(2026, 11, 3, 14, 0, tzinfo=UTC)
IDLE = timedelta(minutes=10)
PIN, WRONG = "274931", "905173"
Add = Callable[..., str]


@pytest.fixture(autouse=True)
def _quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is looked at here is who gets in, not how long a hash takes."""
    monkeypatch.setattr(pins, "TIME_COST", 1)
    monkeypatch.setattr(pins, "MEMORY_KIB", 8)
    pins._hasher.cache_clear()
    pins._nobody.cache_clear()


@pytest.fixture
def desk(engine: Engine) -> str:
    """The id of a paired desk."""
    return pair(engine, kind="desk", label="Desk", now=NOW).partition(".")[0]


@pytest.fixture
def add(engine: Engine) -> Add:
    """Adds somebody with rights and a PIN."""

    def make(person: str = "P1", rights: Rights = ALL_RIGHTS, *, first: bool = False, pin: str = PIN) -> str:
        people.add(engine, Person(id=person, name=f"Name {person}", initials="N", job="nurse"))
        store.set_rights(engine, person, rights, now=NOW, how="test")
        store.set_pin(engine, person, pins.hashed(pin), first=first, now=NOW, how="test")
        return person

    return make


def after(seconds: float) -> datetime:
    return NOW + timedelta(seconds=seconds)


# kinds of use


def test_work_on_cases_is_a_ladder_and_the_other_two_rights_stand_beside_it() -> None:
    assert [Rights(level).uses for level in LEVELS] == [
        {Use.VIEW},
        {Use.VIEW, Use.DOCUMENT},
        {Use.VIEW, Use.DOCUMENT, Use.LEAD},
    ]
    assert Rights(editor=True).uses == {Use.VIEW, Use.EDITOR}
    assert Rights(admin=True).uses == {Use.VIEW, Use.ADMIN}
    assert Rights().uses == frozenset()


# PINs


@pytest.mark.parametrize(
    "pin",
    ["12345", "1234567890123", "12345a", "１２３４５６", "", "111111", "121212", "123123", "112233", "123456", "234567",
     "987654", "012345", "912345", "147258", "852741", "11223344"],
)  # fmt: skip
def test_a_short_or_an_obvious_pin_is_refused(pin: str) -> None:
    with pytest.raises(NotValid):
        pins.check(pin)


@pytest.mark.parametrize("pin", ["274931", "27 49 31", "350917", "60427189", "190384756201"])
def test_another_pin_is_taken(pin: str) -> None:
    assert pins.check(pin) == pin.replace(" ", "")


def test_first_pins_are_good_and_never_the_same() -> None:
    made = {pins.first_pin() for _ in range(50)}
    assert len(made) == 50
    assert all(pins.check(pin) == pin for pin in made)


def test_a_pin_is_kept_as_an_argon2_hash_only(engine: Engine, add: Add) -> None:
    add()
    with engine.connect() as connection:
        kept = connection.execute(text("SELECT * FROM person_right")).mappings().one()
    assert kept["pin_hash"].startswith("$argon2id$")
    assert PIN not in str(dict(kept))


# signing in


def test_a_right_pin_signs_in_and_the_session_says_who_and_what(engine: Engine, desk: str, add: Add) -> None:
    add(rights=Rights(Use.DOCUMENT))
    secret = door.sign_in(engine, "P1", PIN, desk, NOW)
    found = store.signed_in(engine, secret, desk, NOW, IDLE)
    assert found is not None
    assert (found.id, found.name) == ("P1", "Name P1")
    assert found.may(Use.DOCUMENT)
    assert not found.may(Use.LEAD)


def _kept(engine: Engine) -> str:
    with engine.connect() as connection:
        return str(connection.execute(text("SELECT pin_hash FROM person_right")).scalar_one())


def test_a_pin_fits_only_together_with_the_servers_own_secret(engine: Engine, desk: str, add: Add) -> None:
    add()
    store.set_pin(engine, "P1", pins.hashed(PIN, b"of the server"), first=False, now=NOW, how="test")
    assert door.sign_in(engine, "P1", PIN, desk, NOW, b"of the server")
    for other in (b"of another server", b""):
        with pytest.raises(NotSignedIn):
            door.sign_in(engine, "P1", PIN, desk, after(60), other)
    assert not pins.fits(PIN, _kept(engine).partition(" ")[2]), "what was hashed is not the bare PIN"


def test_a_hash_of_before_the_secret_still_counts_and_is_made_anew_at_the_next_sign_in(
    engine: Engine, desk: str, add: Add
) -> None:
    add()
    before = _kept(engine)
    door.sign_in(engine, "P1", PIN, desk, NOW, b"of the server")
    renewed = _kept(engine)
    assert (pins.fits(PIN, before), pins.fits(PIN, renewed)) == (True, False)
    assert pins.fits(PIN, renewed, b"of the server")
    door.sign_in(engine, "P1", PIN, desk, after(60), b"of the server")
    assert _kept(engine) == renewed, "made anew once, not at every sign-in"
    store.renew_hash(engine, "P1", before, pins.hashed("60427189"))
    assert _kept(engine) == renewed, "a PIN that was changed meanwhile stays"


def test_the_secret_of_a_session_is_not_in_the_database(engine: Engine, desk: str, add: Add) -> None:
    secret = door.sign_in(engine, add(), PIN, desk, NOW)
    with engine.connect() as connection:
        assert secret not in str(connection.execute(text("SELECT * FROM desk_session")).all())


@pytest.mark.parametrize("person", ["P1", "P2", "nobody", "", "x" * 3000])
def test_a_wrong_pin_a_missing_pin_and_an_unknown_person_are_told_the_same(
    engine: Engine, desk: str, add: Add, person: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    add()
    people.add(engine, Person(id="P2", name="No PIN", initials="N", job="nurse"))
    looked = []
    real = pins.fits
    monkeypatch.setattr(pins, "fits", lambda pin, *told: looked.append(pin) or real(pin, *told))
    with pytest.raises(NotSignedIn, match=r"^That PIN is not right\."):
        door.sign_in(engine, person, WRONG, desk, NOW)
    assert len(looked) == 1, "a PIN is hashed whoever is named, so that the time says nothing"


def test_somebody_without_a_right_or_who_has_left_is_not_let_in(engine: Engine, desk: str, add: Add) -> None:
    with pytest.raises(NotPermitted, match="may not sign in"):
        door.sign_in(engine, add("P1", Rights()), PIN, desk, NOW)
    secret = door.sign_in(engine, add("P2"), PIN, desk, NOW)
    people.add(engine, Person(id="P2", name="Left", initials="L", job="nurse", active=False))
    assert store.signed_in(engine, secret, desk, NOW, IDLE) is None
    with pytest.raises(NotSignedIn):
        door.sign_in(engine, "P2", PIN, desk, NOW)


# guessing


def guess(engine: Engine, person: str, desk: str, at: datetime, pin: str = WRONG) -> DoorsideError | None:
    try:
        door.sign_in(engine, person, pin, desk, at)
    except DoorsideError as error:
        return error
    return None


def test_a_person_is_locked_after_five_wrong_pins_and_the_wait_is_told_and_grows(
    engine: Engine, desk: str, add: Add
) -> None:
    add()
    for _ in range(PERSON.free):
        assert isinstance(guess(engine, "P1", desk, NOW), NotSignedIn)
    locked = guess(engine, "P1", desk, NOW, PIN)
    assert isinstance(locked, TooOften), "even the right PIN waits"
    assert "for this person" in str(locked)
    assert "30 s" in str(locked)
    assert isinstance(guess(engine, "P1", desk, after(30)), NotSignedIn)
    again = guess(engine, "P1", desk, after(31), PIN)
    assert "59 s" in str(again)
    assert guess(engine, "P1", desk, after(90), PIN) is None


def test_a_person_locked_at_one_desk_is_locked_at_every_other(engine: Engine, desk: str, add: Add) -> None:
    add()
    for _ in range(PERSON.free):
        guess(engine, "P1", desk, NOW)
    other = pair(engine, kind="desk", label="Other", now=NOW).partition(".")[0]
    assert isinstance(guess(engine, "P1", other, NOW, PIN), TooOften)


def test_a_desk_that_tries_many_names_is_locked_and_others_are_not(engine: Engine, desk: str, add: Add) -> None:
    add()
    for n in range(STATION.free):
        assert isinstance(guess(engine, f"nobody {n}", desk, NOW), NotSignedIn)
    locked = guess(engine, "P1", desk, NOW, PIN)
    assert isinstance(locked, TooOften)
    assert "at this desk" in str(locked)
    other = pair(engine, kind="desk", label="Other", now=NOW).partition(".")[0]
    assert guess(engine, "P1", other, NOW, PIN) is None


def test_guesses_sent_at_the_same_moment_do_not_slip_past_the_lock(engine: Engine, desk: str, add: Add) -> None:
    add()
    with ThreadPoolExecutor(12) as pool:
        told = list(pool.map(lambda _: guess(engine, "P1", desk, NOW), range(24)))
    assert sum(isinstance(one, NotSignedIn) for one in told) == PERSON.free
    assert sum(isinstance(one, TooOften) for one in told) == 24 - PERSON.free


def test_a_right_pin_ends_a_persons_count_and_a_desk_forgets_in_time(engine: Engine, desk: str, add: Add) -> None:
    add()
    for n in range(60):  # a busy desk on which every second try is mistyped
        at = after(600 * n)
        assert isinstance(guess(engine, "P1", desk, at), NotSignedIn)
        assert guess(engine, "P1", desk, at, PIN) is None


def test_a_whole_day_of_guessing_tries_about_a_hundred_pins() -> None:
    held, at, tries = Failures(), NOW, 0
    while at < NOW + timedelta(days=1):
        held = locks.counted(held, PERSON, at)
        tries += 1
        at = max(at, held.locked_until or at)
    assert 90 < tries < 120


# first PINs


def test_a_first_pin_opens_nothing_but_the_choice_of_an_own_one(engine: Engine, desk: str, add: Add) -> None:
    add(first=True)
    with pytest.raises(PinMustChange):
        door.sign_in(engine, "P1", PIN, desk, NOW)
    with pytest.raises(NotValid, match="PIN of before"):
        door.change_pin(engine, "P1", PIN, PIN, PIN, desk, NOW)
    with pytest.raises(NotValid, match="differ"):
        door.change_pin(engine, "P1", PIN, "350917", "350918", desk, NOW)
    with pytest.raises(NotSignedIn):
        door.change_pin(engine, "P1", WRONG, "350917", "350917", desk, NOW)
    secret = door.change_pin(engine, "P1", PIN, "350917", "350917", desk, NOW)
    assert store.signed_in(engine, secret, desk, NOW, IDLE) is not None
    assert guess(engine, "P1", desk, NOW, PIN) is not None
    assert guess(engine, "P1", desk, NOW, "350917") is None


def test_a_new_first_pin_unlocks_and_ends_their_sessions(engine: Engine, desk: str, add: Add) -> None:
    secret = door.sign_in(engine, add(), PIN, desk, NOW)
    for _ in range(PERSON.free):
        guess(engine, "P1", desk, NOW)
    store.set_pin(engine, "P1", pins.hashed("60427189"), first=True, now=after(1), how="test")
    assert store.signed_in(engine, secret, desk, after(1), IDLE) is None
    with pytest.raises(PinMustChange):
        door.sign_in(engine, "P1", "60427189", desk, after(1))


# sessions


def test_a_session_ends_when_nobody_gave_a_sign_of_life_for_the_idle_time(engine: Engine, desk: str, add: Add) -> None:
    secret = door.sign_in(engine, add(), PIN, desk, NOW)
    assert store.signed_in(engine, secret, desk, after(599), IDLE) is not None
    assert store.signed_in(engine, secret, desk, after(600), IDLE) is None
    store.used(engine, store.hash_of(secret), after(500))
    assert store.signed_in(engine, secret, desk, after(1099), IDLE) is not None
    assert store.signed_in(engine, secret, desk, after(1100), IDLE) is None


def test_a_session_holds_at_its_own_desk_only(engine: Engine, desk: str, add: Add) -> None:
    other = pair(engine, kind="desk", label="Other", now=NOW).partition(".")[0]
    secret = door.sign_in(engine, add(), PIN, desk, NOW)
    assert store.signed_in(engine, secret, other, NOW, IDLE) is None


def test_signing_out_ends_it_and_so_does_the_next_person(engine: Engine, desk: str, add: Add) -> None:
    first = door.sign_in(engine, add("P1"), PIN, desk, NOW)
    second = door.sign_in(engine, add("P2"), PIN, desk, after(5))
    assert store.signed_in(engine, first, desk, after(6), IDLE) is None
    store.end(engine, store.hash_of(second), after(7))
    assert store.signed_in(engine, second, desk, after(8), IDLE) is None
    assert store.last_here(engine, desk) == ["P2", "P1"]


def test_a_change_of_rights_ends_sessions_at_once(engine: Engine, desk: str, add: Add) -> None:
    secret = door.sign_in(engine, add(rights=Rights(Use.LEAD)), PIN, desk, NOW)
    store.set_rights(engine, "P1", Rights(Use.VIEW), now=after(1), how="test")
    assert store.signed_in(engine, secret, desk, after(2), IDLE) is None


def test_who_was_there_is_known_for_taps_that_come_late(engine: Engine, desk: str, add: Add) -> None:
    slack = timedelta(seconds=2)
    door.sign_in(engine, add("P1", Rights(Use.DOCUMENT)), PIN, desk, NOW)
    assert store.was_there(engine, "P1", desk, after(-60), slack) is None
    idle_but_alone = store.was_there(engine, "P1", desk, after(3600), slack)
    assert idle_but_alone is not None
    assert Use.DOCUMENT in idle_but_alone.uses
    door.sign_in(engine, add("P2"), PIN, desk, after(4000))
    assert store.was_there(engine, "P1", desk, after(3600), slack) is not None
    assert store.was_there(engine, "P1", desk, after(4100), slack) is None
    assert store.was_there(engine, "P2", desk, after(3600), slack) is None


# rights


def test_the_last_administrator_stays_one(engine: Engine, add: Add) -> None:
    assert not store.has_administrator(engine)
    add("P1", Rights(admin=True))
    assert store.has_administrator(engine)
    with pytest.raises(Conflict, match="left to administer"):
        store.set_rights(engine, "P1", Rights(Use.LEAD), now=NOW, by="P1")
    add("P2", Rights(admin=True))
    store.set_rights(engine, "P1", Rights(Use.LEAD), now=NOW, by="P2")


def test_nobody_outside_the_register_gets_a_right(engine: Engine) -> None:
    with pytest.raises(Unknown):
        store.set_rights(engine, "nobody", ALL_RIGHTS, now=NOW)


def test_the_history_says_who_changed_what_and_holds_no_pin(engine: Engine, add: Add) -> None:
    add("P1")
    add("P2", Rights(Use.VIEW))
    store.set_rights(engine, "P2", Rights(Use.LEAD, editor=True), now=after(1), by="P1")
    newest = store.history(engine)[0]
    assert (newest.name, newest.what, newest.by) == ("Name P2", "rights", "Name P1")
    assert newest.before["level"] == "view"
    assert newest.after == {"level": "lead", "editor": True, "admin": False}
    assert [one.by for one in store.history(engine)[1:]] == ["test"] * 4
    with engine.connect() as connection:
        assert "argon2" not in str(connection.execute(text("SELECT * FROM right_change")).all())
