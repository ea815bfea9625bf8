"""The one dominant next step in the room, and what may come instead."""

from app.live.views.next import BESIDE_MOST, NextView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, now, offered, words

READY = (OPEN, CREW, *GOES_IN, ("monitor.on", {"capno": "waveform"}), ("preox.start", {}))
TRIED = (
    *READY,
    ("drug.given", {"class": "induction"}),
    ("drug.given", {"class": "relaxant"}),
    ("scope.start", {"n": 1}),
)


def step(*said: object) -> str:
    found = NextView.of([now(*said)]).step  # type: ignore[arg-type]
    assert found is not None
    return found.kind


def test_a_step_that_was_left_out_is_not_asked_for_for_ever() -> None:
    assert step(OPEN, CREW, *GOES_IN, ("preox.start", {})) == step(*READY) == "drug.given"


def test_each_step_leads_to_the_one_after_it() -> None:
    assert step(*READY, ("drug.given", {"class": "induction"})) == "drug.given"
    assert step(*TRIED) in ("scope.end", "tube.passed")


def test_after_an_attempt_without_a_tube_the_next_step_is_another_attempt_or_a_rescue() -> None:
    view = NextView.of([now(*TRIED, ("scope.end", {"n": 1, "result": "no view"}))])
    assert view.step is not None
    assert (view.step.kind, view.step.body["n"]) == ("scope.start", 2)
    assert "rescue.declare" in [offer.kind for offer in view.instead]
    assert len(view.instead) <= BESIDE_MOST


def test_while_an_attempt_runs_its_other_endings_are_one_tap_away() -> None:
    assert "scope.end" in [offer.kind for offer in NextView.of([now(*TRIED)]).instead]


def test_a_tube_without_proof_can_be_said_to_give_no_carbon_dioxide() -> None:
    case = now(*TRIED, ("tube.passed", {}), ("cuff.up", {}), ("vent.first", {}))
    assert offered("next", case)[0] == "co2.yes"
    assert "co2.no" in offered("next", case)


def test_when_every_step_was_tapped_it_says_so() -> None:
    case = now(OPEN, ("agp.end", {}), ("count.done", {}), ("case.close", {}))
    view = NextView.of([case])
    assert view.step is None or view.step.label in words("next", case)
