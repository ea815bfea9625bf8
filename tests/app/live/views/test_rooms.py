"""Each room as the door sees it."""

from app.live.views.rooms import Room, RoomsView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, after, now, offered, words

SECOND = ("role.assign", {"OR": "P4"})


def room(*said: Said) -> Room:
    (one,) = RoomsView.of([now(*said)]).rooms
    return one


def test_a_line_has_stage_people_and_the_age_of_the_news() -> None:
    case = now(OPEN, CREW, *GOES_IN, ("vitals", {"spo2": 95}))
    line = RoomsView.of([case]).rooms[0].line
    assert (line.room, line.ref, line.inside, line.spo2, line.last_at) == ("Room 4", "C1", ("Bea",), 95, after(40))
    assert "SpO2 95 %" in words("rooms", case)


def test_a_lost_screen_is_said_before_the_news_is_called_old() -> None:
    case = now(OPEN, ("net.down", {"device": "X1"}))
    assert RoomsView.of([case]).rooms[0].line.lost_at == after(10)
    assert "no link" in words("rooms", case)
    assert "no link" not in words("rooms", now(OPEN, ("net.down", {"device": "X1"}), ("net.up", {"device": "X1"})))


def test_an_empty_room_and_no_room_are_told_apart() -> None:
    assert "nobody inside" in words("rooms", now(OPEN))
    assert "No case is open." in words("rooms")


def test_who_has_worn_it_longest_comes_out_next_with_a_partner_and_a_time() -> None:
    later = (("don.start", {"p": "P1", "ens": "airborne"}), ("room.in", {"p": "P1"}))
    one = room(OPEN, CREW, *GOES_IN, *later)
    assert [person.name for person in one.inside] == ["Bea", "Ada"]
    assert one.partner is not None
    assert one.partner.name == "Cy"
    text = words("rooms", now(OPEN, CREW, *GOES_IN, *later))
    assert "out by 16:00 , relief dresses from 15:55 (5:00 as the procedure plans) · then with Cy" in text


def test_the_door_passes_to_a_second_runner_in_one_tap() -> None:
    bodies = [offer.body for offer in room(OPEN, CREW, SECOND).hands_over]
    assert bodies == [{"role": "DR", "from": "P3", "to": "P4"}]
    after_it = room(OPEN, CREW, SECOND, ("role.handover", bodies[0]))
    assert after_it.runner == "Dot"


def test_another_rooms_runner_can_take_it_and_the_load_is_shown() -> None:
    here, there = now(OPEN, CREW), now(OPEN, ("role.assign", {"DR": "P4"}), case="B", room="Room 5")
    assert [offer.who for offer in RoomsView.of([here, there]).rooms[0].hands_over] == ["Dot"]
    both = RoomsView.of([here, now(OPEN, CREW, case="B", room="Room 5")])
    assert [one.runner_rooms for one in both.rooms] == [2, 2]


def test_the_door_is_one_tap_either_way() -> None:
    assert room(OPEN).door.kind == "door.open"
    opened = room(OPEN, ("door.open", {}))
    assert (opened.door.kind, opened.opened_at) == ("door.shut", after(10))


def test_the_last_message_stands_in_the_rooms_line() -> None:
    assert "“Lines next” " in words("rooms", now(OPEN, ("message", {"text": "Lines next"})))


def test_somebody_in_an_ensemble_that_is_taken_off_inside_can_begin_there() -> None:
    contact = (("don.start", {"p": "P2", "ens": "contact"}), ("room.in", {"p": "P2"}))
    assert [offer.kind for offer in room(OPEN, CREW, *contact).inside[0].taps] == ["doff.start", "room.out", "breach"]
    assert [offer.kind for offer in room(OPEN, CREW, *GOES_IN).inside[0].taps] == ["room.out", "breach"]


def test_a_breach_is_one_tap_beside_the_name() -> None:
    assert "breach" in offered("rooms", now(OPEN, CREW, *GOES_IN))


def test_when_the_air_is_clear_stands_there_until_the_room_is_used_again() -> None:
    gone = (OPEN, ("agp.end", {}), ("patient.out", {}))
    assert "air clear at 14:35" in words("rooms", now(*gone))
    assert room(*gone, ("room.turned", {})).clear is None
