"""Opening, planning, roles, closing, acknowledging, the link."""

from __future__ import annotations

from dataclasses import replace

from app.case.fold import fold
from app.case.state import EMPTY, Room, Setup
from tests.app.case.telling import CASE, ROOM, moment, state_of, told

OPEN = "00:00 case.open procedure=intubation; precaution=airborne; age=adult; pbw=66; weight_kg=70; difficult=no"
FACTS = {"room": ROOM, "people": {"P1": {"name": "Kim", "resp": "tight:K2"}}, "protocol": {"id": "x", "version": 3}}


def test_opening_says_what_the_call_said_and_leaves_the_rest_unknown() -> None:
    setup = state_of(OPEN).setup
    assert (setup.procedure, setup.age, setup.pbw_kg, setup.weight_kg) == ("intubation", "adult", 66, 70)
    assert (setup.pathogen, setup.tx_min, setup.o2_lpm, setup.height_cm) == (None, None, None, None)


def test_an_age_may_be_a_number_of_years() -> None:
    assert state_of("00:00 case.open age=7").setup.age == 7


def test_opening_pins_the_protocol_version_and_keeps_what_the_registers_said() -> None:
    state = state_of(OPEN, facts=FACTS)
    assert state.protocol == {"id": "x", "version": 3}
    assert (state.room.ach, state.room.clear_percent, state.room.mixing, state.room.tz) == (12, 99.9, 1, "UTC")
    assert (state.people["P1"].name, state.people["P1"].facts["resp"]) == ("Kim", "tight:K2")


def test_a_case_that_is_not_opened_yet_knows_nothing() -> None:
    state = fold(CASE, [])
    assert (state.setup, state.opened_at, state.people, state.protocol) == (Setup(), None, EMPTY, EMPTY)
    assert (state.attempts, state.airway.device, state.airway.proven_at, state.room.ach) == ((), None, None, None)


def test_opened_twice_the_first_counts() -> None:
    state = state_of(OPEN, "01:00 case.open procedure=transport")
    assert (state.setup.procedure, state.opened_at) == ("intubation", moment("00:00"))


def test_the_first_abort_and_the_first_close_count_and_the_last_signature() -> None:
    state = state_of(
        OPEN,
        "10:00 case.abort why=better",
        "10:10 case.abort",
        "20:00 case.close",
        "20:10 case.close",
        "21:00 case.sign",
        "22:00 case.sign",
    )
    assert (state.aborted_at, state.closed_at, state.signed_at) == (moment("10:00"), moment("20:00"), moment("22:00"))


def test_a_plan_grows_step_by_step_and_may_change_whether_it_is_difficult() -> None:
    state = state_of(OPEN, "01:00 plan.set steps=AB; A=video; tube=8.0", "02:00 plan.set D=scalpel; difficult=yes")
    assert state.plan.steps == {"A", "B", "D"}
    assert state.plan.words == {"A": "video", "D": "scalpel"}
    assert (state.plan.tube, state.plan.sga, state.plan.set_at) == (8.0, None, moment("02:00"))
    assert state.setup.difficult == "yes"


def test_the_brief_and_the_weight_are_kept() -> None:
    state = state_of(OPEN, "01:00 brief.done secs=75", "02:00 weight.set kg=14.5; how=tape")
    assert (state.plan.briefed_at, state.setup.weight_kg) == (moment("01:00"), 14.5)


def test_roles_are_given_passed_on_and_laid_down() -> None:
    given = (OPEN, "01:00 role.assign AO=P1; TL=P3; DR=P5")
    assert state_of(*given).roles == {"AO": ("P1",), "TL": ("P3",), "DR": ("P5",)}
    assert state_of(*given, "02:00 role.assign AO=P2").roles["AO"] == ("P2",)
    assert state_of(*given, "02:00 role.handover role=TL; from=P3; to=P6").roles["TL"] == ("P6",)
    assert "AO" not in state_of(*given, "02:00 role.release role=AO; p=P1").roles
    assert "AO" not in state_of(*given, "02:00 role.release role=AO").roles
    assert state_of(*given, "02:00 role.release role=AO; p=P9").roles["AO"] == ("P1",)
    assert "FN" not in state_of(*given, "02:00 role.release role=FN; p=P9").roles


def test_taking_a_role_in_the_room_ends_standing_by_outside() -> None:
    waiting = (OPEN, "01:00 role.assign SO=P2; OR=P6")
    assert state_of(*waiting, "02:00 role.assign AO=P2").roles == {"OR": ("P6",), "AO": ("P2",)}
    assert state_of(*waiting, "02:00 role.handover role=AA; to=P6").roles == {"SO": ("P2",), "AA": ("P6",)}
    assert state_of(*waiting, "02:00 role.assign PO=P2").roles["SO"] == ("P2",)


def test_an_acknowledgement_is_kept_by_rule_and_subject() -> None:
    state = state_of(OPEN, "01:00 notice.ack rule=R24; subject=P2", "02:00 notice.ack rule=R10")
    assert state.acks == {("R24", "P2"): moment("01:00"), ("R10", None): moment("02:00")}


def test_a_lost_link_is_known_until_it_is_back() -> None:
    assert state_of(OPEN, "01:00 net.down device=inside").link_lost == {"inside": moment("01:00")}
    assert state_of(OPEN, "01:00 net.down device=inside", "02:00 net.up device=inside; queued=3").link_lost == {}


def test_a_later_word_of_the_register_on_a_person_counts() -> None:
    entries = told(OPEN, "01:00 don.start p=P1", facts=FACTS)
    entries[1].facts["people"] = {"P1": {"name": "Kim", "resp": "hood"}}  # type: ignore[index]
    assert fold(CASE, entries).people["P1"].facts["resp"] == "hood"


def _moved(*lines: str, room: dict[str, object]) -> Room:
    """The room after a later entry whose facts say something about it."""
    entries = told(OPEN, *lines, "05:00 room.in p=P1", facts=FACTS)
    entries[-1].facts["room"] = room  # type: ignore[index]
    return fold(CASE, entries).room


def test_a_later_word_of_the_register_on_the_room_counts_and_what_it_leaves_out_stays() -> None:
    assert _moved(room={"name": "Room 4 west", "ach": 10}) == replace(
        state_of(OPEN, facts=FACTS).room, name="Room 4 west", ach=10
    )
    other = {"id": "R9", "name": "Room 9", "ach": 6, "clear": 99, "mixing": 3, "anteroom": "l", "tz": "Europe/Paris"}
    assert _moved(room=other) == Room("R9", "Room 9", 6, 99, 3, "l", None, None, "Europe/Paris")
    assert _moved(room={"tz": "UTC"}) == state_of(OPEN, facts=FACTS).room


def test_measured_air_changes_count_from_then_on_and_a_proof_without_them_leaves_the_registers_word() -> None:
    assert _moved("01:00 room.ready pressure=-8; ach=9", room={"ach": 10}).ach == 9
    assert _moved("01:00 room.ready pressure=-8", room={"ach": 10}).ach == 10


def test_roles_given_in_one_entry_are_all_held_also_one_inside_and_one_outside() -> None:
    assert state_of("01:00 role.assign SO=P1; TL=P1").roles == {"TL": ("P1",), "SO": ("P1",)}
    assert state_of("01:00 role.assign SO=P1", "02:00 role.assign TL=P1").roles == {"TL": ("P1",)}


def test_each_part_of_the_plan_is_what_was_said_of_it_last() -> None:
    first = "01:00 plan.set tube=8.0; sga=4; ventilation=pressure control"
    plan = state_of(first, "02:00 plan.set A=video").plan
    assert (plan.tube, plan.sga, plan.ventilation) == (8.0, 4, "pressure control")
    plan = state_of(first, "02:00 plan.set tube=7.5; sga=5; ventilation=volume control").plan
    assert (plan.tube, plan.sga, plan.ventilation) == (7.5, 5, "volume control")


def test_what_was_said_before_a_late_opening_stands_where_that_says_nothing_of_it() -> None:
    early = ("00:10 plan.set difficult=yes", "00:20 weight.set kg=20")
    setup = state_of(*early, "01:00 case.open ref=A; age=6").setup
    assert (setup.difficult, setup.weight_kg, setup.age) == ("yes", 20, 6)
    setup = state_of(*early, "01:00 case.open ref=A; difficult=no; weight_kg=22").setup
    assert (setup.difficult, setup.weight_kg) == ("no", 22)
