"""A hand-in by voice and a request that comes later: proposed as one, never matched by itself."""

from __future__ import annotations

from typing import Any

import pytest

from app.case.matching import MATCH_S, proposals, proposed
from app.case.state import RequestState, State
from tests.app.live.views.scene import GOES_IN, OPEN, now

IN = ("req.in", {"q": "v1", "item": "Bougie", "via": "voice"})
NEW = ("req.new", {"q": "q1", "item": "bougie ", "urg": "now"})
WAIT = ("note", {"text": "ten seconds go by"})
Said = tuple[str, dict[str, Any]]


def state(*said: Said) -> State:
    return now(OPEN, *GOES_IN, *said).state


def pairs(*said: Said) -> list[tuple[str, str]]:
    return [(one.given.q, one.asked.q) for one in proposals(state(*said))]


@pytest.mark.parametrize("order", [(IN, NEW), (NEW, IN)], ids=["asked later", "asked before"])
def test_the_same_thing_handed_in_and_asked_for_is_proposed(order: tuple[Said, Said]) -> None:
    assert pairs(*order) == [("v1", "q1")]
    assert proposed(state(*order)) == {"v1", "q1"}


def test_a_confirmed_proposal_is_one_request_that_went_in() -> None:
    found = state(NEW, IN)
    (one,) = proposals(found)
    after = state(NEW, IN, ("tap.fix", {"ref": one.entry, "set_q": "q1"}))
    assert proposals(after) == ()
    assert set(after.requests) == {"q1"}
    assert after.requests["q1"].state is RequestState.HANDED_IN


def test_what_the_room_has_received_meanwhile_is_still_proposed() -> None:
    assert pairs(NEW, ("req.ack", {"q": "q1", "via": "voice"}), IN, ("req.got", {"q": "q1"})) == [("v1", "q1")]


@pytest.mark.parametrize(
    "said",
    [
        (IN, ("req.new", {"q": "q1", "item": "stylet"})),
        (IN, NEW, ("req.ack", {"q": "q1"})),
        (IN, NEW, ("req.cancel", {"q": "q1"})),
        (NEW, ("req.in", {"q": "q1"}), IN),
        (IN, NEW, ("req.got", {"q": "q1"}), ("req.got", {"q": "v1"})),
        (IN, *[WAIT] * int(MATCH_S / 10), NEW),
        (("req.new", {"q": "v1", "item": "bougie"}), IN, NEW),
    ],
    ids=["another thing", "somebody fetches another", "not needed", "handed in by its name", "both received", "too late", "asked"],
)  # fmt: skip
def test_two_things_are_not_proposed_as_one(said: tuple[Said, ...]) -> None:
    assert pairs(*said) == []


def test_just_within_the_time_it_is_proposed() -> None:
    assert pairs(IN, *[WAIT] * (int(MATCH_S / 10) - 1), NEW) == [("v1", "q1")]


def test_each_hand_in_goes_to_the_request_that_is_closest_in_time_and_to_no_other() -> None:
    second_in, second_new = ("req.in", {"q": "v2", "item": "bougie"}), ("req.new", {"q": "q2", "item": "bougie"})
    assert sorted(pairs(NEW, IN, WAIT, WAIT, WAIT, second_new, second_in)) == [("v1", "q1"), ("v2", "q2")]
    assert pairs(NEW, IN, second_new) in ([("v1", "q1")], [("v1", "q2")])
