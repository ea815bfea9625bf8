"""What a case is pinned to goes into facts and comes back whole."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from app.protocol.library import protocol_for, protocols
from app.protocol.pinned import facts_of, rules_of

every = pytest.mark.parametrize("protocol", protocols(), ids=lambda protocol: protocol.id)


@every
def test_the_rules_come_back_from_stored_text_as_they_were(protocol):
    stored = json.loads(json.dumps(facts_of(protocol)))
    assert (stored["id"], stored["version"]) == (protocol.id, protocol.version)
    assert rules_of(stored) == protocol.rules


def test_what_a_department_set_otherwise_comes_back_too():
    built_in = protocol_for("intubation", "adult")
    off = replace(built_in.rules["R24"], on=False, why_off="Told by voice here.", audience=("charge",))
    strict = replace(built_in.rules["R43"], thresholds={"now_s": 5}, levels={"now": "C"})
    rules = {**built_in.rules, "R24": off, "R43": strict}
    assert rules_of(facts_of(replace(built_in, rules=rules))) == rules


@pytest.mark.parametrize(
    "facts",
    [
        {},
        {"id": "x", "version": 1},
        {"rules": None},
        {"rules": {}},
        {"rules": "R01"},
        {"rules": {"R01": {"levels": 3}}},
    ],
)
def test_facts_without_readable_rules_give_none_and_never_raise(facts):
    assert rules_of(facts) == {}
