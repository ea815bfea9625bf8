"""A register that another server process changed on the same PostgreSQL, without a word to this one but the database's."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator

import pytest
from sqlalchemy import Engine

from app.base.database import open_engine
from app.base.register.spec import Names, Row
from app.base.register.store import changing, history, reading, taking_back
from app.base.time import utc_now
from app.journal.keys import ServerKey, register
from app.live.live import Live
from app.people.registers import PEOPLE
from app.protocol import in_use, store
from app.protocol.library import protocol_by_id
from tests.app.live.room import UTC_ZONE, Room
from tests.app.protocol.test_store import newer
from tests.app.web.house import until

pytestmark = [pytest.mark.postgres, pytest.mark.anyio]
ADA: Row = {"name": "Ada Moor", "initials": "AM", "job": "consultant", "resp": "none"}


@pytest.fixture
def elsewhere(postgres_url: str) -> Iterator[Engine]:
    """The database as the other process has it."""
    engine = open_engine(postgres_url)
    yield engine
    engine.dispose()
    in_use.take_over((), ())


@pytest.fixture
async def here(anyio_backend: str, postgres_url: str) -> AsyncIterator[Room]:
    """This process, with a case of a bronchoscopy open."""
    engine, key = open_engine(postgres_url), ServerKey.generate()
    register(engine, key)
    live = Live(engine, key, UTC_ZONE)
    await live.start()
    made = Room(live, key)
    made.case = await made.new_case("C1")
    await made.send(made.made("case.open", {"procedure": "bronchoscopy", "precaution": "airborne", "age": "adult"}))
    yield made
    await live.stop()


async def test_entries_here_take_their_facts_from_what_was_entered_changed_and_taken_back_there(
    here: Room, elsewhere: Engine
) -> None:
    people = here.live.registers
    told = {"who": "P9", "now": utc_now()}
    ada = await asyncio.to_thread(changing.save, PEOPLE, elsewhere, None, ADA, refs=Names(), **told)  # type: ignore[arg-type]
    await until(lambda: ada in people.people, "the person who was entered elsewhere")
    change: Row = {"no_entry": True}
    await asyncio.to_thread(changing.save, PEOPLE, elsewhere, ada, change, refs=Names(), **told)  # type: ignore[arg-type]
    tap = here.made("don.start", {"p": ada, "ens": "airborne"})
    await until(lambda: "no_entry" in people.facts(tap)["people"][ada], "the change of that person")
    last = history.of_row(PEOPLE, elsewhere, ada)[0]
    await asyncio.to_thread(taking_back.undo, PEOPLE, elsewhere, last.id, who="P9", now=utc_now())
    await until(lambda: "no_entry" not in people.facts(tap)["people"][ada], "its being taken back")
    assert reading.get(PEOPLE, elsewhere, ada)["name"] == people.people[ada]["name"] == "Ada Moor"


async def test_a_protocol_that_was_approved_there_is_in_use_here_and_open_cases_are_drawn_anew(
    here: Room, elsewhere: Engine
) -> None:
    version = protocol_by_id("bronchoscopy").version + 1
    now = utc_now()
    made, mistakes = await asyncio.to_thread(store.take_in, elsewhere, newer(version), "own.yaml", who="P1", now=now)
    assert (made is not None, mistakes) == (True, ())
    before = here.live.cases.peek(here.case)
    assert before is not None
    revision = before.revision
    await asyncio.to_thread(store.approve, elsewhere, str(made), who="P2", now=now)
    await until(lambda: in_use.chosen("bronchoscopy", "adult").version == version, "the version approved elsewhere")
    await until(lambda: before.revision > revision, "a new revision of the case that is open")
