"""One case from across the room."""

from tests.app.live.views.scene import CREW, GOES_IN, OPEN, html, now, words


def test_it_has_nothing_to_tap() -> None:
    case = now(OPEN, CREW, *GOES_IN, ("req.new", {"q": "q1", "item": "bougie", "urg": "now"}))
    assert "<button" not in html("wall", case)
    assert "bougie" in words("wall", case)


def test_what_is_not_known_is_a_dash_and_never_a_number() -> None:
    assert words("wall", now(OPEN)).count("–") >= 3


def test_it_shows_the_clock_and_the_saturation() -> None:
    case = now(OPEN, CREW, *GOES_IN, ("vitals", {"spo2": 88}), ("drug.given", {"class": "induction"}))
    assert "Since induction" in words("wall", case)
    assert "88 %" in words("wall", case)


def test_a_rescue_and_help_that_has_not_come_are_read_from_across_the_room() -> None:
    said = (OPEN, CREW, *GOES_IN, ("rescue.declare", {"plan": "B"}), ("help.call", {"who": "second operator"}))
    assert "Plan B Help called, not here:" in words("wall", now(*said))
    over = (*said, ("help.arrive", {}), ("tube.passed", {}), ("vent.first", {}), ("co2.yes", {}))
    assert "Plan B" not in words("wall", now(*over))
    assert "Help called" not in words("wall", now(*over))
