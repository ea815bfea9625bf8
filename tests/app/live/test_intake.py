"""Lists on their way to the writer: what comes in one turn goes over together, is one arrival, and answers each alone."""

from __future__ import annotations

import asyncio
import threading
from typing import Any

import pytest

from app.base.errors import Busy
from app.base.ids import new_id
from app.case.rules.judge import status
from app.journal.writer import BATCH_MAX
from app.live.intake import Intake
from tests.app.live.room import Room

pytestmark = pytest.mark.anyio


@pytest.fixture
def handed_over(room: Room, monkeypatch: pytest.MonkeyPatch) -> list[list[Any]]:
    """What the writer was given, piece by piece."""
    pieces: list[list[Any]] = []
    real = room.live.writer.submit

    def submit(prepared: Any) -> Any:
        pieces.append(list(prepared))
        return real(prepared)

    monkeypatch.setattr(room.live.writer, "submit", submit)
    return pieces


async def test_lists_of_one_turn_go_over_together_and_have_one_moment_of_arrival(
    room: Room, handed_over: list[list[Any]]
) -> None:
    lists = [[room.made("vitals", {"spo2": 90 + n})] for n in range(5)]
    outcomes = await asyncio.gather(*(room.live.store(taps) for taps in lists))
    assert [[one.tap for one in piece] for piece in handed_over] == [[tap for taps in lists for tap in taps]]
    assert [[outcome.id for outcome in some] for some in outcomes] == [[tap.id for tap in taps] for taps in lists]
    assert len({outcome.entry.received_at for some in outcomes for outcome in some if outcome.entry}) == 1


async def test_what_comes_while_the_writer_is_at_work_goes_over_together_once_it_has_answered(
    room: Room, handed_over: list[list[Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    at_work, goes_on = threading.Event(), threading.Event()
    commit = room.live.writer.steps.commit

    def slowly(transaction: Any) -> None:
        at_work.set()
        goes_on.wait(60)
        commit(transaction)

    monkeypatch.setattr(room.live.writer.steps, "commit", slowly)
    first = asyncio.create_task(room.live.store([room.made("vitals", {"spo2": 90})]))
    await asyncio.to_thread(at_work.wait, 60)
    later = []
    for n in range(3):  # each in a turn of its own
        later.append(asyncio.create_task(room.live.store([room.made("vitals", {"spo2": 91 + n})])))
        await asyncio.sleep(0)
    assert [len(piece) for piece in handed_over] == [1]
    goes_on.set()
    outcomes = [outcome for some in await asyncio.gather(first, *later) for outcome in some]
    assert [len(piece) for piece in handed_over] == [1, 3]
    assert [outcome.status for outcome in outcomes] == ["stored"] * 4
    arrivals = [outcome.entry.received_at for outcome in outcomes if outcome.entry]
    assert arrivals[0] < arrivals[1] == arrivals[2] == arrivals[3]


async def test_more_than_may_wait_is_refused_at_once_and_may_be_sent_again(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.live.intake.WAITING_MAX", 2)
    lists = [[room.made("vitals", {"spo2": 90 + n})] for n in range(3)]
    answers = await asyncio.gather(*(room.live.store(taps) for taps in lists), return_exceptions=True)
    assert [type(answer) for answer in answers] == [list, list, Busy]
    (outcome,) = await room.live.store(lists[2])
    assert outcome.status == "stored"


async def test_a_list_of_a_later_turn_arrived_later(room: Room) -> None:
    (first,) = await room.send(room.made("vitals", {"spo2": 97}))
    (second,) = await room.send(room.made("vitals", {"spo2": 96}))
    assert first.entry is not None
    assert second.entry is not None
    assert first.entry.received_at < second.entry.received_at


async def test_a_piece_holds_no_more_than_one_transaction_and_splits_no_list(
    room: Room, handed_over: list[list[Any]]
) -> None:
    sizes = (BATCH_MAX - 10, 20, BATCH_MAX + 1, 1)
    lists = [[room.made("vitals", {"spo2": 97}) for _ in range(size)] for size in sizes]
    outcomes = await asyncio.gather(*(room.live.store(taps) for taps in lists))
    assert [len(piece) for piece in handed_over] == [BATCH_MAX - 10, 20, BATCH_MAX + 1, 1]
    assert [len(some) for some in outcomes] == list(sizes)


async def test_a_bad_list_takes_no_other_of_its_turn_with_it(room: Room) -> None:
    good, unknown = room.made("vitals", {"spo2": 97}), room.made("vitals", {"spo2": 97}, case=new_id())
    (stored,), (refused,) = await asyncio.gather(room.live.store([good]), room.live.store([unknown]))
    assert (stored.status, refused.status) == ("stored", "refused")


async def test_everybody_hears_that_the_writer_takes_no_more(room: Room) -> None:
    room.live.writer.stop()
    answers = await asyncio.gather(
        *(room.live.store([room.made("vitals", {"spo2": 97})]) for _ in range(3)), return_exceptions=True
    )
    assert [type(answer) for answer in answers] == [Busy] * 3


async def test_who_hangs_up_has_sent_it_all_the_same_and_holds_up_nobody(room: Room) -> None:
    gone = asyncio.create_task(room.live.store([room.made("vitals", {"spo2": 91})]))
    await asyncio.sleep(0)
    stays = asyncio.create_task(room.live.store([room.made("vitals", {"spo2": 92})]))
    await asyncio.sleep(0)
    gone.cancel()
    (outcome,) = await stays
    assert outcome.entry is not None
    assert outcome.entry.seq == 2


async def test_facts_are_asked_when_a_list_comes_in(room: Room) -> None:
    asked: list[str] = []

    def facts(tap: Any) -> dict[str, Any]:
        asked.append(tap.id)
        return {}

    intake, tap = Intake(room.live.writer, facts), room.made("vitals", {"spo2": 97})
    waiting = asyncio.create_task(intake.store([tap]))
    await asyncio.sleep(0)
    assert asked == [tap.id]
    await waiting


async def test_a_day_lived_in_turns_is_the_day_replayed_from_the_journal(room: Room) -> None:
    """Two lists of a turn are judged as one batch, live and whenever the journal is read again."""
    await room.tap("case.open", {"ref": "C1", "procedure": "intubation"})
    await room.tap("drug.given", {"class": "induction"})
    answers = [room.made("req.new", {"q": "q1", "item": "pump", "urg": "now"}), room.made("req.ack", {"q": "q1"})]
    for turn in ([answers[0]], [answers[1]]):
        await asyncio.gather(*(room.live.store([tap]) for tap in (*turn, room.made("vitals", {"spo2": 80}))))
    await room.tap("vitals", {"spo2": 99})
    record = room.live.cases.peek(room.case)
    assert record is not None
    entries = record.record.entries
    lived, replayed = room.live.notices(room.case), status({room.case: entries}, entries[-1].received)
    assert [life.notice for life in lived] == [life.notice for life in replayed if life.raised <= entries[-1].received]
    assert lived
