"""What the door hands in by voice: one tap a thing, and it comes under a name of its own."""

from app.live.views.unlisted import UnlistedView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, now, words


def test_every_thing_that_the_procedure_lets_a_room_ask_for_is_one_tap() -> None:
    (room,) = UnlistedView.of([now(OPEN, CREW, *GOES_IN)]).rooms
    items = [offer.body["item"] for offer in room.things]
    assert len(items) == len(set(items)) > 5
    assert {offer.kind for offer in room.things} == {"req.in"}
    assert {offer.body["via"] for offer in room.things} == {"voice"}
    assert not any("q" in offer.body for offer in room.things), "the screen gives it a name of its own"


def test_a_room_whose_screen_has_no_link_says_so() -> None:
    case = now(OPEN, CREW, *GOES_IN, ("net.down", {"device": "tablet"}))
    assert UnlistedView.of([case]).rooms[0].lost
    assert "its screen has no link" in words("unlisted", case)


def test_nothing_is_handed_into_a_room_with_nobody_inside() -> None:
    assert UnlistedView.of([now(OPEN, CREW)]).rooms == ()
