"""A record that grows entry by entry is the record folded from nothing; the common tap costs one step."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from app.case import fold as module
from app.case.fold import Record
from app.journal.entry import Entry
from tests.app.case.telling import CASE, told

OPENED = "00:00 case.open ref=A; id=open"
TAP = "00:30 vitals spo2=97; id=tap"


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """How many happenings are applied while a record takes in the last of some lines."""

    def count(*lines: str) -> int:
        entries = told(*lines)
        record = Record(CASE)
        for entry in entries[:-1]:
            record = record.with_entries([entry])
        applied = []
        real = module.apply

        def apply(state: Any, happening: Any) -> Any:
            applied.append(happening)
            return real(state, happening)

        with monkeypatch.context() as patch:
            patch.setattr(module, "apply", apply)
            grown = record.with_entries(entries[-1:])
        assert grown == Record.of(CASE, entries)
        return len(applied)

    return count


def test_a_tap_after_all_others_costs_one_step(steps: Callable[..., int]) -> None:
    assert steps(OPENED, TAP, "00:40 cuff.up id=x") == 1


@pytest.mark.parametrize(
    ("why", "count", "lines"),
    [
        ("it happened before another", 2, (OPENED, TAP, "00:20 cuff.up id=x")),
        ("it happened before the case was opened", 2, (OPENED, "-00:20 cuff.up id=x")),
        ("it corrects another", 2, (OPENED, TAP, "00:40 tap.fix ref=tap; set_spo2=90")),
        ("it takes another out", 2, (OPENED, TAP, "00:40 tap.void ref=tap")),
        ("a fix has waited for it", 1, (OPENED, "00:20 tap.fix ref=tap; set_spo2=90", TAP)),
        ("a void has waited for it", 1, (OPENED, "00:20 tap.void ref=tap", TAP)),
        ("it has no clock", 1, (OPENED, TAP, "00:40 cuff.up offset=none")),
        ("it dates another", 2, (OPENED, "00:20 cuff.up offset=none; recv=00:25; station=x", TAP + "; station=x")),
        ("it opens the case", 3, ("00:20 cuff.up", TAP, "00:40 case.open ref=A")),
        ("it closes the case", 1, (OPENED, TAP, "00:40 case.close ref=A")),
        ("the case is closed", 1, (OPENED, "00:20 case.close ref=A", TAP)),
        ("the record is signed", 1, (OPENED, "00:20 case.sign statement=seen", TAP)),
    ],
)
def test_a_tap_that_changes_more_than_the_end_is_applied_with_all_from_where_the_record_differs(
    why: str, count: int, lines: tuple[str, ...], steps: Callable[..., int]
) -> None:
    assert steps(*lines) == count, why


def test_a_record_at_rest_grows_to_the_same_as_one_that_kept_all_its_states() -> None:
    entries = told(
        OPENED, TAP, "00:20 cuff.up", "00:40 tap.void ref=tap", "00:50 case.close ref=A", "00:55 note text=late"
    )  # fmt: skip
    for rested in range(1, len(entries)):
        record = Record.of(CASE, entries[:rested]).at_rest()
        assert (record.states, record.now) == ((), Record.of(CASE, entries[:rested]).now)
        assert record.with_entries(entries[rested:]) == Record.of(CASE, entries)


def test_an_empty_record_has_an_empty_state() -> None:
    record = Record(CASE)
    assert record.now == Record.of(CASE, []).now
    assert record.with_entries([]).now.by_kind == {}


def test_a_record_is_never_changed_in_place() -> None:
    entries = told(OPENED, TAP)
    first = Record.of(CASE, entries[:1])
    second = first.with_entries(entries[1:])
    assert (len(first.entries), len(second.entries)) == (1, 2)
    assert first.now.all("vitals") == ()
    assert first == Record.of(CASE, entries[:1])


def test_entries_are_kept_in_order_of_arrival() -> None:
    entries: list[Entry] = told(OPENED, TAP, "00:20 cuff.up id=x")
    record = Record(CASE)
    for entry in entries:
        record = record.with_entries([entry])
    assert [entry.tap.id for entry in record.entries] == ["open", "tap", "x"]
    assert [one.id for one in record.history] == ["open", "x", "tap"]
