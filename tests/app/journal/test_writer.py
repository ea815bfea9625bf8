"""The writer: what is acknowledged is stored, once, in order, whatever else arrives with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from app.base.errors import Conflict, NotValid, Unknown
from app.base.ids import new_id
from app.journal import store as journal
from app.journal.entry import Tap
from app.journal.verify import verify
from app.journal.writer import BATCH_MAX, Outcome, Prepared, Writer

AT = "2026-11-03T14:10:01.000000Z"
PATIENCE_S = 60
NewTap = Callable[..., Tap]
Store = Callable[..., list[Outcome]]


def test_entries_are_numbered_from_one_without_gaps_in_order_of_arrival(
    engine: Engine, case: str, store: Store, new_tap: NewTap
) -> None:
    taps = [new_tap(case) for _ in range(5)]
    store(*taps[:2])
    store(*taps[2:])
    stored = journal.entries(engine, case)
    assert [(entry.seq, entry.tap) for entry in stored] == list(enumerate(taps, 1))
    assert [entry.prev for entry in stored] == ["0" * 64, *(entry.hash for entry in stored[:-1])]
    assert [entry.seq for entry in journal.entries(engine, case, after_seq=3)] == [4, 5]


def test_an_entry_comes_back_with_every_field_as_it_was_sent(
    engine: Engine, case: str, writer: Writer, new_tap: NewTap
) -> None:
    body = {"text": "naïve ☂ \N{PILE OF POO} \x00\x1f", "n": 1e21, "small": 5e-324, "list": [True, None, -0.5]}
    facts = {"room": {"ach": 12, "clear": 99.9}}
    tap = new_tap(case, kind="note", body=body, role="DM", person="P1", offset_ms=-1234.5678, error_ms=12)
    (outcome,) = writer.submit([Prepared(tap, facts, AT)]).result(PATIENCE_S)
    (read,) = journal.entries(engine, case)
    assert outcome.status == "stored"
    assert outcome.entry == read == journal.entry(engine, tap.id)
    assert (read.tap, read.facts, read.received_at) == (tap, facts, AT)


def test_a_tap_sent_twice_is_stored_once_and_gets_its_first_answer(
    engine: Engine, case: str, store: Store, new_tap: NewTap
) -> None:
    tap = new_tap(case)
    (first,) = store(tap)
    (again,) = store(tap, at="2026-11-03T15:00:00.000000Z")
    assert (first.status, again.status) == ("stored", "already")
    assert again.entry == first.entry
    assert len(journal.entries(engine, case)) == 1


def test_a_tap_twice_in_one_list_is_stored_once(engine: Engine, case: str, store: Store, new_tap: NewTap) -> None:
    tap = new_tap(case)
    outcomes = store(tap, new_tap(case), tap)
    assert [outcome.status for outcome in outcomes] == ["stored", "stored", "already"]
    assert [entry.seq for entry in journal.entries(engine, case)] == [1, 2]


def test_a_number_written_another_way_is_the_same_tap(case: str, store: Store, new_tap: NewTap) -> None:
    tap = new_tap(case, body={"spo2": 97}, offset_ms=5)
    store(tap)
    (again,) = store(replace(tap, body={"spo2": 97.0}, offset_ms=5.0))
    assert again.status == "already"


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "note"},
        {"body": {"spo2": 98}},
        {"body": {"spo2": True}},
        {"station": "other"},
        {"counter": 99},
        {"device_at": "2026-11-03T14:10:00.001Z"},
        {"role": "TL"},
        {"person": "P9"},
        {"offset_ms": 1.0},
        {"error_ms": 1.0},
    ],
)
def test_the_same_id_with_other_content_is_refused_and_the_first_stands(
    change: dict[str, Any], engine: Engine, case: str, store: Store, new_tap: NewTap
) -> None:
    tap = new_tap(case, body={"spo2": 1})
    store(tap)
    (outcome,) = store(replace(tap, **change))
    assert (outcome.status, type(outcome.error)) == ("refused", Conflict)
    assert [entry.tap for entry in journal.entries(engine, case)] == [tap]


def test_the_same_id_in_another_case_is_refused(
    engine: Engine, case: str, writer: Writer, store: Store, new_tap: NewTap
) -> None:
    other = new_id()
    writer.create_case(other).result(PATIENCE_S)
    tap = new_tap(case)
    store(tap)
    (outcome,) = store(replace(tap, case=other))
    assert isinstance(outcome.error, Conflict)
    assert "another case" in outcome.error.what
    assert journal.entries(engine, other) == []


def test_an_entry_of_a_case_that_was_never_made_is_refused_and_its_neighbours_are_stored(
    engine: Engine, case: str, store: Store, new_tap: NewTap
) -> None:
    outcomes = store(new_tap(case), new_tap(new_id()), new_tap(case))
    assert [outcome.status for outcome in outcomes] == ["stored", "refused", "stored"]
    assert isinstance(outcomes[1].error, Unknown)
    assert len(journal.entries(engine, case)) == 2


@pytest.mark.parametrize(
    "given",
    [
        {"body": {"text": "\ud800"}},
        {"body": {"\udfff": 1}},
        {"body": {"x": float("nan")}},
        {"body": {"x": 2**53}},
        {"body": {"x": object()}},
        {"body": 5},
        {"station": "a\0b"},
        {"device_at": "\ud800"},
        {"person": "\0"},
        {"id": "\0"},
        {"counter": 2**63},
        {"counter": True},
        {"counter": 1.0},
        {"counter": None},
        {"offset_ms": float("inf")},
        {"offset_ms": float("nan")},
        {"offset_ms": 10**400},
        {"error_ms": "5"},
        {"role": 5},
        {"kind": None},
    ],
)
def test_what_cannot_be_stored_exactly_is_refused_and_its_neighbours_are_stored(
    given: dict[str, Any], engine: Engine, case: str, store: Store, new_tap: NewTap
) -> None:
    outcomes = store(new_tap(case), new_tap(case, **given), new_tap(case))
    assert [outcome.status for outcome in outcomes] == ["stored", "refused", "stored"]
    assert isinstance(outcomes[1].error, NotValid)
    assert [entry.seq for entry in journal.entries(engine, case)] == [1, 2]
    assert verify(engine).clean


def test_a_body_nested_beyond_reason_is_refused(engine: Engine, case: str, store: Store, new_tap: NewTap) -> None:
    deep: list[Any] = []
    for _ in range(100_000):
        deep = [deep]
    outcomes = store(new_tap(case, body={"x": deep}), new_tap(case))
    assert [outcome.status for outcome in outcomes] == ["refused", "stored"]


def test_a_list_longer_than_a_batch_is_stored_whole(engine: Engine, case: str, store: Store, new_tap: NewTap) -> None:
    outcomes = store(*(new_tap(case) for _ in range(BATCH_MAX * 3 + 1)))
    assert {outcome.status for outcome in outcomes} == {"stored"}
    assert len(journal.entries(engine, case)) == BATCH_MAX * 3 + 1
    assert verify(engine).clean


def test_an_empty_list_has_no_outcomes(store: Store) -> None:
    assert store() == []


def test_a_case_is_made_once_and_keeps_its_first_name(engine: Engine, writer: Writer) -> None:
    case = new_id()
    assert not journal.case_exists(engine, case)
    assert writer.create_case(case, "Room 1").result(PATIENCE_S) == "stored"
    assert writer.create_case(case, "Room 2").result(PATIENCE_S) == "already"
    assert [(head.ref, head.seq, head.ended) for head in journal.heads(engine, [case])] == [("Room 1", 0, False)]
    assert journal.case_exists(engine, case)


def test_a_list_handed_over_right_after_its_case_finds_it(writer: Writer, new_tap: NewTap) -> None:
    futures = []
    for _ in range(20):
        case = new_id()
        writer.create_case(case)
        futures.append(writer.submit([Prepared(new_tap(case), {}, AT)]))
    assert {future.result(PATIENCE_S)[0].status for future in futures} == {"stored"}


@pytest.mark.parametrize(("case_id", "ref"), [("", None), ("a\0", None), ("a", "\ud800")])
def test_a_case_whose_id_or_name_cannot_be_stored_is_refused(case_id: str, ref: str | None, writer: Writer) -> None:
    with pytest.raises(NotValid):
        writer.create_case(case_id, ref).result(PATIENCE_S)


def test_a_case_counts_as_open_until_its_closing_is_stored_and_again_when_something_is_voided(
    engine: Engine, case: str, store: Store, new_tap: NewTap
) -> None:
    assert journal.open_cases(engine) == [case]
    store(new_tap(case, kind="case.close", body={}))
    store(new_tap(case))
    assert journal.open_cases(engine) == []
    store(new_tap(case, kind="tap.void", body={"ref": "x"}))
    assert journal.open_cases(engine) == [case]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_lists_with_any_repeats_store_every_tap_once_in_order(
    data: st.DataObject, engine: Engine, writer: Writer, new_tap: NewTap
) -> None:
    cases = [new_id() for _ in range(3)]
    for case in cases:
        writer.create_case(case).result(PATIENCE_S)
    taps = [new_tap(data.draw(st.sampled_from(cases))) for _ in range(data.draw(st.integers(1, 30)))]
    sent = [*data.draw(st.lists(st.lists(st.sampled_from(taps), max_size=12), max_size=8)), taps]
    futures = [writer.submit([Prepared(tap, {}, AT) for tap in one]) for one in sent]
    outcomes = [outcome for future in futures for outcome in future.result(PATIENCE_S)]
    flat = [tap for one in sent for tap in one]
    first_seen = {tap.id: place for place, tap in reversed(list(enumerate(flat)))}
    assert [outcome.status == "stored" for outcome in outcomes] == [
        first_seen[tap.id] == place for place, tap in enumerate(flat)
    ]
    for case in cases:
        expected = [tap.id for place, tap in enumerate(flat) if tap.case == case and first_seen[tap.id] == place]
        assert [entry.tap.id for entry in journal.entries(engine, case)] == expected
    assert verify(engine).clean
