"""Who can take a role: may and can first, of those the least exposed, and nobody left out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.people.crew_finder import ELSEWHERE, NO_DRILL, NO_ENTRY, NO_RESPIRATOR, NOT_SIGNED_OFF, Choice, Known, choices

TODAY = date(2026, 11, 3)
READY = Known("P1", "Ada", "consultant", fitted=frozenset({"K2"}), drill=TODAY - timedelta(days=30), may_enter="yes")


def one(known: Known, **case: Any) -> Choice:
    asked = {"role": "AO", "precaution": "airborne", "stock": frozenset({"K2"}), "today": TODAY, "drill_days": 365}
    (found,) = choices([known], **(asked | case))
    return found


def test_whoever_is_fitted_drilled_and_may_enter_is_ready_with_the_models_in_stock() -> None:
    assert one(READY).ready
    assert one(READY).models == ("K2",)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"fitted": frozenset({"Z1"})}, NO_RESPIRATOR),
        ({"fitted": frozenset()}, NO_RESPIRATOR),
        ({"drill": TODAY - timedelta(days=366)}, NO_DRILL),
        ({"drill": None}, NO_DRILL),
        ({"may_enter": "no"}, NO_ENTRY),
        ({"may_enter": "unknown"}, NO_ENTRY),
        ({"no_entry": True}, NO_ENTRY),
        ({"roles": frozenset({"DR"})}, NOT_SIGNED_OFF),
        ({"elsewhere": True}, ELSEWHERE),
    ],
)
def test_what_somebody_lacks_is_said_in_words(change: dict[str, Any], why: str) -> None:
    assert one(replace(READY, **change)).lacks == (why,)


@pytest.mark.parametrize(
    "change",
    [
        {"hood": True, "fitted": frozenset()},
        {"drill": TODAY - timedelta(days=365)},
        {"may_enter": None},
        {"roles": frozenset({"AO", "DR"})},
    ],
)
def test_what_is_enough_is_enough(change: dict[str, Any]) -> None:
    assert one(replace(READY, **change)).ready


def test_outside_the_room_nobody_needs_a_respirator_or_an_entry_condition() -> None:
    assert one(replace(READY, fitted=frozenset(), may_enter="no", no_entry=True), role="DR").ready


def test_droplet_and_contact_need_no_fit_test_and_unknown_needs_one() -> None:
    bare = replace(READY, fitted=frozenset())
    assert one(bare, precaution="droplet").ready
    assert one(bare, precaution="contact").ready
    assert one(bare, precaution=None).lacks == (NO_RESPIRATOR,)


def test_where_no_stock_is_counted_every_fitted_model_counts() -> None:
    assert one(READY, stock=None).models == ("K2",)
    assert one(READY, stock=frozenset()).lacks == (NO_RESPIRATOR,)


def test_of_those_who_are_ready_the_least_exposed_comes_first() -> None:
    people = [replace(READY, id=f"P{n}", name=name, worn=n) for n, name in ((3, "Ada"), (1, "Bea"), (0, "Cy"))]
    lacking = replace(READY, id="P9", name="Aaron", drill=None)
    found = choices([lacking, *people], role="AO", precaution="airborne", stock=None, today=TODAY, drill_days=365)
    assert [choice.person.name for choice in found] == ["Cy", "Bea", "Ada", "Aaron"]


_PEOPLE = st.lists(
    st.builds(
        Known, st.text(min_size=1, max_size=3), st.text(max_size=3), st.just("nurse"),
        roles=st.frozensets(st.sampled_from(("AO", "DR"))), fitted=st.frozensets(st.sampled_from(("K2", "M1"))),
        hood=st.booleans(), drill=st.none() | st.dates(date(2024, 1, 1), TODAY),
        may_enter=st.sampled_from(("yes", "no", "unknown", None)), no_entry=st.booleans(), worn=st.integers(0, 9),
    ),
    max_size=8, unique_by=lambda known: known.id,
)  # fmt: skip


@given(_PEOPLE, st.sampled_from(("AO", "DR")), st.randoms())
def test_nobody_is_left_out_and_the_order_of_asking_changes_nothing(
    people: list[Known], role: str, chance: Any
) -> None:
    def found(given: list[Known]) -> list[str]:
        asked = {"precaution": "airborne", "stock": None, "today": TODAY, "drill_days": 365}
        return [choice.person.id for choice in choices(given, role=role, **asked)]  # type: ignore[arg-type]

    mixed = list(people)
    chance.shuffle(mixed)
    assert sorted(found(people)) == sorted(one.id for one in people)
    assert found(mixed) == found(people)
