"""The closed list of kinds: whole in every place where a kind must stand, and refusing what is not in it in words."""

from __future__ import annotations

import pytest

from app.base.errors import NotValid
from app.base.kinds import BODY_FIELDS, KINDS_BY_FAMILY
from app.base.kinds import KINDS as NAMES
from app.case.folds.handlers import HANDLERS
from app.case.sentences import SENTENCES
from app.case.vocabulary.document import PATH, table
from app.case.vocabulary.registry import KINDS, fields_of, read_body
from tests.golden.entries.stored import FOLDER


@pytest.mark.parametrize("kind", sorted(NAMES))
def test_a_kind_has_all_that_a_kind_needs(kind: str) -> None:
    model = KINDS[kind]
    assert kind in HANDLERS, "a handler in app/case/folds"
    assert kind in SENTENCES, "a sentence in app/case/sentences.py"
    assert (model.__doc__ or "").strip().endswith("."), "a docstring in one sentence"
    assert model.__doc__ != model.__mro__[1].__doc__, "a docstring of its own"
    assert (FOLDER / f"{kind}.v{model.version}.json").is_file(), "a golden entry in tests/golden/entries"
    assert f"| `{kind}` |" in PATH.read_text(encoding="utf-8"), "a row in VOCABULARY.md"


def test_the_classes_are_those_of_the_list_of_names() -> None:
    assert KINDS.keys() == NAMES
    assert sum(len(kinds) for kinds in KINDS_BY_FAMILY.values()) == len(NAMES)


@pytest.mark.parametrize("kind", sorted(NAMES - {"tap.fix", "role.assign"}))
def test_a_kinds_fields_are_those_of_the_list_of_names(kind: str) -> None:
    assert fields_of(kind) == BODY_FIELDS[kind]


def test_the_written_vocabulary_is_current() -> None:
    assert PATH.read_text(encoding="utf-8") == table(), "run: python -m app.case.vocabulary.document"


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
        ("role.assign", {"AO": "\ud800"}, "AO must name one person"),
        ("tap.fix", {"ref": "x", "cuff": 5}, "new values are named set_<field>"),
        ("tap.fix", {"ref": "x", "set_cuff": {}}, "must be a text, a figure or a list of texts"),
        ("kit.staged", {"tray": "roof"}, "kit.staged: tray:"),
    ],
)
def test_what_does_not_fit_is_refused_in_words_that_name_it(kind: str, body: dict[str, object], says: str) -> None:
    with pytest.raises(NotValid) as refused:
        read_body(kind, body)
    assert says in str(refused.value)


@pytest.mark.parametrize("kind", sorted(NAMES))
def test_every_kind_takes_a_note(kind: str) -> None:
    assert "note" in fields_of(kind)
