"""The words of the rules: complete, facts, short where they must be."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from app.case.rules.catalogue import WORDS
from app.case.rules.settings import built_in
from app.case.rules.table import BEGIN, END, severities, table
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


README = Path(__file__).parents[4] / "README.md"


def test_the_table_for_readers_has_a_row_for_each_rule_with_its_source():
    rows = table().splitlines()[2:]
    assert len(rows) == 60
    settings = built_in(State("a"))
    for rule, row in zip(WORDS, rows, strict=True):
        number, name, says, source = (cell.strip() for cell in row.strip("|").split("|"))
        assert (number, name, source) == (rule, WORDS[rule].name, settings[rule].source)
        assert says.endswith(")")


def test_every_source_in_the_table_carries_its_evidence_mark():
    for row in table().splitlines()[2:]:
        assert re.search(r"\[[VGPL]\] \|$", row), row


def test_the_table_says_how_loudly_each_sentence_is_said():
    rows = {row[2:5]: row for row in table().splitlines()[2:]}
    assert "SpO2 *spo2* % (W/C)" in rows["R28"]
    assert "Clean tray not staged (W)" in rows["R10"]
    assert "No pre-oxygenation recorded (N/W)" in rows["R26"]


def test_a_sentence_whose_severity_the_table_would_have_to_guess_does_not_exist():
    settings = built_in(State("a"))
    for rule, words in WORDS.items():
        for say in words.says:
            variant = say not in settings[rule].levels and (rule, say) != ("R26", "none")
            assert not variant or len(severities(rule, say, settings)) == 1, (rule, say)


def test_the_readme_shows_the_rules_as_they_are():
    readme = README.read_text("utf-8")
    shown = readme.partition(BEGIN)[2].partition(END)[0]
    assert shown.strip() == table().strip(), "put what `python -m app.case.rules.table` prints between the markers"
    assert all(f"\n| R{n:02d} |" in shown for n in range(1, 61))
