"""A screen inside that shows no case yet."""

from tests.app.live.views.scene import CREW, OPEN, html, now, words


def test_without_a_case_it_says_that_one_opens_by_itself_and_has_nothing_to_tap() -> None:
    assert "It opens here by itself" in words("choose")
    assert "<a" not in html("choose")


def test_each_case_can_be_chosen_by_its_room() -> None:
    drawn = html("choose", now(OPEN, case="A", room="Room 4"), now(OPEN, CREW, case="B", room="Room 5"))
    assert 'href="/inside?case=A"' in drawn
    assert 'href="/inside?case=B"' in drawn
    assert "It opens here by itself" not in drawn


def test_a_case_that_has_ended_is_no_choice() -> None:
    assert "It opens here by itself" in words("choose", now(OPEN, ("case.close", {})))
