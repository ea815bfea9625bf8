"""Each interval by itself: from where to where, and what it is when an end is missing (`judging.md`)."""

from __future__ import annotations

from typing import Any

import pytest

from app.case.intervals import WORDS, intervals
from app.case.state import State
from tests.app.case.telling import T0, moment, state_of

INDUCED = "06:00 drug.given class=induction"
TUBE = "07:30 tube.passed"
CUFF = "07:40 cuff.up"
BREATH = "07:50 vent.first"
PROOF = "08:10 co2.yes"


def of(code: str, *lines: str) -> Any:
    """One interval of a case in the JSON form, "absent" when it is not there."""
    return intervals(state_of(*lines)).get(code, "absent")


def test_an_empty_case_has_no_interval_with_a_value() -> None:
    assert intervals(State("a")) == {"I13": None, "I17": None}


def test_every_interval_has_words() -> None:
    assert list(WORDS) == [f"I{n:02d}" for n in range(1, 27)]


def test_seconds_are_whole_where_they_are_whole() -> None:
    value = of("I05", INDUCED, TUBE)
    assert (value, type(value)) == (90, int)
    assert of("I05", INDUCED, "07:30.25 tube.passed") == 90.25


def test_sums_keep_their_milliseconds_and_no_more() -> None:
    lines = ("10:00 circuit.off", "10:06.1 circuit.on", "20:00 circuit.off", "20:03.2 circuit.on")
    assert of("I22", *lines) == 9.3
    whole = of("I22", "10:00.5 circuit.off", "10:06.5 circuit.on")
    assert (whole, type(whole)) == (6, int)


@pytest.mark.parametrize(
    ("code", "start", "end", "seconds"),
    [
        ("I01", "00:00 case.open", "11:00 room.in p=P1", 660),
        ("I03", "02:00 preox.start", INDUCED, 240),
        ("I05", INDUCED, TUBE, 90),
        ("I20", "66:00 debrief.start", "73:30 debrief.done", 450),
        ("I24", "10:00 tx.depart", "32:00 tx.arrive", 1320),
        ("I26", "50:00 handover.start", "53:10 handover.done", 190),
    ],
)
def test_an_interval_needs_both_ends(code: str, start: str, end: str, seconds: int) -> None:
    assert of(code, start, end) == seconds
    assert of(code, start) == of(code, end) == "absent"


def test_of_two_handovers_the_last_that_ended_is_measured() -> None:
    first = ("20:00 handover.start to=P6", "22:30 handover.done")
    assert of("I26", *first, "50:00 handover.start to=ICU", "50:05 handover.start to=ICU", "53:10 handover.done") == 190
    assert of("I26", *first, "22:40 handover.done") == 160
    assert of("I26", *first, "50:00 handover.start to=ICU") == 150


def test_preoxygenation_counts_from_its_last_beginning_before_induction() -> None:
    assert of("I03", "02:00 preox.start", "03:00 preox.start", INDUCED, "06:10 preox.start") == 180


def test_each_attempt_with_an_end_counts() -> None:
    lines = ("05:00 scope.start n=1", "05:40 scope.end n=1", "06:00 scope.start n=2", "06:50 scope.end n=2")
    assert of("I04", *lines, "08:00 scope.start n=3") == {"n1": 40, "n2": 50}
    assert of("I04", "05:00 scope.start n=1") == "absent"


@pytest.mark.parametrize("kind", ["tube.passed", "fona.in", "tr.tube_in"])
def test_the_tube_is_the_first_of_three(kind: str) -> None:
    assert of("I05", INDUCED, f"07:00 {kind}", "09:00 tube.passed", "09:00 fona.in", "09:00 tr.tube_in") == 60


def test_tube_to_cuff_to_breath_to_carbon_dioxide() -> None:
    lines = (INDUCED, TUBE, CUFF, BREATH, PROOF)
    assert [of(code, *lines) for code in ("I06", "I07", "I08", "I09")] == [10, 10, 20, 130]


def test_what_came_before_the_tube_does_not_count_when_it_came_again_after_it() -> None:
    early = ("05:00 cuff.up", "05:10 vent.first", "05:20 co2.yes")  # a supraglottic airway, say
    lines = (INDUCED, *early, TUBE, CUFF, BREATH, PROOF)
    assert [of(code, *lines) for code in ("I06", "I07", "I08", "I09")] == [10, 10, 20, 130]


def test_without_a_tube_recorded_what_has_both_ends_is_still_measured() -> None:
    lines = (INDUCED, CUFF, BREATH, PROOF, "09:00 cuff.up", "09:10 vent.first", "09:20 co2.yes")
    assert [of(code, *lines) for code in ("I07", "I08", "I09", "I10")] == [10, 20, 130, 100]
    assert of("I05", *lines) == of("I06", *lines) == "absent"


def test_a_cuff_that_went_up_before_the_tube_gives_a_negative_time() -> None:
    assert of("I06", "07:00 cuff.up", "07:10 cuff.up", TUBE) == -20


def test_a_breath_before_the_cuff_gives_a_negative_time() -> None:
    assert of("I07", TUBE, "07:35 vent.first", CUFF) == -5


def test_the_window_is_open_from_induction_or_from_the_opened_trachea_to_the_cuff() -> None:
    assert of("I10", INDUCED, TUBE, CUFF) == 100
    assert of("I10", INDUCED, "07:00 tr.open", "07:20 tr.tube_in", CUFF) == 40


def test_the_lowest_saturation_is_that_after_the_airway_step() -> None:
    lines = ("05:00 vitals spo2=84", INDUCED, "06:30 vitals spo2=97", "07:00 vitals spo2=91", "07:30 vitals spo2=95")
    assert of("I11", *lines) == 91
    assert of("I12", *lines) == 0


def test_each_reading_holds_until_the_next_and_the_last_counts_nothing() -> None:
    lines = (INDUCED, "06:30 vitals spo2=89", "07:00 vitals spo2=90", "07:30 vitals spo2=80", "07:40 vitals spo2=85")
    assert of("I12", *lines) == 40
    assert of("I11", *lines) == 80


def test_figures_without_a_saturation_are_no_reading() -> None:
    assert of("I12", INDUCED, "06:30 vitals spo2=85", "06:40 vitals hr=100", "07:00 vitals spo2=95") == 30


@pytest.mark.parametrize("step", [INDUCED, "06:00 ext.out", "06:00 tr.incise", "06:00 tx.depart"])
def test_the_airway_step_is_the_first_of_four(step: str) -> None:
    assert of("I11", "05:00 vitals spo2=80", step, "06:30 vitals spo2=93") == 93
    assert of("I11", "05:00 vitals spo2=80", step) == "absent"


def test_without_an_airway_step_there_is_no_lowest_saturation() -> None:
    assert of("I11", "05:00 vitals spo2=80") == of("I12", "05:00 vitals spo2=80") == "absent"


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ((), None),
        (("05:00 scope.start n=1",), None),
        (("05:00 scope.start n=1", "05:40 scope.end n=1; result=tube"), True),
        (("05:00 scope.start n=1", "05:40 scope.end n=1; result=no view"), False),
        (("05:00 scope.start n=1", "05:40 scope.end n=1; result=no view", "06:00 scope.start n=2",
          "06:30 scope.end n=2; result=tube"), False),
        (("05:00 scope.start n=1", "05:30 tube.passed"), True),
        (("05:00 scope.start n=1", "05:30 tube.passed", "05:40 scope.end n=1"), True),
        (("05:00 scope.start n=1", "06:00 scope.start n=2", "06:30 tube.passed"), False),
        (("05:00 scope.start n=1", "05:40 scope.end n=1"), None),
    ],
)  # fmt: skip
def test_the_first_attempt_succeeded_did_not_or_is_unknown(lines: tuple[str, ...], expected: bool | None) -> None:
    assert of("I13", *lines) is expected


def test_each_request_says_when_it_was_answered_and_handed_in_or_that_it_was_not() -> None:
    lines = (
        "01:00 req.new q=q1; item=a", "01:18 req.ack q=q1", "03:30 req.in q=q1",
        "02:00 req.new q=q2; item=b", "02:05 req.ack q=q2",
        "03:00 req.new q=q3; item=c", "04:00 req.cancel q=q3",
        "05:00 req.new q=q4; item=d; id=x", "05:30 tap.void ref=x",
        "06:00 req.ack q=q5",
    )  # fmt: skip
    assert of("I14", *lines) == {
        "q1": {"ack": 18, "in": 150},
        "q2": {"ack": 5, "in": None},
        "q3": {"ack": None, "in": None},
    }


def test_minutes_in_the_room_add_up_all_stays_and_say_who_is_still_in() -> None:
    lines = (
        "01:00 room.in p=P1", "05:00 room.out p=P1", "10:00 room.in p=P1", "11:00 room.out p=P1",
        "01:00 room.in p=P2", "01:00 room.in p=X1; kind=visitor", "02:00 room.out p=X1", "02:00 don.start p=P3",
    )  # fmt: skip
    assert of("I15", *lines) == {"P1": 300, "P2": "open", "X1": 60}


def test_wear_needs_both_ends() -> None:
    lines = ("01:00 don.start p=P1", "31:00 doff.done p=P1", "01:00 don.start p=P2", "20:00 doff.done p=P3")
    assert of("I16", *lines) == {"P1": 1800}


def test_donning_lasts_to_the_check_that_passed() -> None:
    check = "check.done phase=don; checker=P5; subject=P1; result="
    assert of("I02", "01:00 don.start p=P1", f"02:00 {check}fail", f"02:50 {check}pass") == {"P1": 110}
    assert of("I02", "01:00 don.start p=P1", f"02:00 {check}fail") == "absent"
    assert of("I02", f"02:00 {check}pass") == "absent"


def test_a_second_look_later_does_not_lengthen_donning() -> None:
    check = "check.done phase=don; checker=P5; subject=P1; result=pass"
    assert of("I02", "01:00 don.start p=P1", f"02:50 {check}", f"20:00 {check}") == {"P1": 110}


def test_somebody_who_dresses_again_is_measured_anew() -> None:
    check = "check.done phase=don; checker=P5; subject=P1; result=pass"
    assert of("I02", "01:00 don.start p=P1", f"02:50 {check}", "30:00 don.start p=P1", f"31:00 {check}") == {"P1": 60}


def test_the_empty_room_counts_from_the_patient_or_the_last_of_the_team() -> None:
    stay = ("01:00 room.in p=P1", "40:00 room.out p=P1")
    assert of("I18", *stay, "30:00 patient.out", "90:00 room.turned") == 3000
    assert of("I18", *stay, "50:00 patient.out", "90:00 room.turned") == 2400
    assert of("I18", *stay, "50:00 patient.out") == of("I18", "90:00 room.turned") == "absent"


def test_the_empty_room_asks_only_for_the_team_and_for_who_left_before_it_was_turned() -> None:
    stay, turned = ("01:00 room.in p=P1", "40:00 room.out p=P1"), "90:00 room.turned"
    cleaner = ("60:00 room.in p=X1; kind=cleaner", "80:00 room.out p=X1")
    assert of("I18", *stay, *cleaner, turned) == 3000
    assert of("I18", *stay, "50:00 room.in p=P1", "70:00 room.out p=P1", turned) == 1200  # the last stay counts
    assert of("I18", *stay, "50:00 room.in p=P2", turned) == 3000  # somebody still inside has not left
    assert of("I18", *stay, "95:00 patient.out", turned) == 3000
    assert of("I18", "95:00 patient.out", turned) == "absent"
    assert of("I18", *stay, "60:00 room.turned", turned) == 3000  # turned again: the last counts


def test_the_debrief_counts_from_the_last_who_was_clean_even_with_someone_inside() -> None:
    lines = ("01:00 room.in p=P9", "30:00 doff.done p=P1", "40:00 doff.done p=P2", "51:00 debrief.start")
    assert of("I19", *lines) == 660


def test_doors_count_by_opening_and_add_up_each_to_its_own_shutting() -> None:
    lines = (
        "01:00 door.open",
        "01:04 door.open which=lobby",
        "01:08 door.shut which=room",
        "01:10 door.shut which=lobby",
    )
    assert of("I21", *lines) == {"openings": 2, "open": 14}
    assert of("I21", "01:00 door.open") == {"openings": 1, "open": 0}
    assert of("I21", "01:00 door.shut") == "absent"


def test_the_open_circuit_adds_up() -> None:
    lines = ("10:00 circuit.off", "10:06 circuit.on", "20:00 circuit.off", "20:03 circuit.off", "20:09 circuit.on")
    assert of("I22", *lines) == 15
    assert of("I22", INDUCED) == "absent"
    assert of("I22", *lines, "30:00 circuit.off") == 15
    assert of("I22", "10:00 circuit.off") == of("I22", "10:00 circuit.on") == "absent"


def test_held_ventilation_ends_with_a_first_breath_or_when_it_goes_on() -> None:
    assert of("I23", "10:00 vent.hold", "11:10 vent.first", "20:00 vent.hold", "20:20 vent.resume") == 90
    assert of("I23", "11:10 vent.first") == of("I23", "10:00 vent.hold") == "absent"


def test_oxygen_for_the_journey_is_flow_times_minutes_beside_what_was_last_checked_before_leaving() -> None:
    call = "00:00 case.open tx_min=25; o2_lpm=10"
    lines = (
        call,
        "05:00 o2.check litres=600",
        "06:00 o2.check litres=680",
        "10:00 tx.depart",
        "20:00 o2.check litres=300",
    )
    assert of("I25", *lines) == {"need_l": 250, "minutes": 25, "flow_l_min": 10, "carried_l": 680}
    assert of("I25", *lines[:3], "09:00 o2.check flow=felt", "10:00 tx.depart")["carried_l"] is None
    assert of("I25", call)["carried_l"] is None
    assert of("I25", "00:00 case.open tx_min=25") == of("I25", "00:00 case.open o2_lpm=10") == "absent"


AIR = {"ach": 12, "clear": 99.9}


def clear(*lines: str, precaution: str = "airborne", room: dict[str, float] = AIR) -> Any:
    return intervals(state_of(f"00:20 case.open precaution={precaution}", *lines, facts={"room": room}), T0)["I17"]


def test_the_air_is_clear_after_the_later_of_last_aerosol_and_patient_out_rounded_up_to_the_minute() -> None:
    # 12 an hour, 99.9 %: ln(1000) / 12 x 60 = 34.54 min, up to 35 (job map 2.9; CDC/HICPAC 2003, table B.1)
    assert clear("30:00 agp.end", "41:00 patient.out") == (41 + 35) * 60
    assert clear("45:00 agp.end", "41:00 patient.out") == (45 + 35) * 60
    # 10 an hour, 99 %: 27.63 min, up to 28
    assert clear("33:00 patient.out", room={"ach": 10, "clear": 99}) == (33 + 28) * 60


@pytest.mark.parametrize("precaution", ["airborne", "enhanced"])
def test_nothing_clears_while_the_patient_is_inside(precaution: str) -> None:
    assert clear("30:00 agp.end", precaution=precaution) is None


@pytest.mark.parametrize("precaution", ["contact", "droplet"])
def test_under_contact_or_droplet_precautions_the_last_aerosol_act_starts_the_wait(precaution: str) -> None:
    assert clear("30:00 agp.end", "41:00 patient.out", precaution=precaution) == (30 + 35) * 60
    assert clear("41:00 patient.out", precaution=precaution) is None


@pytest.mark.parametrize(
    "room",
    [{"clear": 99.9}, {"ach": 12}, {"ach": 0, "clear": 99.9}, {"ach": -3, "clear": 99.9}, {"ach": 12, "clear": 100},
     {"ach": 501, "clear": 99.9}, {"ach": 1e-300, "clear": 99.9}, {"ach": 12, "clear": 99.9, "mixing": 11}],
)  # fmt: skip
def test_air_changes_that_are_unknown_or_cannot_be_right_give_no_time(room: dict[str, float]) -> None:
    assert clear("30:00 agp.end", "41:00 patient.out", room=room) is None


def test_what_was_measured_in_the_room_replaces_the_registers_air_changes() -> None:
    assert clear("05:00 room.ready pressure=-8; ach=10", "33:00 patient.out", room={"ach": 12, "clear": 99}) == 61 * 60


def test_the_mixing_factor_lengthens_the_wait() -> None:
    assert clear("41:00 patient.out", room={**AIR, "mixing": 2}) == (41 + 70) * 60  # 69.08 min, up to 70


def test_a_case_that_was_never_opened_has_no_start_to_count_from() -> None:
    lines = ("41:00 patient.out", "30:00 agp.end")
    assert intervals(state_of(*lines))["I17"] is None


def test_without_a_start_of_its_own_the_clear_time_counts_from_the_opening() -> None:
    state = state_of("00:20 case.open precaution=airborne", "41:00 patient.out", facts={"room": AIR})
    assert intervals(state)["I17"] == (41 + 35) * 60 - 20
    assert state.opened_at == moment("00:20")


def test_a_voided_moment_is_in_no_interval() -> None:
    assert of("I05", INDUCED, "07:00 tube.passed id=x", TUBE, "07:40 tap.void ref=x") == 90


def test_a_corrected_time_is_the_one_that_counts() -> None:
    assert of("I05", INDUCED, "07:30 tube.passed id=x", "07:40 tap.fix ref=x; at=07:00") == 60


def test_the_lowest_saturation_is_whole_where_it_is_whole() -> None:
    value = of("I11", INDUCED, "07:00 vitals spo2=88", "08:00 vitals spo2=97")
    assert (value, type(value)) == (88, int)
    assert of("I11", INDUCED, "07:00 vitals spo2=88.5") == 88.5
