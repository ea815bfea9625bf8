"""What was tapped last can be put right in the room without typing."""

from app.live.views.mend import MOST, MendView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, now, words

ROOM = (OPEN, CREW, *GOES_IN)
SAID = (*ROOM, ("vitals", {"spo2": 91}), ("scope.start", {"n": 1}))


def test_the_newest_stands_first_and_at_most_eight_are_offered() -> None:
    view = MendView.of([now(*SAID)])
    assert [line.id for line in view.lines] == ["e6", "e5", "e4", "e3"]
    assert len(MendView.of([now(*SAID, *([("vitals", {"hr": 80})] * 20))]).lines) == MOST
    assert "91 %" in words("mend", now(*SAID))


def test_a_minute_earlier_is_a_correction_of_that_entry() -> None:
    line = MendView.of([now(*SAID)]).lines[0]
    assert line.earlier.kind == line.later.kind == "tap.fix"
    assert (line.earlier.body["ref"], line.earlier.body["at"]) == ("e6", "2026-11-03T13:59:50.000000Z")
    assert line.later.body["at"] == "2026-11-03T14:01:50.000000Z"
    moved = now(*SAID, ("tap.fix", dict(line.later.body)))
    assert MendView.of([moved]).lines[0].later.body["at"] == "2026-11-03T14:02:50.000000Z"
    assert MendView.of([moved]).lines[0].moved


def test_what_did_not_happen_leaves_the_list() -> None:
    void = MendView.of([now(*SAID)]).lines[0].void
    case = now(*SAID, (void.kind, dict(void.body)))
    assert "e6" not in [line.id for line in MendView.of([case]).lines]
    assert case.state.attempts == ()


def test_opening_roles_and_corrections_are_not_put_right_here() -> None:
    kinds = {line.id for line in MendView.of([now(*ROOM, ("tap.void", {"ref": "e3"}))]).lines}
    assert kinds == {"e4"}


def test_a_figure_that_was_left_out_can_be_told_afterwards_of_the_newest_entry_that_has_one() -> None:
    said = (*ROOM, ("tube.passed", {}), ("cuff.up", {}))
    first, second, *_ = MendView.of([now(*said)]).lines
    assert [one.name for one in first.figures_later.steppers] == ["set_cuff"]
    assert second.tell is None
    assert first.tell is not None
    assert (first.tell.kind, first.tell.body["ref"]) == ("tap.fix", "e6")
    told = now(*said, ("tap.fix", {**first.tell.body, "set_cuff": 28.0}))
    assert told.state.airway.cuff_cmh2o == 28
    assert MendView.of([told]).lines[0].figures_later.steppers[0].start == "28"
