"""The airway, its proof and rescue; the breathing circuit."""

from __future__ import annotations

import pytest

from tests.app.case.telling import moment, state_of

PREOX = "01:00 preox.start"
INDUCED = "04:00 drug.given class=induction"
ATTEMPT = "05:00 scope.start n=1; device=video; op=P1"
TUBE = "05:30 tube.passed size=8.0"
CUFF = "05:40 cuff.up cuff=26"
BREATH = "05:50 vent.first"
PROOF = "06:10 co2.yes breaths=7"
TIED = "07:00 tube.secured depth=22"
COURSE = (PREOX, INDUCED, ATTEMPT, TUBE, CUFF, BREATH, PROOF, TIED)


def test_the_airway_goes_from_own_breathing_to_secured() -> None:
    stages = [state_of(*COURSE[:n]).airway.stage for n in range(len(COURSE) + 1)]
    assert stages == [
        "own breathing", "oxygenating", "apnoeic", "attempt", "unproven", "unproven", "unproven", "proven", "secured",
    ]  # fmt: skip


def test_a_tube_keeps_its_moments_and_figures() -> None:
    airway = state_of(*COURSE).airway
    assert (airway.device, airway.size, airway.cuff_cmh2o, airway.rescue) == ("tube", 8.0, 26, None)
    assert [airway.placed_at, airway.cuff_up_at, airway.breath_at, airway.proven_at, airway.secured_at] == [
        moment(at) for at in ("05:30", "05:40", "05:50", "06:10", "07:00")
    ]


def test_a_drug_of_another_class_stops_nobodys_breathing() -> None:
    assert state_of("04:00 drug.given class=vasopressor").airway.stage == "own breathing"
    assert state_of("04:00 drug.given class=relaxant").airway.stage == "apnoeic"
    assert state_of(*COURSE, "20:00 drug.given class=relaxant").airway.stage == "secured"


def test_attempts_are_numbered_by_what_was_said_else_counted() -> None:
    attempts = state_of(
        "05:00 scope.start", "05:30 scope.end result=no view; view=3", "06:00 scope.start n=7; op=P2"
    ).attempts
    assert [(a.n, a.started, a.ended, a.result, a.view, a.operator) for a in attempts] == [
        (1, moment("05:00"), moment("05:30"), "no view", 3, None),
        (7, moment("06:00"), None, None, None, "P2"),
    ]


def test_an_attempt_begun_twice_is_one() -> None:
    assert [a.started for a in state_of(ATTEMPT, "05:01 scope.start n=1").attempts] == [moment("05:00")]


def test_an_attempts_end_without_a_number_ends_the_newest_and_with_a_strange_one_the_open_one() -> None:
    two = (ATTEMPT, "06:00 scope.start n=2")
    assert [a.ended for a in state_of(*two, "07:00 scope.end").attempts] == [None, moment("07:00")]
    assert [a.ended for a in state_of(*two, "07:00 scope.end n=1").attempts] == [moment("07:00"), None]
    assert [a.ended for a in state_of(ATTEMPT, "07:00 scope.end n=9").attempts] == [moment("07:00")]


def test_an_end_without_a_beginning_makes_no_attempt() -> None:
    assert state_of("07:00 scope.end n=1; result=tube").attempts == ()


def test_a_failed_attempt_leaves_the_patient_apnoeic() -> None:
    assert state_of(INDUCED, ATTEMPT, "05:50 scope.end n=1; result=no view").airway.stage == "apnoeic"


@pytest.mark.parametrize(
    ("more", "stage"), [([], "unproven"), ([PROOF], "proven"), ([PROOF, TIED], "secured")], ids=["bare", "co2", "tied"]
)
def test_an_attempt_past_a_supraglottic_airway_leaves_that_as_it_was(more: list[str], stage: str) -> None:
    lines = ("05:30 sga.in size=4", *more, "08:00 scope.start n=2", "08:30 scope.end n=2; result=no view")
    assert (state_of(*lines).airway.stage, state_of(*lines).airway.device) == (stage, "sga")


def test_a_tube_is_unproven_until_carbon_dioxide_and_again_when_it_fails() -> None:
    assert state_of(TUBE, BREATH).airway.proven_at is None
    lost = state_of(*COURSE, "09:00 co2.no device=tube").airway
    assert (lost.stage, lost.proven_at) == ("unproven", None)
    assert state_of(*COURSE, "09:00 co2.no", "10:00 co2.yes").airway.proven_at == moment("10:00")


def test_carbon_dioxide_with_nothing_in_place_proves_nothing() -> None:
    assert state_of(PROOF).airway.proven_at is None
    assert state_of("06:00 co2.no").airway.stage == "own breathing"


def test_a_tube_tied_before_its_proof_is_not_secured() -> None:
    airway = state_of(TUBE, "06:00 tube.secured").airway
    assert (airway.stage, airway.secured_at) == ("unproven", moment("06:00"))


def test_a_tube_that_comes_out_takes_its_cuff_and_proof_with_it() -> None:
    airway = state_of(*COURSE, "09:00 tube.out").airway
    assert (airway.device, airway.cuff_up_at, airway.proven_at, airway.stage) == (None, None, None, "apnoeic")


def test_a_new_tube_is_a_new_airway() -> None:
    airway = state_of(*COURSE, "09:00 tube.passed size=7.0").airway
    assert (airway.stage, airway.size, airway.cuff_up_at, airway.breath_at) == ("unproven", 7.0, None, None)


def test_a_cuff_goes_up_is_read_and_goes_down() -> None:
    assert state_of(CUFF, "06:00 cuff.check cuff=22").airway.cuff_cmh2o == 22
    assert state_of(CUFF, "06:00 cuff.check").airway.cuff_cmh2o == 26
    down = state_of(CUFF, "06:00 cuff.down").airway
    assert (down.cuff_up_at, down.cuff_cmh2o) == (None, None)


def test_a_supraglottic_airway_goes_in_and_out() -> None:
    assert state_of("05:30 sga.in size=4").airway.device == "sga"
    assert state_of("05:30 sga.in size=4", "06:00 sga.out").airway.device is None
    assert state_of(TUBE, "06:00 sga.out").airway.device == "tube"


def test_rescue_plans_add_up_and_stay_with_the_next_airway() -> None:
    state = state_of("05:00 rescue.declare plan=B", "06:00 rescue.declare plan=D", "06:40 fona.in size=6.0")
    assert state.rescues == (("B", moment("05:00")), ("D", moment("06:00")))
    assert (state.airway.rescue, state.airway.device, state.airway.size) == ("D", "neck", 6.0)
    assert state_of("05:00 rescue.declare plan=B", "05:30 sga.in", "06:00 sga.out").airway.rescue == "B"


def test_a_tracheostomy_stays_when_the_oral_tube_comes_out() -> None:
    lines = (*COURSE, "20:00 tr.tube_in size=8.0", "20:10 co2.yes", "20:30 tube.out what=oral tube")
    assert state_of(*lines).airway.device == "tracheostomy"
    assert state_of(*lines).airway.stage == "proven"


def test_extubated_is_awake_and_a_drug_to_put_the_tube_back_ends_that() -> None:
    lines = (*COURSE, "60:00 ext.out")
    assert (state_of(*lines).airway.stage, state_of(*lines).airway.device) == ("awake", None)
    assert state_of(*lines, "65:00 drug.given class=induction").airway.stage == "apnoeic"


@pytest.mark.parametrize(
    ("on", "off", "field"),
    [
        ("clamp.on", "clamp.off", "clamped_since"),
        ("circuit.off", "circuit.on", "open_since"),
        ("vent.hold", "vent.resume", "held_since"),
        ("vent.hold", "vent.first", "held_since"),
    ],
)
def test_the_circuit_knows_since_when(on: str, off: str, field: str) -> None:
    begun = (f"10:00 {on}", f"10:05 {on}")
    assert getattr(state_of(*begun).circuit, field) == moment("10:00")
    assert getattr(state_of(*begun, f"10:20 {off}").circuit, field) is None
    assert getattr(state_of(f"10:20 {off}").circuit, field) is None


def test_carbon_dioxide_seen_again_leaves_a_secured_tube_secured() -> None:
    assert state_of(*COURSE, "12:00 tube.secured", "13:00 co2.yes").airway.stage == "secured"


def test_an_attempt_that_ends_while_a_drug_has_changed_nothing_leaves_the_stage_alone() -> None:
    lines = ("05:00 scope.start n=1", "06:00 ext.out", "06:30 scope.end n=1; result=no view")
    assert state_of(*lines).airway.stage == "awake"
