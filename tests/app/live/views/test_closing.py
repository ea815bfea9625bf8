"""What is left to the desk in a case."""

from app.live.views.closing import ClosingView
from tests.app.live.views.scene import CREW, OPEN, html, now, offered, words


def test_a_case_can_be_followed_up_closed_and_signed_from_the_desk() -> None:
    assert {
        "exposure.open",
        "incident.new",
        "debrief.start",
        "debrief.done",
        "action.new",
        "case.close",
        "case.sign",
    } <= set(offered("closing", now(OPEN)))


def test_it_opens_no_case_and_gives_no_roles_which_have_forms_of_their_own() -> None:
    assert not {"case.open", "role.assign"} & set(offered("closing", now(OPEN)))


def test_who_was_exposed_is_picked_from_the_people_of_the_case() -> None:
    assert 'value="P2">Bea</option>' in html("closing", now(OPEN, CREW))


def test_what_was_done_shows_its_time() -> None:
    (done,) = [
        one
        for one in ClosingView.of([now(OPEN, ("debrief.start", {"lead": "P1"}))]).taps
        if one.kind == "debrief.start"
    ]
    assert done.done_at is not None


def test_the_room_is_named() -> None:
    assert "Room 4" in words("closing", now(OPEN))
