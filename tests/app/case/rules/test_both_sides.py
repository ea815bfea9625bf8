"""What both sides of the door recorded is one moment: the earlier is kept, the later changes nothing (job map 5, R58)."""

from __future__ import annotations

import pytest

ATTEMPT = "07:00 | DOC | scope.start | n=1\n07:10 | DOC | tube.passed | size=8.0\n07:12 | DOC | scope.end | n=1; result=tube\n"


def test_a_tube_that_the_door_records_too_leaves_the_cuff_up(judge_case):
    judged = judge_case(
        ATTEMPT + "07:15 | DOC | cuff.up | cuff=25\n07:20 | DR | tube.passed | size=8.0\n"
        "07:30 | DOC | vent.first | via=ventilator\n07:50 | DOC | co2.yes | breaths=7",
        start="induced",
    )
    assert judged.live == judged.final == ["07:20 R58 N"]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("{at} | {who} | breach | p=P2; type=strap; grade=major\n", "10:00 R24 C P2"),
        ("{at} | {who} | help.call | who=SO\n", "13:00 R42 C SO"),
        ("{at} | {who} | co2.no | device=tube\n", "10:00 R34 C"),
        ("{at} | {who} | room.out | p=P2\n", "13:00 R25 W P2"),
        ("{at} | {who} | count.done | expected=9; found=8\n", "10:00 R48 W"),
    ],
)
def test_what_is_recorded_on_both_sides_is_said_once(judge_case, lines, said):
    taps = lines.format(at="10:00", who="DOC") + lines.format(at="10:20", who="DR")
    judged = judge_case(taps + "10:30 | DOC | tube.out | what=tube\n13:30 | DOC | note | text=x", start="intubated")
    assert judged.of(said[6:9]) == [said]
    assert judged.of("R58") == ["10:20 R58 N"]


def test_somebody_dressed_and_checked_stays_so_when_the_other_side_records_the_dressing_late(judge_case):
    judged = judge_case(
        "10:00 | DR | don.start | p=P6; ens=airborne\n"
        "10:15 | DR | check.done | phase=don; checker=P5; subject=P6; start=10:05; result=pass\n"
        "10:20 | DOC | don.start | p=P6; ens=airborne\n10:30 | DOC | room.in | p=P6",
        start="intubated",
    )
    assert judged.final == ["10:20 R58 N"]


@pytest.mark.parametrize("rule", ["R12", "R10"])
def test_another_finding_from_the_other_side_is_a_new_word(judge_case, rule):
    first = {
        "R12": "00:26 | DOC | comms.test | result=fail\n",
        "R10": "00:26 | DOC | kit.staged | tray=clean; missing=clamp\n",
    }
    then = {
        "R12": "00:29 | DR | comms.test | result=ok\n",
        "R10": "00:29 | DR | kit.staged | tray=clean; missing=none\n",
    }
    assert judge_case(first[rule] + then[rule], start="planned").of(rule) == []
    entry = "02:00 | DOC | room.in | p=P1"
    assert judge_case(first[rule] + then[rule] + entry, start="planned").of(rule) == []
    assert len(judge_case(first[rule] + entry, start="planned").of(rule)) == 1


def test_somebody_who_undressed_in_between_begins_anew(judge_case):
    judged = judge_case(
        "10:00 | DOC | room.out | p=P2\n10:01 | DR | doff.start | p=P2; checker=P5\n10:10 | DR | doff.done | p=P2\n"
        "10:20 | CA | doff.start | p=P2\n11:30 | DOC | note | text=x",
        start="intubated",
    )
    assert judged.of("R22") == ["11:20 R22 W P2"]


def test_with_the_first_of_the_two_voided_the_other_stands(judge_case):
    judged = judge_case(
        "10:00 | DOC | breach | id=x; p=P2; type=strap; grade=major\n10:10 | DR | breach | p=P2; type=strap; grade=major\n"
        "11:00 | DOC | tap.void | ref=x",
        start="intubated",
    )
    assert judged.final == ["10:10 R24 C P2"]
