"""What was declared and who was called, the same words on both sides of the door."""

from app.live.views.rescue import RescueView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, now, offered, words

INSIDE = (OPEN, CREW, *GOES_IN, ("drug.given", {"class": "induction"}))
DECLARED = (*INSIDE, ("rescue.declare", {"plan": "B"}))
CALLED = (*INSIDE, ("help.call", {"who": "SO"}))


def test_when_all_goes_well_there_is_silence() -> None:
    assert RescueView.of([now(*INSIDE)]).rooms == ()
    assert words("rescue", now(*INSIDE)) == ""


def test_a_declared_plan_stands_with_its_time_its_limit_and_what_the_door_does() -> None:
    (room,) = RescueView.of([now(*DECLARED)]).rooms
    assert (room.room, room.plan, room.since) == ("Room 4", "B", after(50))
    text = words("rescue", now(*DECLARED))
    assert text.startswith("Room 4 Plan B: Supraglottic airway declared")
    assert "Two insertions" in text
    assert "Second size in hand" in text


def test_the_last_plan_declared_counts_and_a_proven_airway_ends_it() -> None:
    (room,) = RescueView.of([now(*DECLARED, ("rescue.declare", {"plan": "D"}))]).rooms
    assert (room.plan, room.begun) == ("D", None)
    (room,) = RescueView.of([now(*DECLARED, ("rescue.declare", {"plan": "D"}), ("fona.start", {}))]).rooms
    assert room.begun == after(70)
    proven = now(*DECLARED, ("sga.in", {"n": 1}), ("co2.yes", {}))
    assert RescueView.of([proven]).rooms == ()


def test_it_says_what_is_at_the_door_and_what_is_coming() -> None:
    staged = ("kit.staged", {"tray": "door", "has": ["fona", "sga_sizes"]})
    asked = ("req.new", {"q": "q1", "item": "Suction set", "urg": "now"})
    (room,) = RescueView.of([now(*INSIDE, staged, asked, ("rescue.declare", {"plan": "D"}))]).rooms
    assert (room.things[0].item, room.things[0].where) == ("Suction set", "asked")
    assert "at the door" in {thing.where for thing in room.things}


def test_help_waits_until_somebody_is_said_to_have_come() -> None:
    (room,) = RescueView.of([now(*CALLED)]).rooms
    assert (room.plan, room.help.called if room.help else None) == ("", after(50))
    assert set(offered("rescue", now(*CALLED))) == {"help.arrive"}
    assert RescueView.of([now(*CALLED, ("help.arrive", {"p": "P4"}))]).rooms == ()


def test_who_went_in_since_the_call_is_offered_by_name() -> None:
    (room,) = RescueView.of([now(*CALLED, ("room.in", {"p": "P4"}))]).rooms
    assert room.help is not None
    assert (room.help.here[0].who, room.help.here[0].body) == ("Dot", {"p": "P4"})


def test_a_room_that_is_closed_is_over() -> None:
    assert RescueView.of([now(*DECLARED, ("case.close", {}))]).rooms == ()
