"""The nothing that a state begins with: a mapping that holds nothing, for every case the same."""

from __future__ import annotations

import pytest

from app.case.state import EMPTY, State, with_item, without


def test_nothing_is_a_mapping_without_a_key() -> None:
    assert (dict(EMPTY), len(EMPTY), list(EMPTY), repr(EMPTY), "x" in EMPTY) == ({}, 0, [], "{}", False)
    with pytest.raises(KeyError, match="x"):
        EMPTY["x"]
    assert hash(EMPTY) == hash(State("a").people)


def test_a_mapping_grows_and_shrinks_by_copies() -> None:
    one = with_item(EMPTY, "a", 1)
    both = with_item(one, "b", 2)
    assert (one, both, without(both, "a"), EMPTY) == ({"a": 1}, {"a": 1, "b": 2}, {"b": 2}, {})


def test_an_empty_case_knows_no_happening() -> None:
    state = State("a")
    assert (state.all("vitals"), state.first("vitals"), state.last("vitals"), state.inside) == ((), None, None, ())
