"""The hash chain: its text is that of RFC 8785, whole or put together from pieces."""

from __future__ import annotations

from hashlib import sha256

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from app.journal.chain import FIRST, canonical, entry_hash, entry_text, head_text

SAFE_INT = st.integers(-(2**53) + 1, 2**53 - 1)
NUMBER = st.floats(allow_nan=False, allow_infinity=False) | SAFE_INT
TEXT = st.text(st.characters(exclude_categories=["Cs"]))
JSON = st.recursive(
    st.none() | st.booleans() | NUMBER | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)
OBJECT = st.dictionaries(TEXT, JSON, max_size=5)
COLUMNS = st.fixed_dictionaries(
    dict.fromkeys(("id", "case", "kind", "station", "device_at", "received_at", "prev"), TEXT)
    | {name: st.none() | TEXT for name in ("role", "person")}
    | {name: st.none() | NUMBER for name in ("offset_ms", "error_ms")}
    | {"seq": SAFE_INT, "counter": SAFE_INT}
)


@given(COLUMNS, OBJECT, OBJECT)
def test_the_text_that_is_hashed_is_the_canonical_json_of_the_whole_entry(
    columns: dict[str, object], body: dict[str, object], facts: dict[str, object]
) -> None:
    whole = rfc8785.dumps({**columns, "body": body, "facts": facts})
    assert entry_text(columns, canonical(body), canonical(facts)).encode() == whole
    assert entry_hash(columns, canonical(body), canonical(facts)) == sha256(whole).hexdigest()


@given(COLUMNS, OBJECT)
def test_the_hash_itself_is_left_out_of_what_is_hashed(columns: dict[str, object], body: dict[str, object]) -> None:
    with_hash = {**columns, "hash": "f" * 64}
    assert entry_text(with_hash, canonical(body), "{}") == entry_text(columns, canonical(body), "{}")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53, "\ud800", {"\ud800": 1}, {1: 2}, object()])
def test_what_json_cannot_carry_exactly_has_no_canonical_text(value: object) -> None:
    with pytest.raises(ValueError, match=r".+"):
        canonical(value)


def test_canonical_numbers_are_those_of_the_standard() -> None:
    # RFC 8785, Appendix B, Table of IEEE 754 samples (the finite ones of everyday size, and the edges)
    assert canonical(-0.0) == "0"
    for number, text in {
        0.0: "0", 5e-324: "5e-324", 1.7976931348623157e308: "1.7976931348623157e+308",
        9007199254740992.0: "9007199254740992", 295147905179352830000.0: "295147905179352830000",
        9.999999999999997e22: "9.999999999999997e+22", 1e23: "1e+23", 999999999999999700000.0: "999999999999999700000",
        1e21: "1e+21", 9.999999999999997e-7: "9.999999999999997e-7", 0.000001: "0.000001",
        333333333.3333333: "333333333.3333333", -0.0000033333333333333333: "-0.0000033333333333333333",
    }.items():  # fmt: skip
        assert canonical(number) == text


def test_a_head_says_which_entry_is_the_newest_of_a_case() -> None:
    assert head_text("a", 0, FIRST) == b'{"case":"a","hash":"' + b"0" * 64 + b'","seq":0}'
