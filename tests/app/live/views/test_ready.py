"""What the clean side makes ready, case by case."""

from app.live.views.ready import ReadyView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, now, offered, words


def test_only_the_clean_sides_steps_are_there() -> None:
    assert not {"scope.start", "preox.start", "room.in"} & set(offered("ready", now(OPEN)))
    assert "room.ready" in offered("ready", now(OPEN))
    assert "kit.staged" not in offered("ready", now(OPEN)), "trays have a panel of their own"


def test_what_was_done_moves_out_of_the_way_with_its_time() -> None:
    before, after_it = (
        ReadyView.of([now(*said)]).rooms[0] for said in ((OPEN,), (OPEN, ("room.ready", {"pressure": -8})))
    )
    assert "room.ready" in [offer.kind for offer in before.todo]
    assert "room.ready" not in [offer.kind for offer in after_it.todo]
    assert [offer.done_at for offer in after_it.done if offer.kind == "room.ready"] == [after(10)]


def test_what_was_left_out_earlier_is_still_asked_for_and_what_comes_later_is_not_yet() -> None:
    early, late = (
        [offer.kind for offer in ReadyView.of([now(*said)]).rooms[0].todo] for said in ((OPEN,), (OPEN, CREW, *GOES_IN))
    )
    assert "room.ready" in late
    assert "clean.start" not in early


def test_nothing_left_and_no_case_are_told_apart() -> None:
    assert "No case is open." in words("ready")


def test_rooms_stand_apart() -> None:
    text = words("ready", now(OPEN), now(OPEN, case="B", room="Room 5"))
    assert "Room 4" in text
    assert "Room 5" in text
