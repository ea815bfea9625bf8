"""Notices in the room: criticals first, quiet once seen, gone when over."""

from app.live.views.notices import NoticesView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, html, now, offered, words

LOW = (OPEN, CREW, *GOES_IN, ("drug.given", {"class": "induction"}), ("vitals", {"spo2": 84}))


def test_a_low_saturation_is_told_in_the_room() -> None:
    case = now(*LOW, judged_after_s=60)
    assert any("84" in str(one.params.values()) for one in NoticesView.in_room([case]).open)
    assert offered("room_notices", case)[0] == "notice.ack"


def test_criticals_come_before_warnings() -> None:
    critical = [one.critical for one in NoticesView.in_room([now(*LOW, judged_after_s=60)]).open]
    assert critical == sorted(critical, reverse=True)


def test_a_notice_that_was_seen_steps_back_and_stays() -> None:
    case = now(*LOW, judged_after_s=60)
    first = NoticesView.in_room([case]).open[0]
    seen = now(*LOW, ("notice.ack", dict(first.seen.body)), judged_after_s=70)
    view = NoticesView.in_room([seen])
    assert first.rule not in [one.rule for one in view.open if one.seen.body == first.seen.body]
    assert first.rule in [one.rule for one in view.seen]


def test_when_all_is_well_there_is_silence() -> None:
    assert words("room_notices", now(OPEN, judged_after_s=0)) == ""
    assert 'id="room_notices"' in html("room_notices", now(OPEN))
