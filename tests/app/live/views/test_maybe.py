"""A proposal is shown on both sides, is confirmed in one tap, and while it stands neither half is offered as new."""

from app.live.views.asks import AsksView
from app.live.views.maybe import MaybeView
from app.live.views.requests import RequestsView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, after, now, offered, words

ROOM = (OPEN, CREW, *GOES_IN)
IN: Said = ("req.in", {"q": "v1", "item": "bougie", "via": "voice"})
NEW: Said = ("req.new", {"q": "q1", "item": "bougie", "urg": "now"})


def test_it_says_what_went_in_when_and_when_it_was_asked_for() -> None:
    case = now(*ROOM, NEW, IN)
    (one,) = MaybeView.of([case]).found
    assert (one.item, one.asked_at, one.given_at) == ("bougie", after(40), after(50))
    assert "maybe already in" in words("maybe", case)


def test_one_tap_makes_them_one() -> None:
    (one,) = MaybeView.of([now(*ROOM, NEW, IN)]).found
    assert (one.same.kind, dict(one.same.body)) == ("tap.fix", {"ref": "e6", "set_q": "q1"})
    assert MaybeView.of([now(*ROOM, NEW, IN, (one.same.kind, one.same.body))]).found == ()


def test_while_it_stands_neither_is_offered_as_new() -> None:
    case = now(*ROOM, NEW, IN)
    view = RequestsView.of([case])
    assert (view.unanswered, view.coming) == ((), ())
    assert AsksView.of([case]).waiting == ()


def test_one_tap_says_that_another_is_wanted_and_the_request_is_offered_again() -> None:
    (one,) = MaybeView.of([now(*ROOM, NEW, IN)]).found
    case = now(*ROOM, NEW, IN, (one.other.kind, one.other.body))
    assert MaybeView.of([case]).found == ()
    assert [wanted.item for wanted in RequestsView.of([case]).coming] == ["bougie", "bougie"]


def test_one_tap_says_that_they_are_two_when_the_room_has_the_one_it_asked_for() -> None:
    said = (*ROOM, NEW, ("req.ack", {"q": "q1"}), IN, ("req.got", {"q": "q1"}))
    (one,) = MaybeView.of([now(*said)]).found
    assert MaybeView.of([now(*said, (one.other.kind, one.other.body))]).found == ()


def test_nothing_is_shown_when_nothing_is_in_doubt() -> None:
    assert offered("maybe", now(*ROOM, NEW)) == []
