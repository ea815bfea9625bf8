"""Reading and writing one cell: what is taken, what is refused and how it is said."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.base.register.cells import Unreadable, read, write
from app.base.register.sheet import harmless, plain_cell
from app.base.register.spec import Field, Names

VIENNA = ZoneInfo("Europe/Vienna")
NAMES = Names.gathered({"people": {"p1": "Ada Moor", "p2": "Bo Hale", "p3": "bo hale"}, "respirators": {"m1": "K2"}})
FIELDS = {
    "text": Field("f", "F"),
    "whole": Field("f", "F", "whole", "d", 0, 400),
    "number": Field("f", "F", "number", "Pa", -100, 100),
    "yes": Field("f", "F", "yes", default=True),
    "day": Field("f", "F", "day"),
    "moment": Field("f", "F", "moment"),
    "choice": Field("f", "F", "choice", choices={"clean": "c", "door": "d"}),
    "words": Field("f", "F", "words", choices={"AO": "a", "TL": "t"}, default=""),
    "numbers": Field("f", "F", "numbers", least=0, most=1e7, default=""),
    "ref": Field("f", "F", "ref", ref="people"),
    "refs": Field("f", "F", "refs", ref="people", default=""),
    "worn": Field("f", "F", "worn"),
}


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("text", "  Room 4 ", "Room 4"),
        ("whole", "12", 12),
        ("number", "-2.5", -2.5),
        ("yes", "No", False),
        ("yes", "", True),
        ("day", "2026-02-28", date(2026, 2, 28)),
        ("day", "", None),
        ("moment", "2026-07-01 12:30", datetime(2026, 7, 1, 10, 30, tzinfo=UTC)),
        ("moment", "2026-07-01T12:30:00Z", datetime(2026, 7, 1, 12, 30, tzinfo=UTC)),
        ("choice", "Door", "door"),
        ("words", "tl; AO,TL", "TL AO"),
        ("words", "", ""),
        ("numbers", "240, 310 198.5", "240 310 198.5"),
        ("ref", "ada moor", "p1"),
        ("ref", "p2", "p2"),
        ("refs", "Ada Moor; p3", "p1 p3"),
        ("worn", "K2", "tight:K2"),
        ("worn", "hood", "hood"),
    ],
)
def test_a_cell_is_read_as_it_is_meant(kind: str, text: str, value: object) -> None:
    assert read(FIELDS[kind], text, NAMES, VIENNA) == value


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("day", "3/4/2026", "more than one day"),
        ("day", "04.03.2026", "more than one day"),
        ("day", "3 Mar 2026", "more than one day"),
        ("day", "2026-02-30", "There is no day"),
        ("day", "1822-01-01", "outside the years"),
        ("day", "soon", "is no day"),
        ("moment", "12:30", "is no time"),
        ("moment", "2026-02-30 12:30", "There is no day"),
        ("whole", "401", "from 0 to 400 d"),
        ("whole", "1.5", "no whole number"),
        ("number", "2,5", "is no number"),
        ("number", "12 Pa", "is no number"),
        ("number", "1e400", "is no number"),
        ("number", "²", "is no number"),
        ("yes", "perhaps", "neither yes nor no"),
        ("choice", "soiled", "clean, door"),
        ("words", "AO XX", "XX"),
        ("ref", "Nobody", "stands in no row"),
        ("ref", "BO HALE", "names several rows"),
        ("worn", "Z9", "no model of the register"),
        ("text", "a\nb", "line break"),
        ("text", "x" * 201, "longer than 200"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_words(kind: str, text: str, said: str) -> None:
    with pytest.raises(Unreadable, match=said):
        read(FIELDS[kind], text, NAMES, VIENNA)


def test_a_field_that_is_needed_is_missed() -> None:
    with pytest.raises(Unreadable, match="missing"):
        read(Field("f", "F", required=True), "  ", NAMES, VIENNA)


@pytest.mark.parametrize(
    "moment", [datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)]
)
def test_a_moment_comes_back_the_same_also_in_the_hour_that_happens_twice(moment: datetime) -> None:
    field = FIELDS["moment"]
    assert read(field, write(field, moment, NAMES, VIENNA), NAMES, VIENNA) == moment


def test_a_name_that_would_stand_for_two_rows_leaves_as_an_id() -> None:
    assert [write(FIELDS["ref"], one, NAMES, VIENNA) for one in ("p1", "p2")] == ["Ada Moor", "p2"]


@given(st.text(max_size=40))
def test_a_cell_that_was_made_harmless_comes_back_the_same(text: str) -> None:
    out = harmless(text)
    assert plain_cell(out) == text
    assert not out.startswith(("=", "+", "-", "@", "\t", "\r"))
