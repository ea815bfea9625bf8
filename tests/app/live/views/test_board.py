"""The shift board: a band a case."""

from app.live.views.board import BoardView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, html, now, words

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


def test_a_room_where_called_help_has_not_come_stands_before_the_quiet_ones() -> None:
    called = now(OPEN, ("help.call", {"who": "second operator"}), case="B", room="Room 7")
    bands = BoardView.of([now(OPEN, room="Room 1"), called]).bands
    assert [(band.line.room, band.help_since) for band in bands] == [("Room 7", after(10)), ("Room 1", None)]
    came = now(OPEN, ("help.call", {}), ("help.arrive", {}))
    assert BoardView.of([came]).bands[0].help_since is None


def test_a_runners_load_is_counted_over_all_rooms() -> None:
    ask = ("req.new", {"q": "q1", "item": "tube"})
    one, two = now(OPEN, CREW, ask), now(OPEN, CREW, ask, case="B", room="Room 5")
    assert [(b.runner, b.runner_rooms, b.runner_asked) for b in BoardView.of([one, two]).bands] == [("Cy", 2, 2)] * 2
    assert "door: Cy, 2 rooms, 2 to bring" in words("board", one, two)


def test_rooms_that_clear_and_what_is_still_owed_stand_there() -> None:
    gone = (("room.out", {"p": "P2"}), ("agp.end", {}), ("count.done", {}), ("patient.out", {}))
    case = now(OPEN, CREW, *GOES_IN, ("breach", {"p": "P2"}), *gone)
    (band,) = BoardView.of([case]).bands
    assert (band.unfollowed, band.debrief_open, band.clear is not None) == (1, True, True)
    text = words("board", case)
    assert "air clear at" in text
    assert "1 breach without an exposure record" in text
    assert "debrief owed" in text
    followed = now(OPEN, CREW, *GOES_IN, ("breach", {"p": "P2"}), ("exposure.open", {"p": "P2"}))
    assert BoardView.of([followed]).bands[0].unfollowed == 0
