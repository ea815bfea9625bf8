"""The intervals of the seven worked scenarios: each as the file expects, none besides, in any order of arrival."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from app.base.moments import moment_text
from app.case.fold import fold
from app.case.intervals import intervals
from app.drill import differences
from app.drill.scenario import read_file
from app.drill.taps import case_ids, posts
from app.drill.values import Scenario
from app.journal.entry import Entry

FILES = sorted((Path(__file__).parents[3] / "scenarios").glob("s[1-7]-*.scenario"))


def _entries(scenario: Scenario) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = {handle: [] for handle in scenario.cases}
    handles = {case: handle for handle, case in case_ids(scenario).items()}
    for post in posts(scenario):
        for made in post.made:
            kept = found[handles[made.tap.case]]
            kept.append(Entry(made.tap, made.facts, len(kept) + 1, moment_text(post.received), "", ""))
    return found


def _measured(scenario: Scenario, entries: dict[str, list[Entry]]) -> dict[str, dict[str, Any]]:
    return {handle: intervals(fold(handle, of_case), scenario.cases[handle].t0) for handle, of_case in entries.items()}


def test_all_seven_are_there() -> None:
    assert len(FILES) == 7


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_interval_is_what_the_scenario_says(path: Path) -> None:
    scenario = read_file(path)
    assert scenario.expected.intervals
    assert differences.intervals(scenario.expected.intervals, _measured(scenario, _entries(scenario))) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_order_of_arrival_changes_no_interval(path: Path) -> None:
    scenario = read_file(path)
    entries = _entries(scenario)
    measured = _measured(scenario, entries)
    for order in range(5):
        mixed = {handle: random.Random(order).sample(kept, len(kept)) for handle, kept in entries.items()}
        assert _measured(scenario, mixed) == measured
