"""Trays, items and their one-way places, requests."""

from __future__ import annotations

import pytest

from app.case.state import RequestState
from tests.app.case.telling import moment, state_of


def test_a_tray_is_as_it_was_last_staged() -> None:
    state = state_of(
        "01:00 kit.staged tray=clean; has=tube,tube,clamp; missing=bougie",
        "02:00 kit.staged tray=clean; has=tube; missing=none; expired=filter",
    )
    tray = state.trays["clean"]
    assert (tray.has, tray.missing, tray.expired, tray.staged_at) == (("tube",), (), ("filter",), moment("02:00"))
    assert state.places["clean"] == {"tube": 1}


def test_a_tray_counts_what_lies_on_it_more_than_once() -> None:
    assert state_of("01:00 kit.staged tray=door; has=tube,tube,clamp").places["door"] == {"tube": 2, "clamp": 1}


def test_an_item_leaves_one_place_and_lies_in_another() -> None:
    state = state_of("01:00 kit.staged tray=door; has=bougie", "02:00 item.move item=bougie; from=door; to=room")
    assert (state.places["door"], state.places["room"]) == ({}, {"bougie": 1})


def test_a_quantity_moves_together_and_a_place_never_holds_less_than_nothing() -> None:
    state = state_of("02:00 item.move item=swab; from=room; to=soiled; quantity=5")
    assert (state.places["room"], state.places["soiled"]) == ({}, {"swab": 5})


def test_quantities_are_whole_where_they_are_whole() -> None:
    lines = ("02:00 item.move item=gauze; to=room; quantity=1.5", "03:00 item.move item=gauze; to=room; quantity=0.5")
    assert state_of(*lines[:1]).places == {"room": {"gauze": 1.5}}
    there = state_of(*lines).places["room"]["gauze"]
    assert (there, type(there)) == (2, int)


def test_an_item_may_turn_up_from_nowhere() -> None:
    assert state_of("02:00 item.move item=pump; to=quarantine").places == {"quarantine": {"pump": 1}}


ASKED = "01:00 req.new q=q1; item=line set; urg=now; from=offer"
STEPS = (
    ("01:10 req.ack q=q1; p=P5; via=screen", RequestState.ACKNOWLEDGED),
    ("02:00 req.in q=q1; via=voice", RequestState.HANDED_IN),
    ("02:10 req.got q=q1", RequestState.RECEIVED),
)


@pytest.mark.parametrize("steps", [1, 2, 3])
def test_a_request_goes_from_asked_to_received(steps: int) -> None:
    request = state_of(ASKED, *(line for line, _ in STEPS[:steps])).requests["q1"]
    assert request.state is STEPS[steps - 1][1]
    assert request.open is (steps < 3)


def test_a_request_keeps_each_of_its_moments() -> None:
    request = state_of(ASKED, *(line for line, _ in STEPS)).requests["q1"]
    assert (request.item, request.urgency, request.offered, request.runner) == ("line set", "now", "offer", "P5")
    assert [request.asked, request.acknowledged, request.handed_in, request.received] == [
        moment(at) for at in ("01:00", "01:10", "02:00", "02:10")
    ]


def test_how_a_request_was_answered_is_kept_until_it_is_handed_in_another_way() -> None:
    assert state_of(ASKED, STEPS[0][0]).requests["q1"].via == "screen"
    assert state_of(ASKED, STEPS[0][0], "02:00 req.in q=q1").requests["q1"].via == "screen"
    assert state_of(ASKED, STEPS[0][0], STEPS[1][0]).requests["q1"].via == "voice"


def test_a_repeated_step_of_a_request_changes_no_time() -> None:
    again = ("03:00 req.new q=q1; item=pump", "03:00 req.ack q=q1; p=P6", "03:00 req.in q=q1", "03:00 req.got q=q1")
    request = state_of(ASKED, *(line for line, _ in STEPS), *again).requests["q1"]
    assert (request.item, request.acknowledged, request.handed_in) == ("line set", moment("01:10"), moment("02:00"))
    assert (request.received, request.runner) == (moment("02:10"), "P6")


def test_the_door_runner_has_it_when_nobody_is_named() -> None:
    assert state_of("00:10 role.assign DR=P5", ASKED, "01:10 req.ack q=q1").requests["q1"].runner == "P5"


def test_a_request_taken_back_is_not_open() -> None:
    request = state_of(ASKED, "01:30 req.cancel q=q1; why=found", "01:40 req.cancel q=q1").requests["q1"]
    assert (request.state, request.open, request.cancelled) == (RequestState.CANCELLED, False, moment("01:30"))


def test_what_is_handed_in_unasked_is_matched_when_a_correction_says_which_request_it_met() -> None:
    lines = (ASKED, "02:00 req.in item=line set; via=voice; id=x")
    assert state_of(*lines).requests["q1"].handed_in is None
    assert state_of(*lines, "09:00 tap.fix ref=x; set_q=q1").requests["q1"].handed_in == moment("02:00")


def test_an_answer_to_a_request_that_was_never_asked_is_kept() -> None:
    request = state_of("01:10 req.ack q=q9").requests["q9"]
    assert (request.asked, request.acknowledged, request.item) == (None, moment("01:10"), None)


def test_open_requests_come_now_before_soon_and_oldest_first() -> None:
    state = state_of(
        "01:00 req.new q=a; item=x", "02:00 req.new q=b; item=x; urg=now", "01:30 req.new q=c; item=x; urg=now",
        "01:00 req.ack q=never", "01:05 req.new q=d; item=x", "01:06 req.cancel q=d",
    )  # fmt: skip
    assert [request.q for request in state.open_requests] == ["c", "b", "a", "never"]
