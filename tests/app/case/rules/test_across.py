"""Several cases at once: one area, one runner, one anteroom."""

from __future__ import annotations

import pytest

from app.case.rules.across import notices_across

SECOND = (
    "case | B | date=2026-11-03; t0=10:00; precaution=contact; procedure=bronchoscopy; age=adult; urgency=planned; "
    "ach=10; clear=99; anteroom={anteroom}"
)
BOTH = "00:26 | CA | case.open | case=B\n00:27 | CA | role.assign | case=B; AO=P7; DR=P6\n"


def _of(lines, rule):
    return [line for line in lines if f" {rule} " in line]


@pytest.mark.parametrize(("anteroom", "said"), [("n1", ["50:20 R20 W P1, P7"]), ("n2", [])])
def test_two_undress_in_one_area_only_when_the_anteroom_is_shared(judge_case, anteroom, said):
    judged = judge_case(
        f"{BOTH}50:10 | DR | doff.start | p=P1; checker=P5\n50:20 | DR | doff.start | case=B; p=P7; checker=P6\n"
        "51:00 | DR | doff.done | p=P1; checker=P5\n51:30 | DR | doff.done | case=B; p=P7; checker=P6",
        start="inside",
        extra="anteroom=n1",
        staff=SECOND.format(anteroom=anteroom),
    )
    assert _of(judged.live, "R20") == said


def test_three_who_undress_together_are_one_notice_with_the_third(judge_case):
    judged = judge_case(
        "50:10 | DR | doff.start | p=P1; checker=P5\n50:20 | DR | doff.start | p=P2; checker=P6\n"
        "50:30 | DR | doff.start | p=P3; checker=P6",
        start="inside",
    )
    assert _of(judged.live, "R20") == ["50:20 R20 W P1, P2", "50:30 R20 W P1, P2, P3"]


@pytest.mark.parametrize(("anteroom", "said"), [("n1", ["10:05 R46 W A, B"]), ("n2", [])])
def test_both_doors_count_only_at_a_shared_anteroom(judge_case, anteroom, said):
    judged = judge_case(
        f"{BOTH}10:00 | DR | door.open\n10:05 | DR | door.open | case=B\n10:07 | DR | door.shut\n"
        f"10:08 | DR | door.shut | case=B",
        start="inside",
        extra="anteroom=n1",
        staff=SECOND.format(anteroom=anteroom),
    )
    assert _of(judged.live, "R46") == said


def test_a_door_shut_in_time_is_not_open_with_the_other(judge_case):
    judged = judge_case(
        f"{BOTH}10:00 | DR | door.open\n10:05 | DR | door.shut\n10:05 | DR | door.open | case=B\n"
        f"10:08 | DR | door.shut | case=B",
        start="inside",
        extra="anteroom=n1",
        staff=SECOND.format(anteroom="n1"),
    )
    assert _of(judged.live, "R46") == []


REQUESTS = (
    "10:00 | DOC | req.new | q=q1; item=pump; urg=now\n10:05 | DOC | req.new | case=B; q=q2; item=scope; urg=now\n"
)


def test_two_urgent_rooms_with_a_runner_each_are_well_served(judge_case):
    judged = judge_case(BOTH + REQUESTS, start="inside", staff=SECOND.format(anteroom="n1"))
    assert _of(judged.live, "R45") == []


def test_taking_over_the_second_door_brings_both_rooms_to_one_runner(judge_case):
    judged = judge_case(
        BOTH + REQUESTS + "10:07 | CA | role.handover | case=B; role=DR; from=P6; to=P5",
        start="inside",
        staff=SECOND.format(anteroom="n1"),
    )
    assert _of(judged.live, "R45") == ["10:07 R45 W P5, q1, q2"]


def test_each_pair_of_urgent_requests_is_one_notice(judge_case):
    judged = judge_case(
        "00:26 | CA | case.open | case=B\n00:27 | CA | role.assign | case=B; AO=P7; DR=P5\n"
        + REQUESTS
        + "10:06 | DOC | req.new | q=q3; item=set; urg=now\n10:07 | DOC | req.new | q=q4; item=set; urg=soon",
        start="inside",
        staff=SECOND.format(anteroom="n1"),
    )
    assert _of(judged.live, "R45") == ["10:05 R45 W P5, q1, q2", "10:06 R45 W P5, q2, q3"]


def test_delivering_one_of_them_resolves_it(judge_case):
    judged = judge_case(
        "00:26 | CA | case.open | case=B\n00:27 | CA | role.assign | case=B; AO=P7; DR=P5\n"
        + REQUESTS
        + "10:08 | DR | req.ack | q=q1\n10:09 | DR | req.in | q=q1\n10:10 | DOC | req.got | q=q1",
        start="inside",
        staff=SECOND.format(anteroom="n1"),
    )
    life = judged.life("R45")
    assert (life.resolved - life.notice.at).total_seconds() == pytest.approx(4, abs=0.001)
    assert len(life.notice.params["cases"]) == 2


def test_it_is_a_function_of_the_states_alone(scenario_files, tools):
    scenario = scenario_files["s5-two-rooms-one-runner"]
    entries = tools.entries_of(scenario)
    judgement = tools.judgement([entry for case in entries.values() for entry in case])
    states = {case: judgement.state(case) for case in entries}
    assert notices_across(states, scenario.end) == ()
    with_end = {case: judged.after[len(judged.after) // 2].state for case, judged in judgement.cases.items()}
    assert notices_across(with_end, scenario.end) == notices_across(dict(reversed(with_end.items())), scenario.end)


@pytest.mark.parametrize(
    ("lines", "rule", "seconds"),
    [
        (
            "50:10 | DR | doff.start | p=P1; checker=P5\n50:20 | DR | doff.start | p=P2; checker=P6\n"
            "50:40 | DR | doff.step | p=P1; step=gown\n51:00 | DR | doff.done | p=P1; checker=P5",
            "R20",
            40,
        ),
        (
            f"{BOTH}10:00 | DR | door.open\n10:05 | DR | door.open | case=B\n10:06 | DOC | door.open | which=window\n"
            "10:09 | DR | door.shut",
            "R46",
            4,
        ),
    ],
)
def test_what_was_so_together_is_resolved_when_the_first_leaves_it(judge_case, lines, rule, seconds):
    judged = judge_case(lines, start="inside", extra="anteroom=n1", staff=SECOND.format(anteroom="n1"))
    life = next(life for life in judged.lives if life.notice.rule == rule)
    assert (life.resolved - life.notice.at).total_seconds() == pytest.approx(seconds, abs=0.01)


def test_while_both_are_at_it_nothing_is_resolved(judge_case):
    judged = judge_case(
        "50:10 | DR | doff.start | p=P1; checker=P5\n50:20 | DR | doff.start | p=P2; checker=P6\n"
        "50:40 | DR | door.open",
        start="inside",
    )
    assert judged.life("R20").end is None
