"""The life of a notice on the day: raised, late, repeated, acknowledged, resolved, corrected, stood."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from app.case.rules.day import Day
from app.case.rules.settings import built_in, switched_off

REQUEST = "10:00 | DOC | req.new | q=q1; item=pump; urg=now\n"


def test_the_gaps_own_later_entries_answer_what_the_gap_asked(judge_case):
    judged = judge_case(
        "10:00 | DOC | req.new | q=q1; item=pump; urg=now; recv=15:00\n"
        "10:19 | DOC | req.ack | q=q1; via=voice; recv=15:00\n"
        "10:30 | DOC | req.got | q=q1; recv=15:00",
        start="inside",
    )
    assert judged.live == []


def test_an_answer_that_comes_in_a_later_post_finds_the_notice_raised_and_corrects_it(judge_case):
    judged = judge_case(
        REQUEST + "10:19 | DR | req.ack | q=q1; recv=10:40\n10:30 | DOC | req.got | q=q1; recv=10:40", start="inside"
    )
    assert judged.live == ["10:20 R43 W q1"]
    assert judged.final == []
    life = judged.life("R43")
    assert life.end == "corrected"
    assert life.corrected - life.notice.at == timedelta(seconds=20)
    assert not life.notice.late


def test_a_limit_passed_before_its_entries_arrived_is_dated_when_it_was_passed_and_late(judge_case):
    judged = judge_case("10:00 | DOC | req.new | q=q1; item=pump; urg=now; recv=12:00", start="inside")
    first = judged.lives[0]
    assert judged.live == ["10:20 R43 W q1", "11:00 R43 C q1"]
    assert first.notice.late
    assert first.raised - first.notice.at == timedelta(seconds=100)


def test_what_comes_at_once_is_not_late(judge_case):
    assert not judge_case("10:00 | DOC | breach | p=P1; grade=major", start="inside").life("R24").notice.late


def test_a_limit_fires_unless_an_entry_of_that_second_ends_it_and_the_last_second_counts(judge_case):
    assert judge_case(REQUEST + "10:20 | DOC | note | text=end", start="inside").live == ["10:20 R43 W q1"]
    assert judge_case(REQUEST + "10:19 | DOC | note | text=end", start="inside").live == []


def test_a_critical_is_repeated_each_minute_until_it_is_acknowledged(judge_case):
    lines = "10:00 | DOC | breach | p=P1; grade=major\n"
    life = judge_case(lines, start="inside").life("R24")
    later = life.raised + timedelta(minutes=5)
    assert life.repeats(life.raised + timedelta(seconds=59)) == 0
    assert life.repeats(life.raised + timedelta(seconds=60)) == 1
    assert life.repeats(later) == 5
    seen = judge_case(lines + "12:10 | DR | notice.ack | rule=R24; subject=P1", start="inside").life("R24")
    assert seen.repeats(later) == 2
    assert seen.end is None


def test_a_warning_is_never_repeated(judge_case):
    life = judge_case("10:00 | DOC | count.done | expected=9; found=8", start="inside").life("R48")
    assert life.repeats(life.raised + timedelta(hours=1)) == 0


@pytest.mark.parametrize(
    ("ack", "taken"),
    [
        ("rule=R24; subject=P1", True),
        ("rule=R24", True),
        ("rule=R24; subject=P2", False),
        ("rule=R14; subject=P1", False),
    ],
)
def test_an_acknowledgement_names_rule_and_subject(judge_case, ack, taken):
    judged = judge_case(f"10:00 | DOC | breach | p=P1; grade=major\n10:30 | DR | notice.ack | {ack}", start="inside")
    assert (judged.life("R24").acknowledged is not None) is taken


def test_an_earlier_acknowledgement_does_not_count_for_a_later_notice(judge_case):
    judged = judge_case(
        "10:00 | DR | notice.ack | rule=R24; subject=P1\n10:30 | DOC | breach | p=P1; grade=major", start="inside"
    )
    assert judged.life("R24").acknowledged is None


@pytest.mark.parametrize(
    ("lines", "rule", "seconds"),
    [
        (REQUEST + "10:35 | DR | req.ack | q=q1\n10:40 | DOC | req.got | q=q1", "R43", 15),
        ("10:00 | DR | door.open\n10:30 | DR | door.shut", "R46", 20),
        ("10:00 | DOC | circuit.off\n10:09 | DOC | clamp.on\n10:10 | DOC | circuit.on\n"
         "10:11 | DOC | clamp.off", "R35", 9),
        ("10:00 | DOC | circuit.off\n10:30 | DOC | circuit.on", "R36", 15),
        ("10:00 | DOC | rescue.declare | plan=D\n11:30 | DOC | fona.start", "R41", 30),
        ("10:00 | DOC | tr.open\n10:05 | DOC | vent.hold", "R54", 5),
        ("10:00 | DOC | vitals | spo2=85\n11:00 | DOC | vitals | spo2=95", "R28", 60),
        ("10:00 | DOC | vitals | sbp=80\n11:00 | DOC | vitals | sbp=95", "R39", 60),
        ("10:00 | DOC | cuff.check | cuff=40\n11:00 | DOC | cuff.check | cuff=25", "R33", 60),
        ("10:00 | DOC | co2.no\n10:20 | DOC | tube.out", "R34", 20),
        ("10:00 | DOC | help.call | who=SO\n14:00 | DOC | help.arrive | p=P6", "R42", 60),
        ("10:00 | SYS | net.down | device=a\n11:00 | SYS | net.up | device=a", "R59", 30),
        ("10:00 | DOC | count.done | expected=9; found=8\n11:00 | DOC | count.done | expected=9; found=9", "R48", 60),
        ("10:00 | CA | role.assign | SO=P1\n11:00 | CA | role.release | role=SO; p=P1", "R04", 60),
        ("10:00 | CA | case.close | ref=A\n11:00 | TL | debrief.done | actions=1", "R50", 60),
    ],
)  # fmt: skip
def test_what_is_no_longer_so_is_resolved_at_that_moment(judge_case, lines, rule, seconds):
    life = judge_case(lines, start="intubated").life(rule)
    assert (life.resolved - life.notice.at).total_seconds() == pytest.approx(seconds, abs=0.01)
    assert life.end == "resolved"


def test_a_resolved_notice_stays_in_the_final_list(judge_case):
    judged = judge_case(REQUEST + "10:35 | DR | req.ack | q=q1\n10:40 | DOC | req.got | q=q1", start="inside")
    assert judged.final == ["10:20 R43 W q1"]


def test_what_is_still_so_when_the_case_closes_has_stood(judge_case):
    judged = judge_case(
        "10:00 | DOC | breach | p=P1; grade=major\n10:30 | CA | exposure.open | p=P1\n"
        "11:00 | TL | debrief.done | actions=1\n"
        "12:00 | CA | case.close | ref=A",
        start="inside",
    )
    assert judged.life("R24").end == "stood"


def test_a_rule_that_is_off_is_silent_and_named_in_the_record(judge_case):
    def off(state):
        settings = dict(built_in(state))
        settings["R24"] = replace(settings["R24"], on=False, why_off="not used here")
        return settings

    lines = "10:00 | DOC | breach | p=P1; grade=major"
    judged = judge_case(lines, start="inside", settings_of=off)
    assert judged.live == []
    assert switched_off(off(judged.day.judgement.cases.popitem()[1].now.state)) == ("R24",)


def test_the_department_sets_limit_and_severity(judge_case):
    def set_otherwise(state):
        settings = dict(built_in(state))
        settings["R43"] = replace(
            settings["R43"],
            thresholds={**settings["R43"].thresholds, "now_s": 30},
            levels={**settings["R43"].levels, "now": "N"},
        )
        return settings

    lines = REQUEST + "10:40 | DR | req.ack | q=q1\n10:41 | DOC | req.got | q=q1"
    assert judge_case(lines, start="inside", settings_of=set_otherwise).live == ["10:30 R43 N q1"]


def test_the_next_due_second_is_the_first_at_which_time_alone_speaks(judge_case):
    judged = judge_case(REQUEST, start="inside")
    due = judged.day.next_due()
    opened = judged.day.judgement.cases.copy().popitem()[1].now.state.opened_at
    assert (due - opened).total_seconds() == 620
    after = judged.day.end(due)
    assert [notice.rule for notice in after.notices()] == ["R43"]
    assert (after.next_due() - opened).total_seconds() == 660


def test_nothing_is_due_when_everything_is_answered(judge_case):
    judged = judge_case(
        "00:30 | DOC | req.new | q=q1; item=pump; urg=now\n00:31 | DR | req.in | q=q1\n00:32 | DOC | req.got | q=q1"
    )
    assert judged.day.next_due() is None


def test_a_day_without_entries_has_nothing():
    day = Day()
    assert day.arrive([]) is day
    assert day.notices() == day.lives() == ()
    assert day.next_due() is None
