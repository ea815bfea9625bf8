"""What an inside screen says of itself when its line opens, and what of it goes into the record."""

from __future__ import annotations

import pytest
from starlette.datastructures import QueryParams

from app.web.api.stream import _told


@pytest.mark.parametrize(
    ("query", "queued", "skew_s"),
    [
        ("waiting=3&skew_ms=3412.7", 3, 3.4),
        ("waiting=0&skew_ms=-61000", 0, -61.0),
        ("", None, None),
        ("waiting=&skew_ms=", None, None),
        ("waiting=-1&skew_ms=nan", None, None),
        ("waiting=1e3&skew_ms=inf", None, None),
        ("waiting=²&skew_ms=1e400", None, None),
        ("waiting=99999999&skew_ms=later", None, None),
    ],
)
def test_what_it_says_is_taken_as_figures_or_not_at_all(query: str, queued: int | None, skew_s: float | None) -> None:
    assert _told(QueryParams(query)) == (queued, skew_s)
