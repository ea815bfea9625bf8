"""What the room has asked for, and can ask for in one tap."""

from math import ceil

from app.live.views.asks import LINES_MOST, MOST, ROWS_OF, AsksView
from app.live.views.vitals import figures
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, now, offered, words

ROOM = (OPEN, CREW, *GOES_IN)
NEW = ("req.new", {"q": "q1", "item": "bougie", "urg": "now"})


def test_at_most_twelve_things_can_be_asked_for_in_one_tap() -> None:
    choices = AsksView.of([now(*ROOM)]).choices
    assert 0 < len(choices) <= MOST
    assert {offer.kind for offer in choices} == {"req.new"}


def test_a_request_walks_through_its_states_until_the_room_has_it() -> None:
    said = [*ROOM, NEW]
    for step, state in ((None, "asked"), ("req.ack", "in hand"), ("req.in", "handed in")):
        if step:
            said.append((step, {"q": "q1"}))
        (waiting,) = AsksView.of([now(*said)]).waiting
        assert (waiting.item, waiting.urgent) == ("bougie", True)
        assert waiting.state in (state, "acknowledged"), "the state's own word"
    said.append(("req.got", {"q": "q1"}))
    assert AsksView.of([now(*said)]).waiting == ()


def test_a_request_that_is_open_can_be_received_or_called_off() -> None:
    assert offered("asks", now(*ROOM, NEW))[:2] == ["req.got", "req.cancel"]
    assert AsksView.of([now(*ROOM, NEW, ("req.cancel", {"q": "q1"}))]).waiting == ()


def test_what_is_on_its_way_is_not_offered_again() -> None:
    item = AsksView.of([now(*ROOM)]).choices[0].body["item"]
    asked = now(*ROOM, ("req.new", {"q": "q1", "item": item}))
    assert item not in [offer.body["item"] for offer in AsksView.of([asked]).choices]


def test_now_comes_before_soon() -> None:
    case = now(*ROOM, ("req.new", {"q": "q0", "item": "warm blanket", "urg": "soon"}), NEW)
    assert [one.q for one in AsksView.of([case]).waiting] == ["q1", "q0"]
    text = words("asks", case)
    assert text.index("bougie") < text.index("warm blanket")


def test_what_the_stage_and_open_requests_take_the_choices_give() -> None:
    proven = (
        *ROOM,
        ("tube.passed", {"size": 7.5}),
        ("cuff.up", {"cuff": 26}),
        ("vent.first", {}),
        ("co2.yes", {}),
    )
    for said in (ROOM, (*ROOM, NEW), proven, (*proven, NEW), (*proven, NEW, ("req.new", {"q": "q2", "item": "gown"}))):
        case = now(*said)
        view = AsksView.of([case])
        buttons = len(view.choices) + (view.offered is not None) + 1
        assert figures(case) + len(view.waiting) + ceil(buttons / ROWS_OF) <= LINES_MOST
        assert buttons <= MOST
