"""The words of the rules: complete, facts, short where they must be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from app.case.rules.catalogue import WORDS
from app.case.rules.document import table
from app.case.rules.settings import built_in
from app.case.state import State
from app.protocol.known_rules import RULES
from app.protocol.library import protocols

EXAMPLES = [
    example
    for path in sorted(Path(__file__).with_name("examples").glob("*.yaml"))
    for example in yaml.safe_load(path.read_text("utf-8"))
]
ORDERS = re.compile(r"^(stop|check|call|put|give|take|do|remove|start|go|use|bring|wait|must|should|please)\b", re.I)


def test_there_are_sixty_rules_and_each_has_words_settings_and_a_source():
    numbers = [f"R{n:02d}" for n in range(1, 61)]
    assert list(WORDS) == numbers == list(RULES)
    settings = built_in(State("a"))
    assert set(settings) == set(numbers)
    assert all(settings[rule].source and settings[rule].audience for rule in numbers)


@pytest.mark.parametrize("rule", WORDS)
def test_every_situation_that_can_be_set_has_a_sentence(rule):
    assert set(RULES[rule].levels) <= set(WORDS[rule].says)


@pytest.mark.parametrize("rule", WORDS)
def test_a_rule_states_a_fact_and_gives_no_order(rule):
    for sentence in WORDS[rule].says.values():
        assert not ORDERS.match(sentence)
        assert not sentence.endswith((".", "!"))


def test_critical_situations_have_a_next_step_of_the_departments_own():
    for protocol in protocols():
        for rule, setting in protocol.rules.items():
            assert "C" not in setting.levels.values() or setting.next_step, (protocol.id, rule)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: f"{one['rule']} {one.get('name', '')}".strip())
def test_every_notice_fills_its_sentence_and_a_critical_has_six_words_or_fewer(example, judge_case):
    judged = judge_case(
        example["fires"],
        start=example.get("start", "planned"),
        extra=example.get("extra", ""),
        staff=example.get("staff", ""),
    )
    for notice in judged.notices:
        said = notice.message.format(**{name: _shown(value) for name, value in notice.params.items()})
        assert "None" not in said
        assert notice.severity != "C" or len(said.split()) <= 6, said


def _shown(value):
    return ", ".join(map(str, value)) if isinstance(value, tuple) else value


def test_who_a_notice_is_about_never_says_which_illness(judge_case):
    judged = judge_case(
        "00:30 | CA | role.assign | SO=P8",
        extra="immune_needed=measles",
        staff="staff | P8 | job=nurse; resp=hood; immune=no",
    )
    (notice,) = judged.notices
    assert "measles" not in f"{notice.message} {notice.params}"


def test_the_table_for_readers_has_a_row_for_each_rule_with_its_source():
    rows = table().splitlines()[2:]
    assert len(rows) == 60
    settings = built_in(State("a"))
    for rule, row in zip(WORDS, rows, strict=True):
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        assert cells[0] == rule
        assert cells[1] == WORDS[rule].name
        assert cells[3]
        assert cells[4] == settings[rule].source
