"""Likely next: from the newest milestone that the protocol knows, one tap to ask for what it offers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

import pytest

from app.case.fold import apply
from app.case.happening import Happening
from app.case.lookahead import likely_next
from app.case.state import State
from app.case.vocabulary.registry import read_body
from app.protocol.library import protocol_for

START = datetime(2026, 11, 3, 10, 0, tzinfo=UTC)


@dataclass
class Told:
    """A state told step by step, ten seconds apart."""

    state: State = field(default_factory=lambda: State("a"))
    count: int = 0

    def tell(self, kind, **body):
        self.count += 1
        at = START + timedelta(seconds=10 * self.count)
        read = read_body(kind, body)
        self.state = apply(self.state, Happening(str(self.count), kind, at, read, "in", self.count, None, None, {}))
        return self


@pytest.fixture
def told():
    return Told().tell("case.open", procedure="intubation", age="adult")


def _items(told):
    return [offer.item for offer in likely_next(told.state)]


def test_nothing_is_likely_before_a_milestone_that_the_protocol_knows(told):
    assert likely_next(told.state) == ()
    assert likely_next(told.tell("brief.done").state) == ()


@pytest.mark.parametrize(
    ("kind", "body", "item"),
    [
        ("preox.start", {}, "Second operator to the door"),
        ("drug.given", {"class": "induction"}, "Rescue tray uncovered"),
        ("rescue.declare", {"plan": "B"}, "Bronchoscope for intubation through it"),
        ("co2.yes", {"breaths": 7}, "Tube tie"),
        ("agp.end", {}, "Count sheet"),
    ],
)
def test_each_milestone_of_the_job_map_says_what_comes_next_and_where_it_is_kept(told, kind, body, item):
    offers = likely_next(told.tell(kind, **body).state)
    found = next(offer for offer in offers if offer.item == item)
    assert found.kept
    assert found.why == kind
    assert not found.one_tap
    assert "[" in found.source


def test_a_transport_that_leaves_wants_the_clean_person_at_the_lift():
    told = Told().tell("case.open", procedure="transport").tell("tx.depart")
    assert {offer.comes for offer in likely_next(told.state)} == {"Clean person at the lift"}


def test_after_the_second_failure_the_front_of_neck_set_is_one_tap_away(told):
    told.tell("scope.start", n=1).tell("scope.end", n=1, result="no view")
    assert "Front-of-neck set" not in _items(told)
    first = likely_next(told.tell("scope.start", n=2).tell("scope.end", n=2, result="tube not passed").state)[0]
    assert (first.item, first.one_tap, first.asked) == ("Front-of-neck set", True, None)
    assert first.kept
    assert first.comes


def test_what_was_asked_for_is_not_offered_again_until_it_is_cancelled(told):
    told.tell("scope.start", n=2).tell("scope.end", n=2, result="no view")
    told.tell("req.new", q="q1", item="front-of-neck set", urg="now")
    offer = likely_next(told.state)[0]
    assert (offer.item, offer.one_tap, offer.asked) == ("Front-of-neck set", False, "q1")
    assert likely_next(told.tell("req.cancel", q="q1").state)[0].one_tap


def test_an_offer_that_is_not_among_the_likely_things_comes_first(told):
    told.tell("scope.start", n=1).tell("scope.end", n=1, result="no view")
    offers = likely_next(told.state)
    assert [offer.one_tap for offer in offers] == [True, False, False]
    assert offers[0].item == "Hyperangulated blade and stylet"


def test_an_attempt_that_ends_with_a_tube_takes_back_what_the_failure_made_likely(told):
    told.tell("drug.given", **{"class": "induction"})
    told.tell("scope.start", n=1).tell("scope.end", n=1, result="no view")
    told.tell("scope.start", n=2).tell("scope.end", n=2, result="tube")
    assert _items(told) == ["Rescue tray uncovered"]


def test_an_attempt_whose_end_nobody_told_makes_nothing_likely(told):
    assert _items(told.tell("scope.start", n=2).tell("scope.end", n=2)) == []


@pytest.mark.parametrize("kind", ["case.close", "case.abort"])
def test_nothing_is_likely_once_the_case_has_ended(told, kind):
    assert likely_next(told.tell("agp.end").tell(kind).state) == ()


def test_the_pinned_protocol_is_asked_when_it_is_handed_in(told):
    told.tell("tr.incise")
    assert likely_next(told.state) == ()
    assert likely_next(told.state, protocol_for("tracheostomy", "adult")) != ()


def test_a_procedure_without_a_protocol_has_no_look_ahead():
    assert likely_next(Told().tell("case.open", procedure="unheard of").tell("agp.end").state) == ()


def test_nothing_is_sent_by_itself(told):
    told.tell("scope.start", n=2).tell("scope.end", n=2, result="no view")
    likely_next(told.state)
    assert told.state.requests == {}


def test_an_offer_that_the_protocols_list_does_not_keep_anywhere_is_still_made():
    protocol = protocol_for("intubation", "adult")
    ahead = next(one for one in protocol.look_ahead if one.when.kind == "agp.end")
    invented = replace(protocol, look_ahead=(replace(ahead, offer="Spare lamp"),))
    first = likely_next(Told().tell("agp.end").state, invented)[0]
    assert (first.item, first.kept, first.one_tap) == ("Spare lamp", None, True)


def test_a_case_whose_procedure_was_never_said_is_looked_ahead_as_an_intubation():
    assert "Count sheet" in _items(Told().tell("agp.end"))
