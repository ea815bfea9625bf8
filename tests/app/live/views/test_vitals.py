"""Figures by steppers that start from the last value; which ones, by what is going on."""

from app.live.views.vitals import VitalsView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, html, now

PROVEN = (OPEN, CREW, *GOES_IN, ("tube.passed", {}), ("cuff.up", {"cuff": 26}), ("vent.first", {}), ("co2.yes", {}))


def names(*said: object) -> list[list[str]]:
    return [[one.stepper.name for one in group.figures] for group in VitalsView.of([now(*said)]).groups]  # type: ignore[arg-type]


def test_a_stepper_starts_at_the_last_value_read() -> None:
    case = now(OPEN, ("vitals", {"spo2": 91}))
    spo2 = VitalsView.of([case]).groups[0].figures[0]
    assert (spo2.stepper.start, spo2.last, spo2.at) == ("91", 91, after(10))
    assert 'id="stepper-spo2" data-name="spo2" data-value="91"' in html("vitals", case)


def test_where_a_stepper_stands_is_no_reading() -> None:
    figures = VitalsView.of([now(OPEN)]).groups[0].figures
    assert [one.last for one in figures] == [None, None, None]
    assert [one.stepper.unit for one in figures] == ["%", "mmHg", "/min"]


def test_a_tap_carries_no_figure_that_nobody_set() -> None:
    drawn = html("vitals", now(OPEN))
    assert drawn.count('data-body="{}"') == 1
    assert 'data-figures="1"' in drawn


def test_a_stepper_stays_within_what_is_possible_and_moves_by_small_and_large_steps() -> None:
    spo2 = VitalsView.of([now(OPEN)]).groups[0].figures[0].stepper
    assert (spo2.least, spo2.most) == (0, 100)
    assert [by for by, _ in spo2.moves] == ["-5", "-1", "1", "5"]


def test_exhaled_oxygen_is_asked_for_while_the_patient_breathes_it() -> None:
    assert names(OPEN, ("preox.start", {})) == [["spo2", "sbp", "hr", "eto2"]]
    assert names(OPEN, ("preox.start", {}), ("drug.given", {"class": "induction"})) == [["spo2", "sbp", "hr"]]


def test_exhaled_carbon_dioxide_and_the_cuff_are_asked_for_once_an_airway_is_proven() -> None:
    assert names(*PROVEN) == [["spo2", "sbp", "hr", "etco2"], ["cuff"]]
    assert VitalsView.of([now(*PROVEN)]).groups[1].figures[0].stepper.start == "26"
