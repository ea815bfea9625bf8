"""Every mistake in one pass, each with its line and what to write instead."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.protocol.check import check
from app.protocol.library import shared

Checked = Callable[..., Any]

MISTAKES = [
    # what a person changes, what is said about it, what to write instead
    ("procedure: intubation", "procedure: intubaton", "'intubaton' is not known here", "Did you mean 'intubation'?"),
    ("owner: Airway", "ownr: Airway", "'ownr' is no field here", "Did you mean 'owner'?"),
    ("version: 2", "version: one", "'one' cannot stand here", "Write a whole number."),
    ("version: 2", 'version: "1"', "'1' cannot stand here", "Write a whole number."),
    ("version: 2", "version: 0", "'0' is out of range", "Write at least 1."),
    ("effective: 2026-11-01", "effective: 1 November", "'1 November' cannot stand here", "a day as YYYY-MM-DD"),
    ("review_due: 2027-11-01", "review_due: 2026-10-01", "not after the first day", "Write a later day."),
    ('CCJM20 [V]"', 'CCJM20"', "has no evidence mark", "for example: CCJM20 [V]"),
    ('CCJM20 [V]"', 'CCJM02 [V]"', "source 'CCJM02' is not in the list", "Did you mean 'CCJM20'?"),
    ("id: plan", "id: Plan!", "'Plan!' is not of the form wanted here", "small letters"),
    ("title: Plan\n", f"title: {'P' * 60}\n", "is too long", "at most 44 characters"),
    ("begins: [don.start]", "begins: [don.strat]", "'don.strat' is no kind of entry", "Did you mean 'don.start'?"),
    ("begins: [don.start]", "begins: [tx.swap]", "'tx.swap' is no kind", "Did you mean"),
    ("begins: [don.start]", "begins: [br.out]", "no milestone of this protocol is 'br.out'", "Did you mean"),
    ("begins: [don.start]", "begins: [don.start zz=x]", "don.start has no field 'zz'", "Its fields: ens"),
    ("begins: [don.start]", "begins: don.start", "'don.start' cannot stand here", "a list"),
    ("- use: laryngoscopy", "- use: laryngoscpy", "no part 'laryngoscpy'", "Did you mean 'laryngoscopy'?"),
    ("- use: laryngoscopy", "- {use: laryngoscopy, by: AO}", "'by' stands beside 'use'", "Take it out."),
    ("id: settle", "id: airway", "phase 'airway' stands twice", "the first is on line"),
    ("code: soiled", "code: clean", "tray 'clean' stands twice", "Keep one"),
    ("- use: crew_core", "- use: crew_outside", "role 'SO' stands twice", "Keep one"),
]


@pytest.mark.parametrize(("old", "new", "what", "instead"), MISTAKES)
def test_a_mistake_is_found_on_its_line_and_told_how_to_mend(
    checked: Checked, adult_text: str, old: str, new: str, what: str, instead: str
) -> None:
    protocol, mistakes = checked((old, new))
    assert protocol is None
    line = adult_text[: adult_text.index(old)].count("\n") + 1
    found = [m for m in mistakes if what in m.what and instead in m.instead]
    assert found, [str(m) for m in mistakes]
    if "stands twice" not in what:  # said at the second one, which may stand in a shared part
        assert (found[0].file, found[0].line) == ("own.yaml", line)


def test_all_mistakes_come_in_one_pass_in_the_order_of_the_file(checked: Checked) -> None:
    protocol, mistakes = checked(
        ("procedure: intubation", "procedure: intubaton"),
        ("begins: [don.start]", "begins: [don.strat]"),
        ("- use: laryngoscopy", "- use: laryngoscpy"),
        ("ages: [adult]", "ages: []"),
        more="\nrules:\n  R29: {thresholds: {attempt_s: 6000, attemt_s: 3}}\n  R99: {levels: {a: W}}\n",
    )
    own = [m for m in mistakes if m.file == "own.yaml"]
    said = " | ".join(m.what for m in own)
    assert protocol is None
    for what in ("intubaton", "don.strat", "laryngoscpy", "too short", "6000", "attemt_s", "R99"):
        assert what in said
    assert [m.line for m in own] == sorted(m.line for m in own)


def test_a_missing_field_is_told_with_what_it_wants(checked: Checked) -> None:
    _, mistakes = checked(("owner: Airway lead of the department\n", ""))
    assert any(m.what == "'owner' is missing" and m.instead.startswith("Add `owner:` with a text") for m in mistakes)


def test_a_field_written_twice_is_found_although_yaml_would_take_the_last(checked: Checked) -> None:
    protocol, mistakes = checked(more="\nversion: 2\n")
    assert protocol is None
    assert [m.what for m in mistakes] == ["'version' stands twice"]


def _milestone(checked: Checked, text: str) -> list[str]:
    more = f"\nparts:\n  mine:\n    - {{{text}}}\n"
    _, mistakes = checked(("- use: drugs\n", "- use: drugs\n      - use: mine\n"), more=more)
    return [f"{m.what}. {m.instead}" for m in mistakes if m.file == "own.yaml"]


def test_a_milestone_of_the_departments_own_is_accepted(checked: Checked) -> None:
    own = "kind: local.done, label: Radio check, by: DOC, side: inside, body: {name: radio check}"
    assert _milestone(checked, own) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("kind: drug.givn, label: Drug, by: DM, side: inside", "Did you mean 'drug.given'?"),
        ("kind: hold, label: Hold, by: XX, side: inside", "'XX' is no role"),
        ("kind: hold, label: Hold, by: BR, side: inside", "the crew of this protocol has no BR"),
        ("kind: hold, label: Hold, by: TL, side: insde", "Did you mean 'inside'?"),
        ("kind: hold, label: Hold, by: TL, side: inside, repeat: often", "once, repeat, each"),
        ("kind: hold, label: Hold, by: TL, side: inside, spine: yes", "Write true or false."),
        ("kind: hold, label: Hold, by: TL, side: inside, ask: [reason]", "hold has no field 'reason'"),
        ("kind: hold, label: Hold, by: TL, side: inside, body: {wy: x}", "Did you mean 'why'?"),
        ("kind: hold, label: Hold, by: TL, side: inside, after: [vent.set]", "stands behind what should come after it"),
        ("kind: hold, label: Hold, by: TL, side: inside, after: [tx.depart]", "no milestone of this protocol is"),
        ("kind: vitals, label: Vitals, by: DM, side: inside", "milestone 'vitals' stands twice"),
        (
            "kind: hold, label: Hold, by: TL, side: inside, target: {text: x y, source: 'UK20 [G]', rule: R77}",
            "there is no rule 'R77'",
        ),
        (
            "kind: hold, label: Hold, by: TL, side: inside, "
            "target: {text: x y, source: 'UK20 [G]', at_least_s: 60, at_most_s: 30}",
            "at_least_s is above at_most_s",
        ),
    ],
)
def test_a_wrong_milestone_is_told_what_is_wrong(checked: Checked, text: str, said: str) -> None:
    assert any(said in line for line in _milestone(checked, text))


def test_more_than_twelve_request_choices_in_a_phase_are_refused(checked: Checked) -> None:
    thirteen = "".join(f"\n      - {{item: Thing {n}, kept: Shelf}}" for n in range(13))
    _, mistakes = checked(("requests: [{use: leaving}]", f"requests:{thirteen}"))
    assert [m.what for m in mistakes] == ["13 request choices in one phase"]


def test_a_request_for_an_item_on_no_tray_is_refused(checked: Checked) -> None:
    _, mistakes = checked(("requests: [{use: leaving}]", "requests: [{item: Set, kept: Shelf, kit_code: fna}]"))
    assert any("no tray holds 'fna'" in m.what for m in mistakes)


def test_an_offer_that_nobody_can_ask_for_is_refused(checked: Checked) -> None:
    ahead = "look_ahead:\n  - {when: vitals, likely: [], source: 'UK20 [G]', offer: Coffee}\n"
    _, mistakes = checked(("look_ahead:\n", ahead))
    assert any("'Coffee' cannot be asked for" in m.what for m in mistakes)


def test_a_part_that_uses_itself_ends_with_a_sentence(checked: Checked) -> None:
    more = "\nparts:\n  again: [{use: again}, {use: again}]\n"
    _, mistakes = checked(("- use: drugs\n", "- use: drugs\n      - use: again\n"), more=more)
    assert any("uses itself" in m.what for m in mistakes)


def test_parts_that_multiply_are_stopped(checked: Checked) -> None:
    rows = "".join(f"  p{n}: [{', '.join([f'{{use: p{n + 1}}}'] * 9)}]\n" for n in range(6))
    more = f"\nparts:\n{rows}  p6: [{', '.join(['{kind: hold}'] * 9)}]\n"
    _, mistakes = checked(("- use: drugs\n", "- use: drugs\n      - use: p0\n"), more=more)
    assert any("too many items" in m.what for m in mistakes)


def test_a_part_used_nowhere_is_told(checked: Checked) -> None:
    _, mistakes = checked(more="\nparts:\n  idle: []\n")
    assert [m.what for m in mistakes] == ["part 'idle' is used nowhere"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the file is empty"),
        ("- a list", "this is no protocol"),
        ("just words", "this is no protocol"),
        ("id: [", "not readable as YAML"),
        ("a: &x 1\nb: *x", "an alias"),
        ("id: \x00", "not readable as YAML"),
        ("id: !!python/object/apply:os.getcwd []", "not readable as YAML"),
        ("[" * 3000, "nested too deeply"),
        ("# " + "x" * 1_000_001, "larger than 1 MB"),
    ],
)
def test_what_is_no_protocol_at_all_is_told_in_words(text: str, said: str) -> None:
    protocol, mistakes = check(text, "own.yaml", shared())
    assert protocol is None
    assert said in mistakes[0].what


def test_yes_no_on_and_off_stay_words_and_only_true_and_false_are_truth(checked: Checked) -> None:
    more = "\nrules:\n  R20: {on: false, why_off: one anteroom each}\n"
    protocol, mistakes = checked(more=more)
    assert mistakes == ()
    assert protocol.rules["R20"].on is False
    assert protocol.rules["R20"].why_off == "one anteroom each"


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_whatever_is_deleted_or_doubled_the_check_answers(adult_text: str, data: st.DataObject) -> None:
    lines = adult_text.splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        change = data.draw(st.sampled_from(["drop", "double", "null", "list", "indent"]))
        key = lines[at].split(":")[0]
        new = {
            "drop": [],
            "double": [lines[at]] * 2,
            "null": [f"{key}:"],
            "list": [f"{key}: [1, true, {{a: 2}}]"],
            "indent": [f"  {lines[at]}"],
        }
        lines[at : at + 1] = new[change]
    protocol, mistakes = check("\n".join(lines), "own.yaml", shared())
    assert (protocol is None) == bool(mistakes)
