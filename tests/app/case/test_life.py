"""Where a case stands: stage of life, phase of the protocol, the one running clock, the last figure read."""

from __future__ import annotations

import pytest

from app.case.life import latest_vital, life, phase, running_clock
from app.case.state import Life, State
from app.protocol.library import protocol_for
from tests.app.case.telling import moment, state_of

OPEN = "00:00 case.open procedure={procedure}"
IN = "10:00 room.in p=P1"
COMMON = (
    ("01:00 plan.set A=video", "planned", "ready"),
    ("02:00 brief.done secs=60", "ready", "ready"),
    ("05:00 don.start p=P1", "ready", "protect"),
    (IN, "inside", "airway"),
)
COURSES = {
    "intubation": (
        ("15:00 drug.given class=induction", "airway", "airway"),
        ("16:00 tube.passed", "airway", "airway"),
        ("17:00 co2.yes", "settled", "settle"),
        ("40:00 count.done", "leaving", "leave"),
        ("60:00 debrief.start", "leaving", "after"),
        ("70:00 case.close", "closed", "after"),
    ),
    "extubation": (
        ("15:00 ext.out", "settled", "settle"),
        ("20:00 scope.start n=1", "airway", "airway"),
        ("21:00 tube.passed", "airway", "airway"),
        ("22:00 co2.yes", "settled", "settle"),
        ("40:00 count.done", "leaving", "leave"),
    ),
    "transport": (
        ("12:00 vent.set vt=420", "inside", "airway"),
        ("15:00 tx.depart", "airway", "airway"),
        ("15:10 patient.out", "airway", "airway"),
        ("15:20 room.out p=P1", "airway", "airway"),
        ("30:00 tx.arrive", "settled", "settle"),
        ("40:00 count.done", "leaving", "leave"),
        ("50:00 clean.start", "leaving", "after"),
    ),
    "tracheostomy": (
        ("15:00 tr.incise", "airway", "airway"),
        ("18:00 tr.tube_in size=8", "airway", "airway"),
        ("18:30 co2.yes site=trachy", "settled", "settle"),
    ),
    "bronchoscopy": (
        ("15:00 br.in", "airway", "airway"),
        ("20:00 br.out", "settled", "settle"),
        ("21:00 br.in", "airway", "airway"),
        ("25:00 br.out", "settled", "settle"),
        ("30:00 room.out p=P1", "leaving", "leave"),
        ("35:00 patient.out", "leaving", "after"),
    ),
}


@pytest.mark.parametrize("procedure", COURSES)
def test_a_case_goes_through_its_stages_and_phases(procedure: str) -> None:
    lines = [OPEN.format(procedure=procedure)]
    assert (life(state_of(*lines)), phase(state_of(*lines))) == (Life.PLANNED, "plan")
    for line, stage, stands_in in (*COMMON, *COURSES[procedure]):
        lines.append(line)
        state = state_of(*lines)
        assert (str(life(state)), phase(state)) == (stage, stands_in), line


@pytest.mark.parametrize("procedure", COURSES)
def test_every_phase_is_one_that_the_departments_protocol_has(procedure: str) -> None:
    said = {phase for _, _, phase in (*COMMON, *COURSES[procedure])} | {"plan", "leave", "after"}
    assert said <= {stage.id for stage in protocol_for(procedure, "adult").phases}


def test_a_tube_that_comes_out_again_leads_back_to_the_airway() -> None:
    lines = (IN, "15:00 tube.passed", "16:00 co2.yes", "20:00 tube.out")
    assert (life(state_of(*lines)), phase(state_of(*lines))) == (Life.INSIDE, "airway")
    assert life(state_of("14:00 drug.given class=induction", *lines)) is Life.AIRWAY


def test_one_who_leaves_while_others_stay_does_not_end_the_airway() -> None:
    lines = (
        IN,
        "10:01 room.in p=P2",
        "15:00 drug.given class=induction",
        "16:00 room.out p=P2",
        "19:00 doff.done p=P2",
    )
    assert life(state_of(*lines)) is Life.AIRWAY


def test_a_visitor_in_the_room_is_not_the_teams_entry() -> None:
    assert phase(state_of("05:00 don.start p=P1", "06:00 room.in p=X1; kind=visitor")) == "protect"
    assert life(state_of("06:00 room.in p=X1; kind=visitor")) is Life.PLANNED


def test_a_case_may_be_aborted_at_any_stage_and_closed_after_that() -> None:
    assert (life(state_of("06:00 case.abort")), phase(state_of("06:00 case.abort"))) == (Life.ABORTED, "leave")
    assert life(state_of(IN, "11:00 case.abort", "12:00 case.close")) is Life.CLOSED


def test_a_case_of_unknown_procedure_settles_with_its_proof() -> None:
    assert life(state_of(IN, "15:00 tube.passed", "16:00 co2.yes")) is Life.SETTLED


def test_nothing_runs_before_anything_began_and_after_the_close() -> None:
    assert running_clock(State("a")) is None
    assert running_clock(state_of("01:00 preox.start", "02:00 case.close")) is None


CLOCKS = (
    ("01:00 don.start p=P1", None),
    ("02:00 room.in p=P1", ("Longest in equipment", "01:00")),
    ("03:00 preox.start", ("Pre-oxygenation", "03:00")),
    ("06:00 drug.given class=induction", ("Since induction", "06:00")),
    ("07:00 scope.start n=1", ("This attempt", "07:00")),
    ("07:30 scope.end n=1; result=no view", ("Since induction", "06:00")),
    ("08:00 scope.start n=2", ("This attempt", "08:00")),
    ("08:30 tube.passed", ("Since induction", "06:00")),
    ("08:50 vent.first", ("First breath, no CO2 yet", "08:50")),
    ("09:10 co2.yes", ("Longest in equipment", "01:00")),
    ("20:00 vent.hold", ("Ventilation held", "20:00")),
    ("20:05 circuit.off", ("Circuit open", "20:05")),
    ("20:12 circuit.on", ("Ventilation held", "20:00")),
    ("20:15 vent.resume", ("Longest in equipment", "01:00")),
    ("30:00 tx.depart", ("On the way", "30:00")),
    ("50:00 tx.arrive", ("Longest in equipment", "01:00")),
    ("60:00 ext.out", ("Since the tube came out", "60:00")),
    ("65:00 tube.passed", ("Since induction", "06:00")),
)


@pytest.mark.parametrize("count", range(1, len(CLOCKS)))
def test_one_clock_runs_the_one_that_matters_now(count: int) -> None:
    clock = running_clock(state_of(*(line for line, _ in CLOCKS[:count])))
    expected = CLOCKS[count - 1][1]
    assert (clock and (clock.message, clock.since)) == (expected and (expected[0], moment(expected[1])))


def test_the_last_figure_is_the_last_that_was_read_not_the_last_that_arrived() -> None:
    state = state_of("10:00 vitals spo2=94; hr=100", "09:00 vitals spo2=97; recv=20:00", "11:00 vitals hr=90")
    assert latest_vital(state, "spo2") == (94, moment("10:00"))
    assert latest_vital(state, "hr") == (90, moment("11:00"))


def test_a_figure_that_was_never_read_is_unknown() -> None:
    assert latest_vital(state_of("10:00 vitals hr=90"), "spo2") is None


def test_in_a_tracheostomy_the_proof_of_an_oral_tube_settles_nothing() -> None:
    lines = (OPEN.format(procedure="tracheostomy"), IN, "11:00 tube.passed", "11:30 co2.yes site=oral")
    assert life(state_of(*lines)) is Life.AIRWAY
    assert life(state_of(*lines, "18:00 tr.tube_in size=8")) is Life.AIRWAY
    assert life(state_of(*lines, "18:00 tr.tube_in size=8", "18:30 co2.yes site=trachy")) is Life.SETTLED


@pytest.mark.parametrize("kind", ["clean.start", "debrief.start", "case.close"])
def test_cleaning_debrief_or_close_alone_is_the_last_phase(kind: str) -> None:
    assert phase(state_of(IN, f"60:00 {kind}")) == "after"


def test_a_tube_that_came_out_counts_no_more_once_the_patient_sleeps_again() -> None:
    lines = (OPEN.format(procedure="extubation"), "05:00 don.start p=P1", IN, "15:00 ext.out")
    out = running_clock(state_of(*lines))
    assert out is not None
    assert (out.message, out.since) == ("Since the tube came out", moment("15:00"))
    asleep = running_clock(state_of(*lines, "20:00 drug.given class=relaxant"))
    assert asleep is not None
    assert asleep.message == "Longest in equipment"
