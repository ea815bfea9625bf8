"""The text form of bodies: which words are figures, which stay texts, which are lists."""

from __future__ import annotations

import pytest

from app.case.vocabulary.words import NUMERIC, body_of, figure


@pytest.mark.parametrize(
    ("text", "value"),
    [("8", 8), ("8.0", 8.0), ("-2.5", -2.5), ("8.0 cuffed", "8.0 cuffed"), ("nan", "nan"), ("inf", "inf"), ("-inf", "-inf"), ("", "")],
)  # fmt: skip
def test_a_text_that_is_a_finite_figure_becomes_one(text: str, value: object) -> None:
    assert figure(text) == value
    assert type(figure(text)) is type(value)


def test_only_fields_that_take_figures_are_read_as_figures() -> None:
    # a name, a room or a reference may be all digits and stays what was written
    assert body_of("note", {"text": "12"}) == {"text": "12"}
    assert body_of("room.in", {"p": "7", "who": "12"}) == {"p": "7", "who": "12"}
    assert body_of("case.open", {"ref": "5", "age": "5", "pbw": "70"}) == {"ref": "5", "age": 5, "pbw": 70}
    assert body_of("tube.passed", {"size": "8", "depth": "22.5"}) == {"size": 8, "depth": 22.5}
    assert NUMERIC["note"] == frozenset()
    assert NUMERIC["vitals"] == {"spo2", "etco2", "eto2", "hr", "sbp", "dbp", "rr", "temp"}


def test_lists_none_and_what_is_unknown() -> None:
    assert body_of("kit.staged", {"tray": "door", "has": "fona, sga,,bougie", "missing": "none"}) == {
        "tray": "door", "has": ["fona", "sga", "bougie"], "missing": [],
    }  # fmt: skip
    assert body_of("vitals", {"spo2": "na", "hr": "90"}) == {"hr": 90}
    assert body_of("tap.fix", {"ref": "x", "set_spo2": "91", "set_p": "P1"}) == {
        "ref": "x",
        "set_spo2": 91,
        "set_p": "P1",
    }
    assert body_of("no.such", {"a": "1"}) == {"a": "1"}
