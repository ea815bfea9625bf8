"""Notices at the door: the room first, names in place of ids."""

from app.live.views.notices import NoticesView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, html, now, words

LOW = (OPEN, CREW, *GOES_IN, ("drug.given", {"class": "induction"}), ("vitals", {"spo2": 78}))


def test_a_critical_reaches_the_door_with_the_room_in_front() -> None:
    case = now(*LOW, judged_after_s=60)
    critical = [one for one in NoticesView.at_door([case]).open if one.critical]
    assert critical
    assert words("door_notices", case).index("Room 4") < words("door_notices", case).index(critical[0].rule)


def test_people_are_named_and_not_numbered() -> None:
    text = words("door_notices", now(*LOW, judged_after_s=60))
    assert "P2" not in text


def test_notices_of_all_rooms_stand_together() -> None:
    cases = [now(*LOW, judged_after_s=60), now(*LOW, case="B", room="Room 5", judged_after_s=60)]
    assert {one.room for one in NoticesView.at_door(cases).open} == {"Room 4", "Room 5"}


def test_without_a_case_there_is_silence() -> None:
    assert words("door_notices") == ""
    assert 'id="door_notices"' in html("door_notices")
