"""The ventilator's last settings, what follows from them, and how long the oxygen lasts."""

from __future__ import annotations

import pytest

from app.live.views.ventilator import VentilatorView
from app.live.worksheet.figure import Figure
from tests.app.live.views.scene import OPEN, Said, after, html, now, words

SET = {"vt": 420, "rate": 18, "plat": 24, "peep": 8, "fio2": 0.8}
TOLD = ("case.open", {"ref": "C1", "procedure": "intubation", "age": "adult", "pbw": 66})


def view(*said: Said) -> VentilatorView:
    return VentilatorView.of([now(*said)])


def figure(key: str, *said: Said) -> Figure:
    return next(one for one in view(*said).figures if one.key == key)


def test_driving_pressure_and_compliance_come_from_one_entry() -> None:
    # definitions: 24 - 8 = 16 cmH2O; 420 / 16 = 26.25 mL/cmH2O, rounded down
    said = (OPEN, ("vent.set", SET))
    assert (figure("driving", *said).value, figure("driving", *said).unit) == ("16", "cmH2O")
    assert (figure("compliance", *said).value, figure("compliance", *said).unit) == ("26", "mL/cmH2O")
    assert figure("driving", *said).warnings == ("Above 15 cmH2O.",)


def test_values_of_two_moments_are_never_put_together() -> None:
    said = (OPEN, ("vent.set", SET), ("vent.set", {"peep": 12}))
    assert figure("driving", *said).value is None
    assert figure("driving", *said).lacks == ("Plateau pressure",)
    assert [one.value for one in view(*said).settings] == ["12"]
    assert view(*said).at == after(20)


def test_set_peep_taken_for_total_peep_is_said() -> None:
    said = (OPEN, ("vent.set", SET))
    for key in ("driving", "compliance"):
        assert "trapped gas was not measured" in figure(key, *said).cautions[0]


def test_tidal_volume_per_kg_is_by_predicted_weight_as_told() -> None:
    one = figure("vt-per-kg", TOLD, ("vent.set", SET))
    assert (one.value, one.unit) == ("6.4", "mL/kg")  # 420 / 66 = 6.36, rounded up
    assert one.warnings == ()


def test_tidal_volume_per_kg_is_never_by_actual_weight() -> None:
    opening = ("case.open", {"procedure": "intubation", "weight_kg": 120})
    assert figure("vt-per-kg", opening, ("vent.set", SET)).lacks == ("Sex", "Height")
    sized = ("case.open", {"procedure": "intubation", "weight_kg": 120, "sex": "M", "height_cm": 152.4})
    assert figure("vt-per-kg", sized, ("vent.set", {"vt": 450})).value == "9"
    assert figure("vt-per-kg", sized, ("vent.set", {"vt": 450})).warnings


def test_mechanical_power_comes_from_the_peak_pressure_as_recorded() -> None:
    # bedside-values: rr=20, vt_l=0.42, ppeak=32, driving_pressure=14 gives 20.58 J/min (Gattinoni 2016), rounded up
    told = {"vt": 420, "rate": 20, "plat": 24, "peep": 10, "ppeak": 32}
    one = figure("power", OPEN, ("vent.set", told))
    assert (one.value, one.unit, one.lacks) == ("20.6", "J/min", ())
    assert ("Peak pressure", "32", "cmH2O") in [
        (it.label, it.value, it.unit) for it in view(OPEN, ("vent.set", told)).settings
    ]


def test_mechanical_power_without_a_peak_pressure_stays_without_a_value() -> None:
    one = figure("power", OPEN, ("vent.set", SET))
    assert (one.value, one.lacks) == (None, ("Peak pressure",))


def test_every_figure_carries_unit_source_and_caution_and_those_with_a_value_their_inputs() -> None:
    made = view(TOLD, ("vent.set", SET), ("o2.check", {"litres": 460, "flow": 12}))
    assert made.oxygen is not None
    for one in (*made.figures, made.oxygen):
        assert all((one.unit, one.source, one.formula, one.cautions)), one.key
        assert one.inputs or one.value is None


def test_oxygen_lasts_as_long_as_its_litres_by_its_flow_rounded_down_and_dated() -> None:
    made = view(OPEN, ("o2.check", {"litres": 460, "flow": 12, "togo": 20}))
    assert made.oxygen is not None
    assert (made.oxygen.value, made.oxygen.unit, made.oxygen_at) == ("38", "min", after(10))
    assert made.oxygen.warnings == ()


def test_oxygen_that_ends_before_the_way_is_said() -> None:
    made = view(OPEN, ("o2.check", {"litres": 200, "flow": 12, "togo": 20}))
    assert made.oxygen is not None
    assert made.oxygen.warnings == ("Shorter than the minutes to go.",)


def test_a_new_cylinder_counts_from_its_own_moment_with_the_flow_last_told() -> None:
    made = view(OPEN, ("o2.check", {"litres": 100, "flow": 10}), ("o2.swap", {"litres": 600, "flow": "felt"}))
    assert made.oxygen is not None
    assert (made.oxygen.value, made.oxygen_at) == ("60", after(20))
    assert "flow told at another time" in [one.label for one in made.oxygen.inputs]


def test_a_flow_of_nothing_is_no_flow_and_the_one_told_before_it_counts() -> None:
    made = view(OPEN, ("o2.check", {"litres": 460, "flow": 10}), ("o2.check", {"litres": 400, "flow": 0}))
    assert made.oxygen is not None
    assert made.oxygen.value == "40"


@pytest.mark.parametrize("flow", [None, 0, "felt"])
def test_without_a_flow_no_minutes_are_given(flow: object) -> None:
    made = view(OPEN, ("o2.check", {"litres": 460} | ({} if flow is None else {"flow": flow})))
    assert made.oxygen is not None
    assert (made.oxygen.value, made.oxygen.lacks) == (None, ("Oxygen flow",))


def test_impossible_settings_give_a_sentence_and_no_number() -> None:
    one = figure("driving", OPEN, ("vent.set", {"plat": 8, "peep": 12}))
    assert one.value is None
    assert "Plateau pressure" in one.refused


def test_nothing_recorded_is_said() -> None:
    said = words("ventilator", now(OPEN))
    assert "No ventilator settings have been recorded." in said
    assert "No litres of oxygen have been recorded." in said


def test_the_panel_says_when_and_leads_to_the_worksheet_of_the_case() -> None:
    drawn = html("ventilator", now(OPEN, ("vent.set", SET)))
    assert 'href="/worksheet?case=A"' in drawn
    assert "14:00" in drawn
    assert "data-since" not in drawn  # nothing in it runs on
