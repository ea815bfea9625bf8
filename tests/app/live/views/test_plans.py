"""Plans B to D and the call for help, one tap each while the airway is not proven."""

from app.live.views.plans import PlansView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, html, now

INSIDE = (OPEN, CREW, *GOES_IN)
INDUCED = (*INSIDE, ("drug.given", {"class": "induction"}))


def declared(*said: Said) -> list[str]:
    return [str(offer.body["plan"]) for offer, _, _ in PlansView.of([now(*said)]).declare]


def test_every_plan_is_one_tap_away_at_any_time_in_the_airway_phase() -> None:
    assert declared(*INSIDE) == declared(*INDUCED) == ["B", "C", "D"]


def test_before_anybody_is_inside_and_once_the_airway_is_proven_there_is_none() -> None:
    assert declared(OPEN, CREW) == []
    assert declared(*INDUCED, ("tube.passed", {}), ("co2.yes", {})) == []


def test_the_plan_in_force_is_marked() -> None:
    view = PlansView.of([now(*INDUCED, ("rescue.declare", {"plan": "B"}))])
    assert [now_ for _, _, now_ in view.declare] == [True, False, False]
    assert 'aria-current="true"' in html("plans", now(*INDUCED, ("rescue.declare", {"plan": "B"})))


def test_help_calls_the_second_operator_while_one_waits_and_otherwise_a_second_team() -> None:
    (call,) = PlansView.of([now(*INDUCED)]).calls
    assert (call.kind, call.body["who"]) == ("help.call", "second team")
    (call,) = PlansView.of([now(*INDUCED, ("role.assign", {"SO": "P4"}))]).calls
    assert call.body["who"] == "SO"
