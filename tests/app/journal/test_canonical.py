"""Canonical text by the quick way is what the library of RFC 8785 writes, and what that refuses is refused."""

from __future__ import annotations

from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from app.journal.chain import canonical

NUMBERS = st.integers(-(2**53), 2**53) | st.floats() | st.sampled_from([0.0, -0.0, 5.0, 5.1, 1e-4, 1e-5, 1e15, 1.5e16])
TEXTS = st.text(st.characters(exclude_categories=()) | st.sampled_from('"\\/\b\f\n\r\t\x00\x1f\x7f\u2028é€😀'))
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=12,
)


def by_the_library(value: Any) -> bytes | None:
    """None for what it refuses."""
    try:
        return rfc8785.dumps(value)
    except ValueError:
        return None


@given(VALUES)
@settings(max_examples=500, deadline=None)
def test_canonical_text_is_that_of_the_library_or_refused_as_there(value: Any) -> None:
    expected = by_the_library(value)
    if expected is None:
        with pytest.raises(ValueError):  # noqa: PT011 - several classes of it, as the library raises them
            canonical(value)
    else:
        assert canonical(value).encode() == expected


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ({"spo2": 97, "kpa": 5.1, "at": None}, '{"at":null,"kpa":5.1,"spo2":97}'),
        ({"size": 8.0}, '{"size":8}'),
        ({"b": [True, "x\n"], "a": {}}, '{"a":{},"b":[true,"x\\n"]}'),
        ({"\ufb33": 1, "😀": 2, "€": 3}, '{"€":3,"😀":2,"\ufb33":1}'),  # RFC 8785, 3.2.3: by UTF-16 code units
    ],
)
def test_what_stations_send_has_its_canonical_text(value: Any, text: str) -> None:
    assert canonical(value) == text
