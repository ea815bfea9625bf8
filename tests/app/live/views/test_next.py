"""The one dominant next step in the room, and what may come instead."""

import pytest

from app.live.views.next import BESIDE_MOST, NextView, inside_milestones
from app.protocol.library import protocols
from app.protocol.values import Protocol
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, now, offered, words

READY = (OPEN, CREW, *GOES_IN, ("monitor.on", {"capno": "waveform"}), ("preox.start", {}))
TRIED = (
    *READY,
    ("drug.given", {"class": "induction"}),
    ("drug.given", {"class": "relaxant"}),
    ("scope.start", {"n": 1}),
)


def step(*said: object) -> str:
    found = NextView.of([now(*said)]).step  # type: ignore[arg-type]
    assert found is not None
    return found.kind


def test_a_step_that_was_left_out_is_not_asked_for_for_ever() -> None:
    assert step(OPEN, CREW, *GOES_IN, ("preox.start", {})) == step(*READY) == "drug.given"


def test_a_step_that_stands_twice_on_the_line_is_still_the_first_when_it_is_tapped_twice_in_a_row() -> None:
    moving = (("case.open", {**OPEN[1], "procedure": "transport"}), CREW, *GOES_IN, ("monitor.on", {}))
    changed = (*moving, ("vent.hold", {}), ("clamp.on", {}), ("circuit.off", {}), ("circuit.on", {}))
    assert step(*changed) == step(*changed, ("circuit.on", {})) == "clamp.off"


def test_a_step_dated_before_the_one_that_it_followed_does_not_lead_past_the_journey() -> None:
    moving = (("case.open", {**OPEN[1], "procedure": "transport"}), CREW, *GOES_IN, ("monitor.on", {}))
    changed = (*moving, ("vent.hold", {}), ("clamp.on", {}), ("circuit.off", {}), ("clamp.off", {}), ("circuit.on", {}))
    assert step(*changed) == "vent.resume"
    assert step(*changed, ("vent.resume", {})) == "tx.depart"


def test_a_page_is_told_how_many_steps_of_the_line_lie_behind_also_while_it_shows_another_step() -> None:
    checked = ("check.done", {"phase": "don", "checker": "P3", "subject": "P2", "result": "pass"})
    door = NextView.of([now(OPEN, CREW, ("comms.test", {"result": "ok"}), GOES_IN[0], checked)])
    assert door.step is not None
    assert (door.step.kind, door.place) == ("room.in", 1)
    failed = now(*TRIED, ("scope.end", {"n": 1, "result": "no view"}))
    again = NextView.of([failed])
    assert again.step is not None
    line = [milestone.kind for milestone in inside_milestones(failed) if milestone.spine]
    assert (again.step.kind, line[again.place]) == ("scope.start", "tube.passed")


def test_each_step_leads_to_the_one_after_it() -> None:
    assert step(*READY, ("drug.given", {"class": "induction"})) == "drug.given"
    assert step(*TRIED) in ("scope.end", "tube.passed")


def test_after_an_attempt_without_a_tube_the_next_step_is_another_attempt_or_a_rescue() -> None:
    view = NextView.of([now(*TRIED, ("scope.end", {"n": 1, "result": "no view"}))])
    assert view.step is not None
    assert (view.step.kind, view.step.body["n"]) == ("scope.start", 2)
    assert [offer.kind for offer in view.instead] == [
        "mask.vent",
        "mask.vent",
        "sga.in",
    ]  # plans B to D stand beside: panel plans
    assert len(view.instead) <= BESIDE_MOST


def test_while_an_attempt_runs_its_other_endings_are_one_tap_away() -> None:
    assert "scope.end" in [offer.kind for offer in NextView.of([now(*TRIED)]).instead]


def test_a_tube_without_proof_can_be_said_to_give_no_carbon_dioxide() -> None:
    case = now(*TRIED, ("tube.passed", {}), ("cuff.up", {}), ("vent.first", {}))
    assert offered("next", case)[0] == "co2.yes"
    assert "co2.no" in offered("next", case)


def test_when_every_step_was_tapped_it_says_so() -> None:
    case = now(OPEN, ("agp.end", {}), ("count.done", {}), ("case.close", {}))
    view = NextView.of([case])
    assert view.step is None or view.step.label in words("next", case)


FAILED = (*TRIED, ("scope.end", {"n": 1, "result": "no view"}))


def declared(plan: str, *said: Said) -> str:
    return step(*FAILED, ("rescue.declare", {"plan": plan}), *said)


def test_a_declared_plan_leads_through_the_departments_own_steps_to_the_proof() -> None:
    assert declared("B") == "sga.in"
    assert declared("B", ("sga.in", {"n": 1})) == "co2.yes"
    assert declared("C") == "mask.vent"
    assert declared("D") == "fona.start"
    placed = (("fona.start", {}), ("fona.in", {"size": 6}))
    assert declared("D", *placed) == "cuff.up"
    assert declared("D", *placed, ("cuff.up", {})) == "vent.first"
    assert declared("D", *placed, ("cuff.up", {}), ("vent.first", {})) == "co2.yes"
    assert declared("D", *placed, ("cuff.up", {}), ("vent.first", {}), ("co2.yes", {})) == "tube.secured"


def test_when_a_plan_is_used_up_the_next_one_is_the_next_step() -> None:
    view = NextView.of([now(*FAILED, ("rescue.declare", {"plan": "C"}), ("mask.vent", {"quality": "poor"}))])
    assert view.step is not None
    assert (view.step.kind, view.step.body["plan"]) == ("rescue.declare", "D")


def test_without_carbon_dioxide_what_is_in_place_comes_out_by_default() -> None:
    tube = (*TRIED, ("tube.passed", {}), ("cuff.up", {}), ("vent.first", {}), ("co2.no", {}))
    assert step(*tube) == "tube.out"
    assert "co2.yes" in [offer.kind for offer in NextView.of([now(*tube)]).instead]
    assert declared("B", ("sga.in", {"n": 1}), ("co2.no", {})) == "sga.out"


def test_an_open_circuit_is_closed_and_then_the_clamp_comes_off() -> None:
    opened = (*READY, ("clamp.on", {}), ("circuit.off", {}))
    assert step(*opened) == "circuit.on"
    assert step(*opened, ("circuit.on", {})) == "clamp.off"
    assert step(*opened, ("circuit.on", {}), ("clamp.off", {})) == "drug.given"


CHECKED = (
    OPEN, CREW, ("role.assign", {"DOC": "P4"}), ("comms.test", {"result": "ok"}),
    *((kind, {"p": p, **body}) for p in ("P1", "P2", "P4") for kind, body in (("don.start", {"ens": "airborne"}),)),
    *(("check.done", {"phase": "don", "subject": p, "checker": "P3", "result": "pass"}) for p in ("P1", "P2", "P4")),
)  # fmt: skip


def test_all_who_were_checked_for_the_room_go_in_with_one_tap() -> None:
    view = NextView.of([now(*CHECKED)])
    assert view.step is not None
    assert (view.step.kind, view.step.body) == ("room.in", {"p": ["P1", "P2", "P4"]})
    assert view.crowd == "Ada, Bea, Dot"
    assert [offer.who for offer in view.moving] == ["Ada", "Bea", "Dot"]


def test_before_anybody_is_checked_nobody_is_sent_in() -> None:
    view = NextView.of([now(OPEN, CREW, ("comms.test", {"result": "ok"}), ("don.start", {"p": "P2"}))])
    assert view.step is None
    assert "goes in from here" in words("next", now(OPEN, CREW, ("comms.test", {"result": "ok"})))


def test_once_the_count_is_done_who_comes_out_is_one_tap_by_name_the_documenter_last() -> None:
    said = (*CHECKED, *(("room.in", {"p": p}) for p in ("P4", "P1", "P2")), ("tube.passed", {}), ("co2.yes", {}))
    assert NextView.of([now(*said)]).moving == ()
    view = NextView.of([now(*said, ("count.done", {}))])
    assert [offer.who for offer in view.moving] == ["Ada", "Bea", "Dot"]
    assert {offer.kind for offer in view.moving} == {"room.out"}


def test_the_operator_stands_chosen_and_after_a_failure_the_second_operator_who_has_come() -> None:
    view = NextView.of([now(*READY, ("drug.given", {"class": "induction"}), ("drug.given", {"class": "relaxant"}))])
    assert view.step is not None
    assert view.step.body == {"n": 1, "op": "P2"}
    came = (*TRIED[:-1], ("scope.start", {"n": 1, "op": "P2"}), ("scope.end", {"n": 1, "result": "no view"}),
            ("role.assign", {"SO": "P4"}), ("room.in", {"p": "P4"}))  # fmt: skip
    again = NextView.of([now(*came)]).step
    assert again is not None
    assert (again.body["n"], again.body["op"]) == (2, "P4")


def test_a_tube_that_goes_back_after_an_extubation_is_led_to_its_proof() -> None:
    opening = ("case.open", {"procedure": "extubation", "age": "adult"})
    said = (opening, CREW, *GOES_IN, ("ext.out", {}), ("scope.start", {"n": 1}))
    assert step(*said) == "tube.passed"
    said = (*said, ("tube.passed", {}), ("scope.end", {"n": 1, "result": "tube"}))
    assert step(*said) == "cuff.up"
    assert step(*said, ("cuff.up", {}), ("vent.first", {})) == "co2.yes"


@pytest.mark.parametrize("protocol", protocols(), ids=lambda protocol: protocol.id)
def test_the_next_step_leads_through_the_whole_line_of_every_protocol(protocol: Protocol) -> None:
    said: list[Said] = [
        ("case.open", {"procedure": protocol.procedure, "age": protocol.ages[0]}),
        CREW, ("comms.test", {"result": "ok"}), ("don.start", {"p": "P2"}), ("room.in", {"p": "P2"}),
    ]  # fmt: skip
    line = [m for m in inside_milestones(now(*said)) if m.spine and m.kind != "comms.test"]
    taken = []
    while (tap := NextView.of([now(*said)]).step) is not None:
        taken.append(tap.label)
        said.append((tap.kind, dict(tap.body)))
        assert len(taken) <= len(line), taken
    assert taken == [m.label for m in line]
