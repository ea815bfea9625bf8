"""When things happened: a station's clock against the server's, and what comes first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.case.happening import Mark
from tests.app.case.telling import history_of, moment, state_of, told


def _order(*lines: str) -> list[str]:
    return list(history_of(told(*lines)))


def test_what_arrives_late_is_read_where_it_happened() -> None:
    assert _order("01:00 cuff.up id=b", "00:30 tube.passed id=a; recv=10:00") == ["a", "b"]


def test_a_clock_that_is_an_hour_ahead_is_corrected_by_its_offset() -> None:
    ahead = told("05:00 cuff.up id=x; clock=65:00; offset=-3600000; error=80; station=outside")
    assert history_of(ahead)["x"].at == moment("05:00")
    assert history_of(ahead)["x"].marks == frozenset()


def test_taps_of_one_moment_are_ordered_by_station_then_by_the_stations_own_count() -> None:
    assert _order(
        "01:00 cuff.up id=c; station=outside; counter=1",
        "01:00 cuff.up id=b; station=inside; counter=9",
        "01:00 cuff.up id=a; station=inside; counter=2",
    ) == ["a", "b", "c"]


def test_a_station_that_never_met_the_server_is_dated_by_arrival_and_marked() -> None:
    (h,) = history_of(told("01:00 cuff.up id=x; offset=none; recv=04:00")).values()
    assert (h.at, h.marks) == (moment("04:00"), {Mark.NO_CLOCK})


def test_a_clock_that_was_synchronised_later_dates_its_earlier_taps_back() -> None:
    history = history_of(
        told(
            "01:00 cuff.up id=x; offset=none; clock=31:00; recv=04:00",
            "04:00 cuff.check id=y; cuff=25; clock=34:00; offset=-1800000; recv=04:01",
        )
    )
    assert (history["x"].at, history["x"].marks) == (moment("01:00"), {Mark.REDATED})


def test_without_a_later_offset_the_stations_last_known_one_dates_a_tap() -> None:
    history = history_of(
        told(
            "01:00 cuff.up id=x; clock=31:00; offset=-1800000",
            "02:00 cuff.check id=y; cuff=25; clock=32:00; offset=none; recv=09:00",
        )
    )
    assert (history["y"].at, history["y"].marks) == (moment("02:00"), {Mark.REDATED})


def test_another_stations_offset_says_nothing_about_this_clock() -> None:
    history = history_of(
        told("01:00 cuff.up id=x; station=outside", "02:00 cuff.check id=y; cuff=25; offset=none; recv=09:00")
    )
    assert history["y"].marks == {Mark.NO_CLOCK}


@pytest.mark.parametrize(
    ("device", "error", "is_taken"),
    [("10:05", "0", True), ("10:05.001", "0", False), ("10:08", "3000", True), ("10:08.001", "3000", False)],
)
def test_a_time_ahead_of_the_server_by_more_than_its_error_and_five_seconds_becomes_arrival(
    device: str, error: str, is_taken: bool
) -> None:
    (h,) = history_of(told(f"10:00 cuff.up id=x; clock={device}; error={error}; recv=10:00")).values()
    assert h.at == (moment(device) if is_taken else moment("10:00"))
    assert h.marks == (frozenset() if is_taken else {Mark.AHEAD})


def test_offsets_and_errors_beyond_all_reason_give_the_time_of_arrival() -> None:
    (entry,) = told("10:00 cuff.up id=x; recv=10:01")
    for wild in ({"offset_ms": 1e300}, {"offset_ms": -1e300}, {"error_ms": 1e300}):
        (h,) = history_of([replace(entry, tap=replace(entry.tap, **wild))]).values()
        assert (h.at, h.marks) == (moment("10:01"), {Mark.AHEAD})


def test_an_entry_of_an_unknown_kind_is_kept_and_marked_and_changes_nothing() -> None:
    (entry,) = told("10:00 cuff.up id=x")
    strange = replace(entry, tap=replace(entry.tap, kind="tea.made", body={}))
    assert history_of([strange])["x"].marks == {Mark.UNREADABLE}
    assert history_of([strange])["x"].body is None


def test_what_comes_before_opening_after_closing_and_after_signing_is_kept_and_marked() -> None:
    lines = (
        "00:10 note text=early; id=early",
        "00:20 case.open id=open",
        "00:30 note text=in time; id=mid",
        "00:40 case.close id=close",
        "00:50 note text=late; id=late",
        "00:55 tap.void ref=mid; id=void",
        "01:00 case.sign id=sign",
        "01:10 note text=later; id=later",
    )
    marks = {name: h.marks for name, h in history_of(told(*lines)).items()}
    assert marks == {
        "early": {Mark.BEFORE_OPEN},
        "open": frozenset(),
        "mid": frozenset(),
        "close": frozenset(),
        "late": {Mark.AFTER_CLOSE},
        "void": frozenset(),  # corrections belong to a closed record
        "sign": frozenset(),
        "later": {Mark.AFTER_CLOSE, Mark.AFTER_SIGN},
    }
    assert [getattr(h.body, "text", None) for h in state_of(*lines).all("note")] == ["early", "late", "later"]
