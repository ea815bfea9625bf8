"""Each room as the door sees it."""

from app.live.views.rooms import RoomsView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, now, words


def test_a_line_has_stage_people_and_the_age_of_the_news() -> None:
    case = now(OPEN, CREW, *GOES_IN, ("vitals", {"spo2": 95}))
    (line,) = RoomsView.of([case]).rooms
    assert (line.room, line.ref, line.inside, line.spo2, line.last_at) == ("Room 4", "C1", ("Bea",), 95, after(40))
    assert "SpO2 95 %" in words("rooms", case)


def test_a_lost_screen_is_said_before_the_news_is_called_old() -> None:
    case = now(OPEN, ("net.down", {"device": "X1"}))
    assert RoomsView.of([case]).rooms[0].lost_at == after(10)
    assert "no link" in words("rooms", case)
    assert "no link" not in words("rooms", now(OPEN, ("net.down", {"device": "X1"}), ("net.up", {"device": "X1"})))


def test_an_empty_room_and_no_room_are_told_apart() -> None:
    assert "nobody inside" in words("rooms", now(OPEN))
    assert "No case is open." in words("rooms")
