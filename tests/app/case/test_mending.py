"""What a correction may not do, and what it can bring back: beside `test_corrections.py`."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.case.happening import Mark
from app.journal.entry import Entry
from tests.app.case.telling import history_of, moment, state_of, told

READ = "00:10 vitals spo2=88; hr=104; id=read"
FIXED = (READ, "01:00 tap.fix ref=read; set_spo2=98; id=f", "01:10 tap.void ref=f; id=v")


@pytest.mark.parametrize("ref", ["f", "v"])
def test_fixes_and_voids_are_mended_by_voiding_them_a_fix_of_one_is_left_out_and_marked(ref: str) -> None:
    before = history_of(told(*FIXED))
    after = history_of(told(*FIXED, f"01:20 tap.fix ref={ref}; set_ref=read; set_why=slip; at=00:01"))
    assert after[ref].marks == {Mark.BAD_FIX}
    assert (after[ref].at, after[ref].body, after[ref].stands) == (before[ref].at, before[ref].body, before[ref].stands)
    assert after["read"] == before["read"]


def test_a_fix_can_make_readable_what_was_not() -> None:
    broken = _with_body(told("00:10 seal.check p=P1; result=pass; id=seal")[0], {"p": "P1", "result": "perhaps"})
    assert history_of([broken])["seal"].marks == {Mark.UNREADABLE}
    fix = told("01:00 tap.fix ref=seal; set_result=pass; id=f")[0]
    assert history_of([broken, fix])["seal"].marks == {Mark.FIXED_VALUE}


def test_a_figure_out_of_range_is_left_out_while_the_time_that_came_with_it_counts() -> None:
    history = history_of(told(READ, "01:00 tap.fix ref=read; at=00:05; set_spo2=180"))
    assert (history["read"].at, history["read"].marks) == (moment("00:05"), {Mark.FIXED_TIME, Mark.BAD_FIX})
    assert getattr(history["read"].body, "spo2", None) == 88


def test_a_person_picked_by_mistake_leaves_no_trace_in_the_state() -> None:
    state = state_of("01:00 room.in p=P6; id=in", "02:00 tap.fix ref=in; set_p=P4; why=wrong person picked")
    assert state.inside == ("P4",)
    assert "P6" not in state.people


def test_a_closing_that_this_version_cannot_read_closes_nothing_and_marks_nothing_after_it() -> None:
    closing = _with_body(told("05:00 case.close id=close")[0], {"because": "later version"})
    (tap,) = told("06:00 room.in p=P1; id=in")
    history = history_of([closing, tap])
    assert history["close"].marks == {Mark.UNREADABLE}
    assert history["in"].marks == frozenset()


def _with_body(entry: Entry, body: dict[str, str]) -> Entry:
    return replace(entry, tap=replace(entry.tap, body=body))
