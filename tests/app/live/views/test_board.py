"""The shift board: a band a case."""

from app.live.views.board import BoardView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, html, now, words

RESCUE = (OPEN, CREW, *GOES_IN, ("rescue.declare", {"plan": "D"}))


def test_rescue_comes_first_and_then_the_rooms_in_order() -> None:
    cases = [now(OPEN, case="C", room="Room 1"), now(OPEN, case="B", room="Room 2"), now(*RESCUE, room="Room 9")]
    assert [band.line.room for band in BoardView.of(cases).bands] == ["Room 9", "Room 1", "Room 2"]
    assert "Plan D" in words("board", *cases)


def test_a_rescue_that_led_to_a_proven_airway_is_over() -> None:
    case = now(*RESCUE, ("fona.in", {"size": 6}), ("vent.first", {}), ("co2.yes", {}))
    assert BoardView.of([case]).bands[0].rescue is None


def test_what_is_unanswered_is_counted() -> None:
    asks = [("req.new", {"q": f"q{n}", "item": "tube"}) for n in range(3)]
    (band,) = BoardView.of([now(OPEN, *asks, ("req.ack", {"q": "q0"}))]).bands
    assert (band.open_requests, band.unanswered) == (3, 2)


def test_the_board_offers_no_tap() -> None:
    assert "<button" not in html("board", now(*RESCUE))


def test_an_empty_board_says_where_a_case_begins() -> None:
    assert "A case begins at the desk." in words("board")


def test_the_age_of_the_news_is_always_there() -> None:
    assert 'class="since' in html("board", now(OPEN)).split("last news")[1]
