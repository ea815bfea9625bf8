"""What the rooms want, as the door sees it."""

from app.live.views.requests import RequestsView
from tests.app.live.views.scene import CREW, OPEN, after, now, offered, words

NEW = ("req.new", {"q": "q1", "item": "bougie", "urg": "now"})
ROOM = (OPEN, CREW)


def test_the_room_is_the_first_word_of_each_request() -> None:
    text = words("requests", now(*ROOM, NEW))
    assert text.index("Room 4") < text.index("bougie")


def test_one_tap_moves_a_request_on_until_it_is_the_rooms_turn() -> None:
    assert offered("requests", now(*ROOM, NEW)) == ["req.ack", "req.in"]
    assert offered("requests", now(*ROOM, NEW, ("req.ack", {"q": "q1"}))) == ["req.in"]
    assert offered("requests", now(*ROOM, NEW, ("req.ack", {"q": "q1"}), ("req.in", {"q": "q1"}))) == []


def test_what_nobody_has_in_hand_stands_apart_from_what_is_on_its_way() -> None:
    other = ("req.new", {"q": "q2", "item": "suction", "urg": "soon"})
    view = RequestsView.of([now(*ROOM, NEW, other, ("req.ack", {"q": "q1"}))])
    assert [one.item for one in view.unanswered] == ["suction"]
    assert [(one.item, one.runner) for one in view.coming] == [("bougie", "Cy")]


def test_now_before_soon_and_the_oldest_first_over_all_rooms() -> None:
    soon, later = ("req.new", {"q": "q2", "item": "blanket"}), ("req.new", {"q": "q3", "item": "tube", "urg": "now"})
    one, two = now(*ROOM, soon, later), now(OPEN, NEW, case="B", room="Room 5")
    assert [(wanted.room, wanted.item) for wanted in RequestsView.of([one, two]).unanswered] == [
        ("Room 5", "bougie"), ("Room 4", "tube"), ("Room 4", "blanket"),
    ]  # fmt: skip


def test_nothing_waits() -> None:
    assert "Nothing waits for an answer." in words("requests", now(*ROOM, NEW, ("req.got", {"q": "q1"})))
    assert "Nothing waits for an answer." in words("requests")


def test_a_request_whose_asking_never_arrived_is_shown_all_the_same() -> None:
    assert len(RequestsView.of([now(*ROOM, ("req.ack", {"q": "q9"}))]).coming) == 1


def test_size_and_place_come_from_the_procedures_kit_list_however_the_item_is_written() -> None:
    plan = ("plan.set", {"tube": 8.0, "sga": "4"})
    asked = ("req.new", {"q": "q1", "item": "other supraglottic SIZE", "urg": "now"})
    (one,) = RequestsView.of([now(*ROOM, plan, asked)]).unanswered
    assert (one.kept, one.sizes, one.planned) == ("Door tray", ("3", "4", "5"), "4")
    assert "kept: Door tray · sizes 3, 4, 5 · planned 4" in words("requests", now(*ROOM, plan, asked))


def test_what_the_procedure_does_not_know_has_no_place() -> None:
    (one,) = RequestsView.of([now(*ROOM, ("req.new", {"q": "q1", "item": "a blanket"}))]).unanswered
    assert (one.kept, one.sizes, one.planned) == ("", (), "")


def test_whoever_fetches_can_take_it_in_one_tap() -> None:
    (one,) = RequestsView.of([now(*ROOM, ("role.assign", {"OR": "P4"}), NEW)]).unanswered
    fetch = one.beside[0]
    assert (fetch.label, fetch.body) == ("Dot", {"q": "q1", "p": "P4"})
    (taken,) = RequestsView.of([now(*ROOM, ("role.assign", {"OR": "P4"}), NEW, ("req.ack", fetch.body))]).coming
    assert taken.runner == "Dot"


def test_on_its_way_shows_both_ages() -> None:
    case = now(*ROOM, NEW, ("req.ack", {"q": "q1"}))
    (one,) = RequestsView.of([case]).coming
    assert (one.asked, one.since) == (after(20), after(30))


def test_two_rooms_may_name_their_requests_alike() -> None:
    ids = [one.id for one in RequestsView.of([now(*ROOM, NEW), now(OPEN, NEW, case="B", room="Room 5")]).unanswered]
    assert len(set(ids)) == 2
