"""Laws of the case core over random journals: any order, any split, one record; and nothing that is valid breaks it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.case.correction import happenings
from app.case.fold import Record, fold, marked
from app.case.happening import Mark
from app.case.intervals import intervals
from app.case.life import latest_vital, life, phase, running_clock
from app.case.lookahead import likely_next
from app.case.sentences import details, sentence
from app.case.state import State
from app.case.vocabulary.airway import Vitals
from app.case.vocabulary.registry import KINDS, read_body
from app.journal.entry import Entry
from tests.properties.entries import CASE, bodies, journals

FIGURES = [name for name in Vitals.model_fields if name != "note"]
ALLOWED_NULL = {"I13", "I17"}


def _told(value: Any) -> Any:
    """A value with the order of its mappings, which `==` does not look at and pages do."""
    if is_dataclass(value):
        return [(field.name, _told(getattr(value, field.name))) for field in fields(value)]
    if isinstance(value, Mapping):
        return [(key, _told(of)) for key, of in value.items()]
    if isinstance(value, tuple):
        return [_told(part) for part in value]
    return value


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=5, deadline=None)
@given(data=st.data())
def test_random_bodies_are_valid_for_their_kind(kind: str, data: st.DataObject) -> None:
    read_body(kind, data.draw(bodies(kind)))


@settings(max_examples=100, deadline=None)
@given(entries=journals(), chance=st.randoms(use_true_random=False))
def test_the_same_entries_fold_to_the_same_state_in_any_order_of_arrival(entries: list[Entry], chance: Any) -> None:
    mixed = list(entries)
    chance.shuffle(mixed)
    assert _told(fold(CASE, mixed)) == _told(fold(CASE, entries))
    assert marked(happenings(mixed)) == marked(happenings(entries))


@settings(max_examples=100, deadline=None)
@given(entries=journals(), chance=st.randoms(use_true_random=False))
def test_a_record_that_grew_in_any_steps_equals_one_folded_from_nothing(entries: list[Entry], chance: Any) -> None:
    if chance.random() < 0.5:
        chance.shuffle(entries)
    record, rest = Record(CASE), list(entries)
    while rest:
        size = chance.randint(0, 4)
        record, rest = record.with_entries(rest[:size]), rest[size:]
        whole = Record.of(CASE, record.entries)
        assert _told(record.now) == _told(whole.now)
        assert record.history == whole.history
    assert record.entries == tuple(entries)
    assert _told(record.now) == _told(fold(CASE, entries))


@settings(max_examples=100, deadline=None)
@given(entries=journals())
def test_no_valid_entries_break_a_reading_and_what_lacks_an_end_is_absent(entries: list[Entry]) -> None:
    state = fold(CASE, entries)
    assert life(state)
    assert phase(state) in ("plan", "ready", "protect", "airway", "settle", "leave", "after")
    running_clock(state)
    likely_next(state)
    for figure in FIGURES:
        latest_vital(state, figure)
    found = intervals(state)
    assert {code for code, value in found.items() if value is None} <= ALLOWED_NULL
    for happening in happenings(entries):
        said = sentence(happening)
        assert said.message % said.params
        assert said.people <= said.params.keys()
        details(happening)


@settings(max_examples=60, deadline=None)
@given(entries=journals())
def test_nothing_is_lost_every_entry_is_in_the_record_once_and_voided_ones_are_out_of_the_state(
    entries: list[Entry],
) -> None:
    history = happenings(entries)
    assert sorted(one.id for one in history) == sorted(entry.tap.id for entry in entries)
    assert [one.order for one in history] == sorted(one.order for one in history)
    counted = {one.id for of_kind in fold(CASE, entries).by_kind.values() for one in of_kind}
    assert counted == {one.id for one in history if one.stands and one.body is not None}


@settings(max_examples=60, deadline=None)
@given(entries=journals())
def test_what_nothing_said_stays_unknown(entries: list[Entry]) -> None:
    kept = [entry for entry in entries if entry.tap.kind not in ("case.open", "weight.set", "room.ready", "plan.set")]
    state = fold(CASE, [Entry(entry.tap, {}, entry.seq, entry.received_at, "", "") for entry in kept])
    assert state.setup == State(CASE).setup
    assert state.room == State(CASE).room
    assert intervals(state)["I17"] is None


@settings(max_examples=60, deadline=None)
@given(entries=journals())
def test_an_unreadable_entry_changes_nothing_but_the_record(entries: list[Entry]) -> None:
    unreadable = {one.id for one in happenings(entries) if one.body is None}
    readable = [entry for entry in entries if entry.tap.id not in unreadable or entry.tap.offset_ms is not None]
    without = [entry for entry in readable if entry.tap.id not in unreadable]
    assert _told(fold(CASE, readable)) == _told(fold(CASE, without)) or _dates_another(readable, unreadable)
    marks = {mark for one in marked(happenings(readable)) if one.id not in unreadable for mark in one.marks}
    assert Mark.UNREADABLE not in marks


def _dates_another(entries: list[Entry], unreadable: set[str]) -> bool:
    """Whether a tap without a clock is dated by what an unreadable one of its station knew."""
    knew = {entry.tap.station for entry in entries if entry.tap.id in unreadable}
    return any(entry.tap.offset_ms is None and entry.tap.station in knew for entry in entries)
