"""Small edges that mutants of the rules have shown to be untested: each line of code here has a reader."""

from __future__ import annotations

import pytest

from app.case.fold import Record
from app.case.rules import judge
from app.case.rules.day import Day
from tests.app.case.telling import CASE, moment, told

TRANSPORT = "procedure=transport; tx_min=20; o2_lpm=10"
ON_THE_WAY = "09:00 | DOC | o2.check | litres=800; flow=felt\n10:00 | DOC | tx.depart | filter=yes\n"


def test_an_attempt_without_a_number_is_the_next_one(judge_case):
    judged = judge_case(
        "".join(
            f"{n + 6:02}:00 | DOC | scope.start\n{n + 6:02}:30 | DOC | scope.end | result=no view\n" for n in (1, 2)
        )
        + "09:00 | DOC | scope.start",
        start="induced",
    )
    assert judged.of("R31") == ["09:00 R31 C n3"]


def test_somebody_unfitted_who_is_tapped_in_twice_is_told_once(judge_case):
    judged = judge_case(
        "01:55 | DR | don.start | p=P1; ens=airborne; resp=tight:M1\n02:00 | DOC | room.in | p=P1\n"
        "02:05 | DOC | room.in | p=P1",
        start="dressed",
    )
    assert judged.of("R05") == ["02:00 R05 C P1"]


def test_with_the_tube_out_after_an_extubation_a_cuff_is_recorded_out_of_order(judge_case):
    lines = (
        "12:00 | DOC | cuff.check | cuff=25\n12:10 | DOC | ext.out | cuff=deflated\n12:20 | DOC | cuff.check | cuff=25"
    )
    assert judge_case(lines, extra="procedure=extubation").of("R58") == ["12:20 R58 N"]


def test_the_way_ends_with_acceptance_even_when_nobody_tapped_the_arrival(judge_case):
    short = "20:00 | DOC | o2.check | litres=50; flow=10; togo=15"
    assert judge_case(ON_THE_WAY + short, start="dressed", extra=TRANSPORT).of("R52") == ["20:00 R52 C"]
    accepted = ON_THE_WAY + "19:00 | DOC | tx.accept | by=ICU\n" + short
    assert judge_case(accepted, start="dressed", extra=TRANSPORT).of("R52") == []


@pytest.mark.parametrize(("litres", "said"), [(99, ["21:00 R52 C"]), (100, [])])
def test_a_way_that_takes_longer_than_said_has_nothing_left_to_go(judge_case, litres, said):
    # 5 min to go, said 7 min ago: 0 left, never less; the margin is 10 min, so 100 L at 10 L/min are enough
    lines = f"{ON_THE_WAY}14:00 | DOC | tx.waypoint | togo=5\n21:00 | DOC | o2.check | litres={litres}; flow=10"
    assert judge_case(lines, start="dressed", extra=TRANSPORT).of("R52") == said


def test_a_new_cylinder_that_is_too_small_as_well_is_said_anew_and_a_look_at_the_old_one_is_not(judge_case):
    lines = (
        ON_THE_WAY + "14:00 | DOC | o2.check | litres=100; flow=10; togo=12\n"
        "15:00 | DOC | o2.check | litres=90\n16:00 | DOC | o2.swap | litres=150; flow=felt\n"
    )
    assert judge_case(lines, start="dressed", extra=TRANSPORT).of("R52") == ["14:00 R52 C", "16:00 R52 C"]


def test_equipment_of_the_highest_level_on_one_person_makes_a_missing_partner_critical(judge_case):
    judged = judge_case(
        "01:51 | DR | don.start | p=P1; ens=enhanced\n01:59 | DOC | room.in | p=P1\n50:00 | DOC | room.out | p=P1\n"
        "50:10 | DR | doff.start | p=P1\n51:10 | CA | note | text=late",
        start="dressed",
    )
    assert judged.of("R22") == ["51:10 R22 C P1"]


def test_a_second_dressing_to_the_highest_level_is_not_the_first(judge_case):
    lines = "00:30 | DR | don.start | p=P1; ens=enhanced\n00:40 | DR | don.start | p=P2; ens=enhanced"
    assert judge_case(lines).of("R02") == ["00:30 R02 C"]


def test_limits_of_one_second_are_said_in_the_order_in_which_they_were_set(judge_case):
    lines = (
        "10:00 | DOC | req.new | q=b; item=pump; urg=now\n10:00 | DOC | req.new | q=a; item=tape; urg=now\n"
        "10:30 | DOC | note | text=end"
    )
    judged = judge_case(lines, start="inside")
    engine = judged.day.judgement.cases.copy().popitem()[1].now
    said = [notice.notice.subject for notice in engine.raised.values() if notice.notice.rule == "R43"]
    assert said == ["b", "a"]


def test_undressing_begins_anew_with_a_new_dressing(judge_case):
    judged = judge_case(
        "50:00 | DOC | room.out | p=P1\n50:10 | DR | doff.start | p=P1; checker=P5\n50:20 | DR | don.start | p=P1; ens=airborne\n"
        "50:40 | DOC | room.out | p=P1\n54:00 | CA | note | text=late",
        start="inside",
    )
    person = judged.day.judgement.cases.copy().popitem()[1].now.state.people["P1"]
    assert (person.doff_start, person.doff_done, person.doff_partner) == (None, None, None)


LINES = ("10:00 case.open ref=A; procedure=intubation; age=adult", "20:00 req.new q=q1; item=pump; urg=now")


def test_records_that_were_folded_already_are_judged_as_their_entries_would_be():
    entries = told(*LINES)
    taken, folded = Day(), Day()
    for n, entry in enumerate(entries, 1):
        taken = taken.arrive([entry])
        folded = folded.folded({CASE: Record.of(CASE, entries[:n])}, entry.received)
    assert folded.end(moment("30:00")).lives() == taken.end(moment("30:00")).lives() != ()


def test_the_status_of_a_day_is_what_became_of_its_notices_up_to_a_moment():
    entries = {CASE: told(*LINES)}
    assert [(life.notice.rule, life.notice.severity) for life in judge.status(entries, moment("20:30"))] == [
        ("R43", "W")
    ]
    found = judge.status(entries, moment("30:00"))
    assert [(life.notice.rule, life.notice.severity) for life in found] == [("R43", "W"), ("R43", "C")]
    assert judge.next_due(entries) == moment("20:20")


def test_the_status_of_a_day_takes_the_settings_that_are_handed_in():
    entries = {CASE: told(*LINES)}

    def off(state):
        settings = dict(judge.pinned(state))
        return settings | {
            "R43": settings["R43"].__class__(settings["R43"].levels, (), "x", settings["R43"].thresholds, on=False)
        }

    for judged in (judge.status, judge.live, judge.standing):
        assert judged(entries, moment("30:00"), off) == ()
    assert judge.next_due(entries, off) is None


def test_what_two_cases_show_together_stands_under_the_case_that_brought_it_about(judge_case):
    judged = judge_case(
        "09:00 | CA | role.assign | case=B; DR=P5\n10:00 | DOC | req.new | q=q1; item=pump; urg=now\n"
        "10:05 | DOC | req.new | case=B; q=q2; item=scope; urg=now",
        start="inside",
        staff="case | B | date=2026-11-03; t0=10:00; precaution=contact; procedure=bronchoscopy",
    )
    (found,) = [notice for notice in judged.notices if notice.rule == "R45"]
    last = max(judged.day.judgement.cases.items(), key=lambda one: one[1].record.entries[-1].received)
    assert found.case == last[0]
    assert found.entry == last[1].record.entries[-1].tap.id


NECK = "10:10 | DOC | tr.tube_in | size=8\n10:15 | DOC | cuff.up | cuff=25\n10:20 | DOC | vent.first | site=trachy\n"


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("tube.out | what=oral", ["11:20 R34 C"]),
        ("tube.out", ["11:20 R34 C"]),
        ("tube.out | what=tracheostomy tube", []),
        ("co2.yes | site=trachy", []),
        ("sga.in | n=1", []),
        ("cuff.check | cuff=25", ["11:20 R34 C"]),
    ],
)
def test_an_oral_tube_that_comes_out_says_nothing_of_the_tube_in_the_neck(judge_case, answer, said):
    judged = judge_case(
        f"{NECK}11:19 | DOC | {answer}\n11:21 | DOC | note | text=end", start="inside", extra="procedure=tracheostomy"
    )
    assert judged.of("R34") == said


def test_the_wait_for_carbon_dioxide_counts_from_the_first_breath_only(judge_case):
    lines = (
        "07:00 | DOC | scope.start | n=1\n07:30 | DOC | tube.passed | size=8.0\n07:40 | DOC | cuff.up | cuff=25\n"
        "07:50 | DOC | vent.first | via=ventilator\n08:20 | DOC | vent.first | via=bag\n"
    )
    assert judge_case(lines + "10:00 | DOC | note | text=end", start="induced").of("R34") == ["08:50 R34 C"]
    # said to be absent: that is the notice, and again a minute later; the first breath's own wait is over
    said = lines + "08:30 | DOC | co2.no | device=tube\n10:00 | DOC | note | text=end"
    assert judge_case(said, start="induced").of("R34") == ["08:30 R34 C", "09:30 R34 C"]


def test_oxygen_on_the_way_is_judged_neither_before_leaving_nor_from_what_says_no_figure(judge_case):
    short = "09:30 | DOC | o2.check | litres=50; flow=10; togo=15\n"
    left = "10:00 | DOC | tx.depart | filter=yes\n"
    felt = "11:00 | DOC | o2.check | flow=felt\n12:00 | DOC | tx.waypoint | at=lift\n"
    assert judge_case(short, start="dressed", extra=TRANSPORT).of("R52") == []
    assert judge_case(short + left + felt, start="dressed", extra=TRANSPORT).of("R52") == []
    said = judge_case(short + left + felt + "13:00 | DOC | tx.waypoint | togo=5", start="dressed", extra=TRANSPORT)
    assert said.of("R52") == ["13:00 R52 C"]


def test_somebody_whom_only_a_correction_names_is_known_by_the_registers_then_too(judge_case):
    judged = judge_case(
        "02:00 | DOC | room.in | p=P1\n02:05 | DOC | room.in | id=x; p=P2\n02:30 | DOC | tap.fix | ref=x; set_p=P7",
        start="dressed",
        staff="staff | P7 | job=nurse; resp=tight:K2; fit=M1:2026-05-01; drill=2026-05-01; immune=yes\n",
    )
    assert [said for said in judged.final if said.endswith("P7")] == [
        "02:05 R05 C P7",
        "02:05 R14 C P7",
        "02:05 R17 C P7",
        "02:05 R18 C P7",
    ]


def test_an_answer_that_came_before_its_question_is_named_by_the_request(judge_case):
    judged = judge_case(
        "10:00 | DR | req.in | q=q1\n10:00 | DOC | req.new | q=q1; item=tape; recv=12:00\n"
        "10:10 | DOC | req.got | q=q1; recv=12:00\n12:10 | DOC | note | text=x",
        start="intubated",
    )
    ((notice, params),) = judged.raised
    assert (notice.rule, params) == ("R44", {"q": "q1", "item": "q1"})
