"""Oxygen on the way: figures that run down, and figures that are missing."""

from __future__ import annotations

TRANSPORT = "procedure=transport; tx_min=20; o2_lpm=10"


def test_minutes_of_oxygen_run_down_on_the_way(judge_case):
    # 1000 L at 10 L/min = 100 min from 00:30; an hour later 40 min are left
    lines = (
        "00:30 | DOC | o2.check | litres=1000; flow=10\n01:00 | DOC | tx.depart | filter=yes\n"
        "60:30 | DOC | tx.waypoint | at=lift; togo={}"
    )
    for togo, said in ((30, []), (30.5, ["60:30 R52 C"])):
        judged = judge_case(lines.format(togo), extra=TRANSPORT)
        assert judged.of("R52") == said


def test_a_flow_that_was_only_felt_leaves_the_planned_one_to_reckon_with(judge_case):
    judged = judge_case(
        "00:30 | DOC | o2.check | litres=1000; flow=felt\n01:00 | DOC | tx.depart | filter=yes\n"
        "05:00 | DOC | o2.check | litres=219; flow=felt; togo=12",
        extra=TRANSPORT,
    )
    assert judged.of("R52") == ["05:00 R52 C"]


def test_oxygen_short_is_said_once_until_it_is_enough_again_or_swapped(judge_case):
    judged = judge_case(
        "00:30 | DOC | o2.check | litres=1000; flow=10\n01:00 | DOC | tx.depart | filter=yes\n"
        "05:00 | DOC | o2.check | litres=200; togo=12\n06:00 | DOC | tx.waypoint | at=lift; togo=12\n"
        "07:00 | DOC | o2.swap | litres=600; flow=felt\n08:00 | DOC | o2.check | litres=100; flow=felt; togo=8",
        extra=TRANSPORT,
    )
    assert judged.of("R52") == ["05:00 R52 C", "08:00 R52 C"]
    ends = [life.end for life in judged.lives if life.notice.rule == "R52"]
    assert ends == ["resolved", None]


def test_without_figures_for_the_way_nothing_is_said_of_oxygen(judge_case):
    judged = judge_case(
        "00:30 | DOC | o2.check | litres=10\n01:00 | DOC | tx.depart | filter=yes\n05:00 | DOC | o2.check | litres=5",
        extra="procedure=transport",
    )
    assert judged.of("R51") == judged.of("R52") == []


def test_the_planned_minutes_serve_until_the_way_is_said_anew(judge_case):
    # 20 min planned from 01:00: 16 to go at 05:00, so 26 are wanted
    lines = (
        "00:30 | DOC | o2.check | litres=1000; flow=10\n01:00 | DOC | tx.depart | filter=yes\n"
        "05:00 | DOC | o2.check | litres={}"
    )
    assert judge_case(lines.format(260), extra=TRANSPORT).of("R52") == []
    assert judge_case(lines.format(259), extra=TRANSPORT).of("R52") == ["05:00 R52 C"]


def test_the_flow_said_last_counts(judge_case):
    judged = judge_case(
        "00:30 | DOC | o2.check | litres=1000; flow=20\n01:00 | DOC | tx.depart | filter=yes\n"
        "05:00 | DOC | o2.check | litres=230; flow=10; togo=12",
        extra=TRANSPORT,
    )
    assert judged.of("R52") == []
