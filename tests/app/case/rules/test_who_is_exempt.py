"""Where the rules hold back: visitors, transport crews, the time after the team, what nobody recorded."""

from __future__ import annotations

import pytest

LEFT = """
20:00 | DOC | agp.end | last=suction
21:00 | DOC | room.out | p=P1,P2,P3,P4
"""
CLEANED = "\n".join(
    f"2{place}:00 | DR | doff.done | p={p}; checker=P5; start=2{place}:00"
    for place, p in enumerate(("P1", "P2", "P3"), 2)
)


def test_a_visitor_goes_in_without_check_seal_level_fit_test_or_immunity(judge_case):
    judged = judge_case(
        "03:00 | DOC | room.in | p=X1; kind=visitor; resp=tight:K9; who=parent",
        start="inside",
        extra="immune_needed=measles",
    )
    assert judged.live == []


def test_a_porter_is_staff(judge_case):
    judged = judge_case("03:00 | DOC | room.in | p=X1; kind=porter; resp=mask", start="inside")
    assert judged.live == ["03:00 R14 C X1", "03:00 R18 C X1"]


def test_a_visitor_who_goes_first_is_not_the_first_of_the_team(judge_case):
    judged = judge_case(
        "00:30 | DOC | room.in | p=X1; kind=visitor\n01:00 | TL | brief.done | secs=60\n02:00 | DOC | room.in | p=P3",
        start="",
    )
    assert "00:30" not in " ".join(judged.live)
    assert judged.of("R01") == ["02:00 R01 W TL, AO, AA, DOC, DR"]
    assert judged.of("R08") == []


def test_after_the_team_left_one_rule_stands_for_three(judge_case):
    judged = judge_case(f"{LEFT}40:00 | DR | room.in | p=X1; kind=porter; resp=mask", start="intubated")
    assert [line for line in judged.live if line.startswith("40:00")] == ["40:00 R49 C X1"]


def test_a_respirator_is_enough_after_the_team_left(judge_case):
    judged = judge_case(f"{LEFT}40:00 | DR | room.in | p=X1; kind=porter; resp=hood", start="intubated")
    assert [line for line in judged.live if line.startswith("40:00")] == []


def test_the_visitor_needs_a_respirator_too_while_the_patient_stays(judge_case):
    judged = judge_case(f"{LEFT}40:00 | DR | room.in | p=X1; kind=visitor; resp=none", start="intubated")
    assert judged.of("R49") == ["40:00 R49 C X1"]


def test_in_a_contact_case_the_air_clears_with_the_patient_inside(judge_case):
    # 12 air changes, 99.9 %: 34.5 min, rounded up to 35 (CDC 2003, table B.1 rounds to 35 as well)
    for at, said in (("54:59", ["54:59 R49 C X1"]), ("55:00", [])):
        judged = judge_case(
            f"{LEFT}{at} | DR | room.in | p=X1; kind=porter; resp=mask", start="intubated", extra="precaution=contact"
        )
        assert judged.of("R49") == said


def test_a_room_of_unknown_air_changes_is_not_said_to_be_clear(judge_case):
    judged = judge_case(
        "00:10 | DOC | agp.end | last=suction\n50:00 | DR | room.in | p=X1; resp=mask",
        start="",
        extra="ach=na; precaution=contact",
    )
    assert judged.of("R49") == ["50:00 R49 C X1"]
    assert judged.notices[-1].params["clear_at"] is None


def test_while_one_of_the_team_is_inside_the_usual_rules_hold(judge_case):
    judged = judge_case(
        "20:00 | DOC | agp.end | last=suction\n21:00 | DOC | room.out | p=P1,P2,P3\n"
        "22:00 | DR | room.in | p=X1; kind=porter; resp=mask",
        start="intubated",
    )
    assert [line for line in judged.live if line.startswith("22:00")] == ["22:00 R14 C X1", "22:00 R18 C X1"]


def test_who_has_undressed_is_undressed(judge_case):
    judged = judge_case(
        "20:00 | DOC | room.out | p=P1\n22:00 | DR | doff.done | p=P1; checker=P5; start=20:10\n"
        "22:10 | DOC | room.in | p=P1",
        start="intubated",
    )
    assert [line for line in judged.live if line.startswith("22:10")] == [
        "22:10 R14 C P1", "22:10 R17 C P1", "22:10 R18 C P1",
    ]  # fmt: skip


def test_a_self_check_clears_nobody(judge_case):
    judged = judge_case(
        "00:30 | DR | don.start | p=P3; ens=airborne\n00:50 | DR | check.done | phase=don; checker=P3; subject=P3; "
        "result=pass\n02:00 | DOC | room.in | p=P3"
    )
    assert judged.live == ["00:50 R15 C P3", "02:00 R14 C P3"]


def test_a_crew_that_walks_with_the_patient_keeps_its_equipment_on(judge_case):
    judged = judge_case("50:00 | DOC | room.out | p=P1; tx=yes\n60:00 | CA | note | text=later", start="inside")
    assert judged.of("R25") == []


@pytest.mark.parametrize("plan", ["B", "C", "d"])
def test_only_plan_d_is_waited_for_and_only_until_the_airway_is_proven(judge_case, plan):
    judged = judge_case(
        f"08:00 | DOC | rescue.declare | plan={plan}\n08:20 | DOC | sga.in | n=1\n08:40 | DOC | co2.yes | breaths=7\n"
        "12:00 | DOC | note | text=later",
        start="induced",
    )
    assert judged.of("R41") == []


def test_what_nobody_recorded_is_no_breach(judge_case):
    judged = judge_case(
        "02:10 | DOC | monitor.on | capno=waveform\n02:20 | DOC | preox.start\n"
        "06:00 | DOC | drug.given | class=induction\n"
        "07:00 | DOC | scope.start | n=1\n07:30 | DOC | scope.end | n=1\n08:00 | DOC | scope.start | n=2\n"
        "08:30 | DOC | scope.end | n=2\n09:00 | DOC | vent.set | vt=900\n09:10 | DOC | count.done | expected=9\n"
        "09:20 | SYS | net.up | device=a\n09:30 | DOC | breach | p=P1\n09:40 | DOC | vitals | hr=100",
        start="inside",
        extra="pbw=na; shift_end=na; difficult=na",
    )
    assert judged.live == []


def test_a_drill_or_a_request_that_nobody_dated_says_nothing(judge_case):
    judged = judge_case(
        "00:30 | CA | role.assign | SO=P8", staff="staff | P8 | job=nurse; resp=hood; drill=na; immune=na"
    )
    assert judged.live == []


def test_a_child_of_unknown_years_has_no_pressure_limit_and_no_size(judge_case):
    judged = judge_case(
        "07:00 | DOC | scope.start | n=1\n07:30 | DOC | tube.passed | size=9.0\n"
        "07:31 | DOC | scope.end | n=1; result=tube\n"
        "08:00 | DOC | vitals | sbp=40",
        start="induced",
        extra="age=child; weight_kg=20",
    )
    assert judged.of("R39") == judged.of("R57") == []


@pytest.mark.parametrize("procedure", ["extubation", "transport", "tracheostomy", "bronchoscopy"])
def test_a_patient_who_came_with_a_tube_has_an_airway(judge_case, procedure):
    judged = judge_case(
        "03:00 | DOC | cuff.check | cuff=25\n03:10 | DOC | co2.yes | breaths=7",
        start="inside",
        extra=f"procedure={procedure}",
    )
    assert judged.of("R58") == []


def test_a_cuff_after_the_breath_is_no_second_notice(judge_case):
    judged = judge_case(
        "07:00 | DOC | scope.start | n=1\n07:30 | DOC | tube.passed | size=8.0\n"
        "07:31 | DOC | scope.end | n=1; result=tube\n"
        "07:50 | DOC | vent.first | via=bag\n07:55 | DOC | cuff.up | cuff=25\n08:00 | DOC | co2.yes | breaths=7",
        start="induced",
    )
    assert judged.live == ["07:50 R32 C"]


def test_an_attempt_started_twice_is_one_note_and_no_further_attempt(judge_case):
    judged = judge_case(
        "07:00 | DOC | scope.start | n=3\n07:02 | DOC | scope.start | n=3\n07:10 | DOC | scope.end | n=3; result=tube",
        start="induced",
    )
    assert judged.live == ["07:00 R31 C n3", "07:02 R58 N"]


def test_handing_over_the_door_takes_a_role_and_leaves_the_other(judge_case):
    judged = judge_case(
        "00:30 | CA | role.assign | SO=P6\n00:40 | CA | role.handover | role=DR; from=P5; to=P6\n"
        "00:50 | CA | role.handover | role=AA; from=P2; to=P6"
    )
    assert judged.live == ["00:50 R04 W P6"]


def test_no_limit_runs_after_the_close(judge_case):
    judged = judge_case(
        "10:00 | DOC | req.new | q=q1; item=pump; urg=now\n10:01 | TL | debrief.done | actions=0\n"
        "10:15 | CA | case.close | ref=A\n200:00 | CA | note | text=later",
        start="inside",
    )
    assert judged.live == []


def test_what_happens_after_the_close_is_still_judged(judge_case):
    judged = judge_case(
        "10:01 | TL | debrief.done | actions=0\n10:15 | CA | case.close | ref=A\n"
        "11:00 | DOC | breach | p=P1; grade=major",
        start="inside",
    )
    assert judged.live == ["11:00 R24 C P1"]
