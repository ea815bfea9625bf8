"""Dressing, checks, entry, exit, undressing, breaches, doors, the proven room."""

from __future__ import annotations

from tests.app.case.telling import ROOM, moment, state_of

OPEN = "00:00 case.open precaution=airborne"
DRESSED = (
    "01:00 don.start p=P1; ens=enhanced; resp=tight:K2",
    "02:00 seal.check p=P1; result=pass",
    "02:10 check.start phase=don; checker=P5; subject=P1",
    "02:30 check.done phase=don; checker=P5; subject=P1; result=pass",
)
IN = "03:00 room.in p=P1"
OUT = "20:00 room.out p=P1"


def test_a_person_goes_from_named_to_clean() -> None:
    lines = (
        OPEN,
        *DRESSED,
        IN,
        OUT,
        "20:10 doff.start p=P1; checker=P5",
        "24:00 doff.done p=P1; checker=P5",
    )
    stages = [state_of(*lines[: n + 1]).people["P1"].stage for n in range(1, len(lines))]
    assert stages == ["donning", "donning", "donning", "checked", "inside", "out", "doffing", "clean"]


def test_dressing_keeps_ensemble_respirator_seal_and_check() -> None:
    person = state_of(OPEN, *DRESSED).people["P1"]
    assert (person.ensemble, person.respirator, person.don_start) == ("enhanced", "tight:K2", moment("01:00"))
    assert (person.seal_ok, person.check_ok, person.checked_at, person.dressed) == (True, True, moment("02:30"), True)


def test_the_ensemble_is_the_cases_precaution_and_the_respirator_the_registers_unless_said() -> None:
    facts = {"room": ROOM, "people": {"P1": {"resp": "hood"}}}
    person = state_of(OPEN, "01:00 don.start p=P1", facts=facts).people["P1"]
    assert (person.ensemble, person.respirator) == ("airborne", "hood")


def test_without_any_word_on_respirators_it_is_unknown() -> None:
    assert state_of("01:00 don.start p=P1").people["P1"].respirator is None


def test_dressing_anew_forgets_what_the_last_dressing_proved() -> None:
    person = state_of(OPEN, *DRESSED, IN, OUT, "20:10 doff.done p=P1", "30:00 don.start p=P1").people["P1"]
    assert (person.seal_ok, person.check_ok, person.checked_at, person.doff_done) == (None, None, None, None)
    assert person.ensemble == "enhanced"


def test_a_failed_seal_and_a_failed_check_are_not_a_pass() -> None:
    person = state_of(
        "01:00 seal.check p=P1; result=fail", "02:00 check.done phase=don; checker=P5; subject=P1; result=fail"
    ).people["P1"]
    assert (person.seal_ok, person.check_ok) == (False, False)


def test_a_check_of_undressing_proves_nothing_about_dressing() -> None:
    state = state_of("01:00 check.done phase=doff; checker=P5; subject=P1; result=pass")
    assert "P1" not in state.people


def test_a_partner_who_came_before_undressing_began_is_still_there() -> None:
    early = "20:05 check.start phase=doff; checker=P5; subject=P1"
    assert state_of(OUT, early, "20:10 doff.start p=P1").people["P1"].doff_partner == "P5"
    assert state_of("20:10 doff.start p=P1", "20:15 check.start phase=doff; checker=P6; subject=P1").people[
        "P1"
    ].doff_partner == "P6"  # fmt: skip


def test_the_partner_of_an_earlier_undressing_is_not_there_for_the_next() -> None:
    lines = ("10:00 doff.start p=P1; checker=P5", "12:00 doff.done p=P1", "30:00 doff.start p=P1")
    assert state_of(*lines).people["P1"].doff_partner is None


def test_a_breach_is_dated() -> None:
    assert state_of("05:00 breach p=P1; type=tear").people["P1"].breached_at == moment("05:00")


def test_each_stay_in_the_room_is_kept_with_both_ends() -> None:
    stays = state_of(IN, OUT, "30:00 room.in p=P1").people["P1"].stays
    assert [(stay.entered, stay.left) for stay in stays] == [
        (moment("03:00"), moment("20:00")),
        (moment("30:00"), None),
    ]


def test_going_in_twice_and_out_twice_counts_once() -> None:
    stays = state_of("02:00 room.out p=P1", IN, "03:01 room.in p=P1", OUT, "20:01 room.out p=P1").people["P1"].stays
    assert [(stay.entered, stay.left) for stay in stays] == [(moment("03:00"), moment("20:00"))]


def test_a_visitor_is_known_as_such() -> None:
    person = state_of("03:00 room.in p=X1; kind=visitor; resp=hood").people["X1"]
    assert (person.visit, person.respirator, person.inside) == ("visitor", "hood", True)


def test_who_is_inside_is_listed_in_order_of_entry() -> None:
    assert state_of("03:10 room.in p=P1", "03:00 room.in p=P2", "03:05 room.in p=P3", "04:00 room.out p=P3").inside == (
        "P2",
        "P1",
    )


def test_a_proven_room_keeps_its_pressure_and_replaces_the_registers_air_changes_from_then_on() -> None:
    room = state_of(OPEN, "01:00 room.ready pressure=-8; ach=10", facts={"room": ROOM}).room
    assert (room.pressure_pa, room.ach, room.ready_at, room.clear_percent) == (-8, 10, moment("01:00"), 99.9)
    assert state_of(OPEN, "01:00 room.ready pressure=-8", facts={"room": ROOM}).room.ach == 12


def test_a_door_is_open_since_it_was_first_opened_until_it_is_shut() -> None:
    opened = ("01:00 door.open", "01:05 door.open which=room", "01:10 door.open which=lobby")
    assert state_of(*opened).doors == {"room": moment("01:00"), "lobby": moment("01:10")}
    assert state_of(*opened, "01:20 door.shut").doors == {"lobby": moment("01:10")}
    assert state_of("01:20 door.shut").doors == {}
