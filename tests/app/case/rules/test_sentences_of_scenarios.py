"""What is shown of every notice in the scenario files: each sentence filled, a critical in six words or fewer."""

from __future__ import annotations

import re
from pathlib import Path
from string import Formatter

import pytest

from app.case.rules import judge
from app.case.rules.catalogue import WORDS
from app.drill.outcome import sentence
from app.drill.scenario import read_file

FILES = sorted((Path(__file__).parents[3] / "scenarios").glob("*.scenario"))
MOST_WORDS_OF_A_CRITICAL = 6


@pytest.fixture(scope="session")
def said(tools):
    """Rule to every notice of it that any of the files raises."""
    found = {}
    for path in FILES:
        scenario = read_file(path)
        for notice in judge.live(tools.entries_of(scenario), scenario.end):
            found.setdefault(notice.rule, []).append(notice)
    return found


@pytest.mark.parametrize("rule", WORDS)
def test_a_rule_gives_a_figure_or_a_name_for_every_place_of_its_sentence(rule, said):
    assert said[rule]
    for notice in said[rule]:
        places = {name for _, name, _, _ in Formatter().parse(notice.message) if name}
        assert places <= set(notice.params), (rule, notice.message)
        assert all(notice.params[name] not in (None, "", ()) for name in places), (rule, notice.params)


@pytest.mark.parametrize("rule", WORDS)
def test_a_notice_is_a_whole_sentence_and_a_critical_has_six_words_or_fewer(rule, said):
    for notice in said[rule]:
        shown = sentence(notice)
        assert shown
        assert not re.search(r"[{}]|None|\(\)|\[\]", shown), shown
        assert notice.severity != "C" or len(shown.split()) <= MOST_WORDS_OF_A_CRITICAL, shown
