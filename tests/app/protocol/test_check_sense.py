"""Rules and ensembles: what a department may set, and what it is told when a setting makes no sense."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from app.protocol.known_rules import RULES
from app.protocol.library import protocol_for

Checked = Callable[..., Any]


def _own(mistakes: Any) -> list[str]:
    return [f"{m.what}. {m.instead}" for m in mistakes if m.file == "own.yaml"]


def test_a_threshold_of_the_departments_own_replaces_only_itself(checked: Checked) -> None:
    own, mistakes = checked(more="\nrules:\n  R19: {thresholds: {airborne_min: 90}}\n")
    built_in = protocol_for("intubation", "adult")
    assert mistakes == ()
    assert own.rules["R19"].thresholds == {"airborne_min": 90, "enhanced_min": 60, "over_min": 30}
    assert own.rules["R19"].source == built_in.rules["R19"].source
    assert {**own.rules, "R19": None} == {**built_in.rules, "R19": None}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("R29: {thresholds: {attempt_s: 3600}}", "3600 is outside what makes sense. Write a number from 5 to 600."),
        ("R29: {thresholds: {attempt_s: sixty}}", "'sixty' cannot stand here. Write a number."),
        ("R29: {thresholds: {attempt: 60}}", "there is no threshold 'attempt'. Did you mean 'attempt_s'?"),
        ("R29: {levels: {lng: W}}", "there is no situation 'lng'. Did you mean 'long'?"),
        ("R29: {levels: {long: X}}", "'X' is not known here. Write one of: N, W, C."),
        ("R29: {levels: {long: C}}", "a critical has no next step of the department"),
        ("R28: {thresholds: {very_low_percent: 95}}", "very_low_percent (95) is not below low_percent (90)"),
        ("R33: {thresholds: {child_low_cmh2o: 25}}", "child_low_cmh2o (25) is not below child_high_cmh2o (25)"),
        ("R29: {audience: []}", "nobody is told. Name one of room, door, charge, record."),
        ("R29: {audience: [dor]}", "'dor' is not known here. Did you mean 'door'?"),
        ("R29: {on: false}", "the rule is off without a reason. Add `why_off:`"),
        ("R61: {on: true}", "there is no rule 'R61'"),
        ("R29: {source: my uncle}", "has no evidence mark"),
    ],
)
def test_a_rule_setting_that_makes_no_sense_is_told_why(checked: Checked, text: str, said: str) -> None:
    protocol, mistakes = checked(more=f"\nrules:\n  {text}\n")
    assert protocol is None
    assert any(said in line for line in _own(mistakes)), _own(mistakes)


def test_a_critical_needs_no_sentence_of_its_own_when_a_rescue_step_answers_it(checked: Checked) -> None:
    step = (
        "  - {step: slow, title: Slow attempt, trigger: 60 s, limit: None more, in_room: [Stop], runner_does: Waits, "
        "who_comes: Nobody, source: 'local default [L]', answers: [R29]}\n"
    )
    own, mistakes = checked(
        ("rescue:\n  - use: ladder_adult\n", f"rescue:\n  - use: ladder_adult\n{step}"),
        more="\nrules:\n  R29: {levels: {long: C}}\n",
    )
    assert mistakes == ()
    assert own.answer_to("R29").step == "slow"


ENSEMBLE = """
ensembles:
  - code: airborne
    title: Own airborne
    level: 3
    worn_for: Aerosol
    respirator: true
    observer: false
    source: "CDCISO [G]"
    donning:
      - {code: gown, text: Gown on, place: outside}
      - {code: respirator, text: Respirator on, place: outside, partner: true, respirator: true}
    doffing:
      - {code: gown, text: Gown off, place: anteroom}
      - {code: respirator, text: Respirator off, place: outside, partner: true, respirator: true}
"""


def _dress(checked: Checked, *changes: tuple[str, str]) -> list[str]:
    text = ENSEMBLE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return _own(checked(("ensembles: [{use: ensembles}]\n", text))[1])


def test_an_ensemble_of_the_departments_own_is_accepted(checked: Checked) -> None:
    assert _dress(checked) == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("Respirator off, place: outside", "Respirator off, place: anteroom", "comes off before the door is shut"),
        ("off, place: outside, partner: true", "off, place: outside", "not read by a partner"),
        ("observer: false", "observer: false\n    level: 4", "'level' stands twice"),
        ("level: 3", "level: 5", "'5' is out of range"),
        ("respirator: true\n    observer", "respirator: false\n    observer", "this ensemble has no respirator"),
        (", partner: true, respirator: true}\n    doffing", "}\n    doffing", "no step of donning is the respirator's"),
        ("{code: gown, text: Gown off, place: anteroom}", "{code: respirator, text: Hood, place: inside}", "twice"),
        (
            "Gown off, place: anteroom}",
            "Gown off, place: outside}\n      - {code: cap, text: Cap, place: inside}",
            "goes back",
        ),
        ("code: airborne", "code: airbourne", "Did you mean 'airborne'?"),
    ],
)
def test_an_ensemble_against_what_all_schemes_share_is_told(checked: Checked, old: str, new: str, said: str) -> None:
    assert any(said in line for line in _dress(checked, (old, new)))


def test_a_vital_item_must_be_mandatory(checked: Checked) -> None:
    item = "items:\n      - {code: torch, name: Torch, kept: Shelf, vital: true}\n      - use: clean_airway"
    _, mistakes = checked(("items: [{use: clean_airway}]", item))
    assert [m.what for m in mistakes] == ["a vital item is not mandatory"]


def test_every_rule_of_the_job_map_can_be_set() -> None:
    assert list(RULES) == [f"R{number:02d}" for number in range(1, 61)]
