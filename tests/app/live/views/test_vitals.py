"""Figures by steppers that start from the last value."""

from app.live.views.vitals import VitalsView
from tests.app.live.views.scene import OPEN, after, html, now


def test_a_stepper_starts_at_the_last_value_read() -> None:
    case = now(OPEN, ("vitals", {"spo2": 91}))
    spo2 = VitalsView.of([case]).figures[0]
    assert (spo2.start, spo2.last, spo2.at) == (91, 91, after(10))
    assert 'id="stepper-spo2" data-value="91"' in html("vitals", case)


def test_where_a_stepper_stands_is_no_reading() -> None:
    spo2, sbp, hr = VitalsView.of([now(OPEN)]).figures
    assert (spo2.last, sbp.last, hr.last) == (None, None, None)
    assert [figure.unit for figure in (spo2, sbp, hr)] == ["%", "mmHg", "/min"]


def test_a_tap_carries_no_figure_that_nobody_set() -> None:
    assert html("vitals", now(OPEN)).count('data-body="{}"') == 3


def test_a_stepper_stays_within_what_is_possible() -> None:
    spo2 = VitalsView.of([now(OPEN)]).figures[0]
    assert (spo2.least, spo2.most) == (0, 100)
