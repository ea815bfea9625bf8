"""What is likely next, shown at the door and never sent by itself."""

from app.live.views.likely import LikelyView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, now, words

FAILED = (
    OPEN, CREW, *GOES_IN, ("drug.given", {"class": "induction"}), ("scope.start", {"n": 1}),
    ("scope.end", {"n": 1, "result": "no view"}),
)  # fmt: skip


def test_after_a_failed_attempt_something_is_made_ready_in_one_tap() -> None:
    coming = LikelyView.of([now(*FAILED)]).coming
    assert coming
    assert {one.room for one in coming} == {"Room 4"}
    asks = [one.ask for one in coming if one.ask is not None]
    assert all(offer.body["from"] == "look-ahead" for offer in asks)


def test_what_was_asked_for_is_not_offered_again() -> None:
    item = LikelyView.of([now(*FAILED)]).coming[0].item
    case = now(*FAILED, ("req.new", {"q": "q1", "item": item, "from": "look-ahead", "urg": "now"}))
    assert item not in [one.item for one in LikelyView.of([case]).coming]


def test_nothing_is_likely_of_a_case_that_is_closed() -> None:
    assert LikelyView.of([now(*FAILED, ("case.close", {}))]).coming == ()
    assert "Nothing in particular." in words("likely", now(OPEN, ("case.close", {})))


def test_one_tap_makes_a_thing_ready_and_it_stays_in_sight_as_ready() -> None:
    first = LikelyView.of([now(*FAILED)]).coming[0]
    case = now(*FAILED, ("local.done", first.ready.body))
    (ahead,) = LikelyView.of([case]).rooms
    assert [one.item for one in ahead.things if one.ready_at is not None] == [first.item]
    assert first.item not in [one.item for one in ahead.left]


def test_what_was_ready_for_an_earlier_moment_is_asked_for_again() -> None:
    first = LikelyView.of([now(*FAILED)]).coming[0]
    again = (("scope.start", {"n": 1}), ("scope.end", {"n": 1, "result": "no view"}))
    case = now(*FAILED, ("local.done", first.ready.body), *again)
    assert all(one.ready_at is None for one in LikelyView.of([case]).coming)


def test_the_room_where_something_happened_last_comes_first() -> None:
    one, two = now(*FAILED), now(*FAILED, ("co2.no", {}), case="B", room="Room 5")
    assert [ahead.room for ahead in LikelyView.of([one, two]).rooms] == ["Room 5", "Room 4"]
