"""Every milestone that the room taps, stage by stage."""

from app.live.views.steps import StepsView
from tests.app.live.views.scene import OPEN, after, now, offered, words


def test_the_stage_that_the_case_is_in_is_marked() -> None:
    view = StepsView.of([now(OPEN, ("room.in", {"p": "P1"}))])
    assert [stage.here for stage in view.stages].count(True) == 1


def test_a_step_that_was_tapped_has_its_time() -> None:
    case = now(OPEN, ("preox.start", {}))
    done = [offer for stage in StepsView.of([case]).stages for offer in stage.taps if offer.kind == "preox.start"]
    assert [offer.done_at for offer in done] == [after(10)]
    assert "14:00" in words("steps", case)


def test_a_step_that_was_voided_has_no_time_again() -> None:
    view = StepsView.of([now(OPEN, ("preox.start", {}), ("tap.void", {"ref": "e2"}))])
    assert [o.done_at for stage in view.stages for o in stage.taps if o.kind == "preox.start"] == [None]


def test_every_milestone_of_an_intubation_is_on_a_page() -> None:
    case = now(OPEN)
    pages = {*offered("steps", case), *offered("ready", case), *offered("next", case)}
    for kind in (
        "monitor.on",
        "preox.start",
        "drug.given",
        "scope.start",
        "tube.passed",
        "cuff.up",
        "vent.first",
        "co2.yes",
    ):
        assert kind in pages, kind


def test_what_each_person_does_is_not_among_the_rooms_steps() -> None:
    assert not {"don.start", "room.in", "doff.done"} & set(offered("steps", now(OPEN)))
