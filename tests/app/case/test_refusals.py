"""A body that does not fit its kind is refused in words that name what is wrong and, when near, what was meant."""

from __future__ import annotations

import pytest

from app.base.errors import NotValid
from app.base.kinds import BODY_FIELDS
from app.case.vocabulary.registry import KINDS, fields_of, read_body


@pytest.mark.parametrize("kind", sorted(KINDS.keys() - {"tap.fix", "role.assign"}))
def test_a_kinds_fields_are_those_of_the_list_of_names(kind: str) -> None:
    assert fields_of(kind) == BODY_FIELDS[kind]


@pytest.mark.parametrize(
    ("kind", "body", "says"),
    [
        ("tube.pased", {}, "Did you mean tube.passed?"),
        ("tea.made", {}, "There is no kind of entry called 'tea.made'"),
        ("vitals", {"spo": 97}, "vitals has no field 'spo'. Did you mean spo2?"),
        ("room.in", {}, "room.in needs the field 'p'"),
        ("vitals", {"spo2": 101}, "vitals: spo2:"),
        ("vitals", {"spo2": "high"}, "vitals: spo2:"),
        ("vitals", {"spo2": float("nan")}, "vitals: spo2:"),
        ("vitals", {"hr": 1e10}, "vitals: hr:"),
        ("note", {"text": "a\x00b"}, "holds a NUL character"),
        ("note", {"text": "\ud800"}, "lone surrogate"),
        ("note", {"text": "x" * 2001}, "note: text:"),
        ("role.assign", {"XX": "P1"}, "XX is no role"),
        ("role.assign", {"AO": 5}, "AO must name one person"),
        ("role.assign", {"AO": "\ud800"}, "lone surrogate"),
        ("tap.fix", {"ref": "x", "set_text": "\ud800"}, "lone surrogate"),
        ("tap.fix", {"ref": "x", "set_has": ["a\x00b"]}, "holds a NUL character"),
        ("tap.fix", {"ref": "x", "set_": 1}, "new values are named set_<field>"),
        ("tap.fix", {"ref": "x", "cuff": 5}, "new values are named set_<field>"),
        ("tap.fix", {"ref": "x", "set_cuff": {}}, "must be a text, a figure or a list of texts"),
        ("kit.staged", {"tray": "roof"}, "kit.staged: tray:"),
    ],
)
def test_what_does_not_fit_is_refused_in_words_that_name_it(kind: str, body: dict[str, object], says: str) -> None:
    with pytest.raises(NotValid) as refused:
        read_body(kind, body)
    assert says in str(refused.value)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_takes_a_note(kind: str) -> None:
    assert "note" in fields_of(kind)


def test_a_refusal_is_one_whole_sentence_and_lists_what_a_kind_may_carry() -> None:
    with pytest.raises(NotValid) as refused:
        read_body("route.clear", {"stairs": "P1"})
    assert str(refused.value).startswith("route.clear has no field 'stairs'. It may carry: lift, note, security.")


def test_a_body_that_is_no_object_is_refused_as_a_body() -> None:
    with pytest.raises(NotValid, match="vitals: the body: "):
        read_body("vitals", [1])  # type: ignore[arg-type]
