"""What follows in the room, as a page that is cut off goes on by it: the same steps that the server would offer."""

from __future__ import annotations

from itertools import pairwise

from app.live.views.ahead import AheadView
from app.live.views.next import NextView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, html, now

ROOM = (OPEN, CREW, *GOES_IN)


def test_it_is_not_sent_again_as_the_case_goes_on() -> None:
    early, later = now(*ROOM), now(*ROOM, ("preox.start", {}), ("vitals", {"spo2": 90}))
    assert AheadView.of([early]) == AheadView.of([later])
    assert html("ahead", early).split(">", 1)[0].endswith("hidden")


def test_step_after_step_it_says_what_the_server_says_next() -> None:
    steps = AheadView.of([now(*ROOM)]).steps
    said: list[Said] = []
    for one, following in pairwise(steps):
        body = {"n": 1} if one.step.kind in ("scope.start", "scope.end") else {}
        said.append((one.step.kind, {**one.step.body, **body, **_needed(one.step.kind)}))
        shown = NextView.of([now(*ROOM, *said)])
        assert shown.step is not None
        assert (shown.step.kind, shown.step.label) == (following.step.kind, following.step.label)
        assert shown.last == following.last


def _needed(kind: str) -> dict[str, object]:
    return {"handover.start": {"from": "P1", "to": "P2"}}.get(kind, {})


def test_after_an_attempt_without_a_tube_another_one_and_rescue_are_offered() -> None:
    again = AheadView.of([now(*ROOM)]).again
    assert again is not None
    assert again.step.kind == "scope.start"
    assert "n" not in again.step.body, "the page counts attempts itself"
    assert {offer.kind for offer in again.instead} >= {"rescue.declare", "sga.in"}


def test_while_an_attempt_runs_its_other_endings_are_offered() -> None:
    steps = AheadView.of([now(*ROOM)]).steps
    passed = next(one for one in steps if one.step.kind == "tube.passed")
    assert {offer.kind for offer in passed.instead} == {"scope.end"}


def test_a_procedure_without_laryngoscopy_has_no_other_attempt() -> None:
    case = now(("case.open", {"procedure": "bronchoscopy", "age": "adult"}), CREW, *GOES_IN)
    assert AheadView.of([case]).again is None


def test_who_is_in_the_room_stands_chosen_and_after_a_failed_attempt_the_second_operator_does() -> None:
    team = ("role.assign", {"TL": "P1", "AO": "P2", "SO": "P3", "DR": "P4"})
    ahead = AheadView.of([now(OPEN, team, *GOES_IN, ("room.in", {"p": "P3"}))])
    start = next(one for one in ahead.steps if one.step.kind == "scope.start")
    assert ahead.again is not None
    assert (start.step.body["op"], ahead.again.step.body["op"]) == ("P2", "P3")
