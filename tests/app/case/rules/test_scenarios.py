"""The seven worked scenarios: complete lists of what is raised, live and final, in any order of arrival."""

from __future__ import annotations

import pytest

from app.base.moments import seconds_between
from app.case.rules import judge

NAMES = (
    "s1-normal-intubation",
    "s2-difficult-airway-with-front-of-neck-rescue",
    "s3-protective-equipment-breach",
    "s4-network-lost-in-the-room",
    "s5-two-rooms-one-runner",
    "s6-planned-extubation",
    "s7-wrong-order-taps-and-corrections",
)


def _expected(scenario, what):
    return [(n.at_s, n.rule, n.severity) for n in getattr(scenario.expected, what)]


def _got(scenario, notices):
    start = next(iter(scenario.cases.values())).t0
    return [(seconds_between(start, n.at), n.rule, n.severity) for n in notices]


@pytest.mark.parametrize("name", NAMES)
def test_the_day_raises_exactly_what_the_scenario_says_in_order(name, scenario_files, tools):
    scenario = scenario_files[name]
    live = judge.live(tools.entries_of(scenario), scenario.end)
    assert _got(scenario, live) == _expected(scenario, "live"), "\n".join(tools.line(scenario, n) for n in live)


@pytest.mark.parametrize("name", NAMES)
def test_exactly_what_the_scenario_says_stands_in_the_end(name, scenario_files, tools):
    scenario = scenario_files[name]
    final = judge.standing(tools.entries_of(scenario), scenario.end)
    assert _got(scenario, final) == _expected(scenario, "final"), "\n".join(tools.line(scenario, n) for n in final)
