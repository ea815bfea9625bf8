"""What a rule says ends when it is no longer so: at that moment, and not at what only resembles it.

The cases stand in `ends.yaml`.
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
import yaml

from app.case.rules.settings import built_in
from app.case.state import State
from tests.app.case.telling import moment

CASES = yaml.safe_load(Path(__file__).with_name("ends.yaml").read_text("utf-8"))
NEVER = {
    **dict.fromkeys(
        ("R13", "R15", "R21", "R24", "R26", "R30", "R31", "R38", "R47", "R51", "R58", "R60"), "it happened"
    ),
    "R45": "ends across cases: test_across.py",
}


@pytest.mark.parametrize("told", CASES, ids=lambda told: " ".join((told["rule"], told.get("name", ""))).strip())
def test_what_a_rule_says_ends_with_the_last_line_and_not_before(told, judge_case):
    start = {name: told[name] for name in ("start", "extra", "staff") if name in told}
    judged = judge_case(told["lines"], **start)
    found = [life for life in judged.lives if life.notice.rule == told["rule"]]
    assert found
    last = told["lines"].strip().splitlines()[-1].partition(" ")[0]
    opened = judged.day.judgement.cases.copy().popitem()[1].now.state.opened_at
    for life in found:
        assert life.end == "resolved", life.notice
        assert abs((life.resolved - opened) - (moment(last) - moment("00:00"))) < timedelta(milliseconds=100)


def test_every_rule_that_can_end_is_among_them():
    assert {told["rule"] for told in CASES} == set(built_in(State(""))) - set(NEVER)


@pytest.mark.parametrize(
    ("rule", "lines", "start"),
    [
        ("R15", "00:50 | DR | check.done | phase=don; checker=P1; subject=P1; result=pass\n"
                "00:55 | DR | check.done | phase=don; checker=P5; subject=P1; result=pass", "planned"),
        ("R24", "10:00 | DOC | breach | p=P1; grade=major\n10:10 | CA | exposure.open | p=P1", "inside"),
        ("R38", "10:00 | DOC | vent.set | vt=900\n10:10 | DOC | vent.set | vt=400", "intubated"),
        ("R47", "10:00 | DR | item.move | item=pen; from=room; to=door\n"
                "10:10 | DR | item.move | item=pen; from=door; to=soiled", "inside"),
    ],
)  # fmt: skip
def test_what_has_happened_stays_said(judge_case, rule, lines, start):
    assert judge_case(lines, start=start).life(rule).end is None
