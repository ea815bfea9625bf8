"""Top of the inside page: where we are, in which stage, who is in here."""

from zoneinfo import ZoneInfo

import pytest

from app.live.drawing import Drawing
from app.live.panels import PANELS
from app.live.views.heading import HeadingView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, html, now, words


def test_the_room_is_the_first_word() -> None:
    assert words("heading", now(OPEN)).startswith("Room 4")


def test_one_stage_is_here_the_ones_before_it_are_past_and_the_others_ahead() -> None:
    view = HeadingView.of([now(OPEN, CREW, *GOES_IN)])
    places = [place for _, place in view.stages]
    assert places.count("here") == 1
    assert places == sorted(places, key=["past", "here", "ahead"].index)
    assert dict(view.stages)["Plan"] == "past"
    assert 'aria-current="step"' in html("heading", now(OPEN))


def test_it_counts_who_is_inside() -> None:
    assert "0 inside" in words("heading", now(OPEN, CREW))
    assert "1 inside" in words("heading", now(OPEN, CREW, *GOES_IN))


def test_a_closed_case_says_so() -> None:
    assert "closed" in words("heading", now(OPEN, ("case.close", {})))
    assert "aborted" in words("heading", now(OPEN, ("case.abort", {})))
    assert "closed" not in words("heading", now(OPEN))


def test_a_room_that_nobody_named_is_not_invented() -> None:
    assert words("heading", now()).startswith("Room not said")


@pytest.mark.parametrize("panel", sorted(PANELS))
def test_that_nobody_named_the_room_is_said_in_the_readers_language(panel: str) -> None:
    said = (CREW, *GOES_IN, ("req.new", {"q": "q1", "item": "Suction set"}), ("rescue.declare", {"plan": "D"}))
    case = now(("case.open", {"procedure": "transport"}), *said, room="", judged_after_s=600)
    assert "Room not said" not in Drawing(ZoneInfo("UTC")).panel(panel, [case], "de")
