"""For each rule: the second at which it speaks, what leaves it silent, and the correction that takes it back.

The examples stand in `examples/`, by family; how to read them stands at the top of `examples/crew.yaml`.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from app.drill.outcome import sentence

EXAMPLES = [
    example
    for path in sorted(Path(__file__).with_name("examples").glob("*.yaml"))
    for example in yaml.safe_load(path.read_text("utf-8"))
]


def _id(example):
    return " ".join((example["rule"], example.get("name", ""))).strip()


def _judge(judge_case, example, lines):
    return judge_case(
        lines,
        start=example.get("start", "planned"),
        extra=example.get("extra", ""),
        staff=example.get("staff", ""),
    )


def _of(rule, lines):
    return [line for line in lines if f" {rule} " in line]


@pytest.mark.parametrize("example", EXAMPLES, ids=_id)
def test_the_rule_speaks_at_its_second(example, judge_case):
    judged = _judge(judge_case, example, example["fires"])
    assert _of(example["rule"], judged.final) == example["says"]
    assert _of(example["rule"], judged.live) == example["says"]


@pytest.mark.parametrize("example", EXAMPLES, ids=_id)
def test_the_rule_says_what_happened(example, judge_case):
    judged = _judge(judge_case, example, example["fires"])
    said = [(sentence(notice), told) for notice, told in judged.raised if notice.rule == example["rule"]]
    assert [words for words, _ in said] == example["words"]
    assert [told for _, told in said] == example["tells"]


@pytest.mark.parametrize("example", EXAMPLES, ids=_id)
def test_the_rule_is_silent_just_short_of_it(example, judge_case):
    assert _of(example["rule"], _judge(judge_case, example, example["silent"]).live) == []


@pytest.mark.parametrize("example", [one for one in EXAMPLES if "mended" in one], ids=_id)
def test_a_correction_of_the_cause_ends_it_as_corrected(example, judge_case):
    judged = _judge(judge_case, example, f"{example['fires'].strip()}\n{example['mended']}")
    assert _of(example["rule"], judged.live) == example["says"]
    assert _of(example["rule"], judged.final) == []
    ends = {str(life.end) for life in judged.lives if life.notice.rule == example["rule"]}
    assert ends == {"corrected"}


def test_every_rule_has_an_example():
    assert {example["rule"] for example in EXAMPLES} == {f"R{n:02d}" for n in range(1, 61)}


def test_every_rule_has_an_example_that_is_corrected():
    assert {one["rule"] for one in EXAMPLES if "mended" in one} == {f"R{n:02d}" for n in range(1, 61)}
