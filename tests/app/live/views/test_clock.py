"""The one clock that matters, the last saturation with its age, the attempt."""

from app.live.views.clock import ClockView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, html, now, words

INDUCED = (OPEN, CREW, *GOES_IN, ("drug.given", {"class": "induction"}))


def test_no_clock_runs_before_there_is_something_to_count() -> None:
    assert "No clock is running" in words("clock", now(OPEN))


def test_the_clock_counts_from_induction_and_then_from_the_attempt() -> None:
    view = ClockView.of([now(*INDUCED)])
    assert (view.label, view.since) == ("Since induction", after(40))
    view = ClockView.of([now(*INDUCED, ("scope.start", {"n": 1}))])
    assert (view.label, view.since, view.attempt, view.attempt_open) == ("This attempt", after(50), 1, True)
    assert 'data-since="2026-11-03T14:00:50.000000Z"' in html("clock", now(*INDUCED, ("scope.start", {"n": 1})))


def test_an_attempt_that_ended_is_over() -> None:
    case = now(*INDUCED, ("scope.start", {"n": 1}), ("scope.end", {"n": 1, "result": "no view"}))
    assert not ClockView.of([case]).attempt_open
    assert "over" in words("clock", case)


def test_a_saturation_that_was_never_read_is_no_number() -> None:
    view = ClockView.of([now(OPEN, ("vitals", {"hr": 90}))])
    assert (view.spo2, view.spo2_at) == (None, None)
    assert "not recorded" in words("clock", now(OPEN))


def test_the_last_saturation_stands_with_its_unit_and_its_age() -> None:
    case = now(OPEN, ("vitals", {"spo2": 97}), ("vitals", {"spo2": 91.5}), ("vitals", {"hr": 90}))
    view = ClockView.of([case])
    assert (view.spo2, view.spo2_at) == (91.5, after(20))
    assert "91.5 % 14:00:20 ago" in words("clock", case)


def test_a_closed_case_has_no_running_clock() -> None:
    assert ClockView.of([now(*INDUCED, ("case.close", {}))]).since is None
