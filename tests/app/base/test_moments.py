"""Moments as text: what is read, and what is refused."""

from datetime import UTC, datetime

import pytest

from app.base.moments import moment_text, parse_moment


def test_an_offset_is_reckoned_away_and_microseconds_stay() -> None:
    assert parse_moment("2026-11-03T15:10:00.25+01:00") == datetime(2026, 11, 3, 14, 10, 0, 250_000, UTC)


def test_what_was_written_is_read_back_the_same() -> None:
    moment = datetime(2026, 11, 3, 14, 10, 0, 7, UTC)
    assert parse_moment(moment_text(moment)) == moment


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2026-11-03",
        "2026-11-03T14:10:00",
        "2026-13-03T14:10:00Z",
        "2026-11-03T14:10:00+25:00",
        "２０２６-11-03T14:10:00Z",
    ],
)
def test_what_is_no_moment_with_an_offset_is_refused(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - the words differ, the refusal is the point
        parse_moment(text)


@pytest.mark.parametrize("text", ["1999-12-31T23:59:59Z", "2101-01-01T00:00:00Z"])
def test_a_year_outside_2000_to_2100_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="2000"):
        parse_moment(text)


@pytest.mark.parametrize(
    ("one", "other"),
    # TIME-01 and TIME-02: the examples of RFC 3339, section 5.8, moved to years that a journal may hold
    [
        ("2026-12-19T16:39:57-08:00", "2026-12-20T00:39:57Z"),
        ("2026-04-12T23:20:50.52Z", "2026-04-12T23:20:50.52+00:00"),
        ("2026-12-31T23:59:60Z", "2027-01-01T00:00:00Z"),  # a leap second is the second after
        ("2026-12-31T15:59:60-08:00", "2026-12-31T23:59:60Z"),
    ],
)
def test_two_texts_of_one_instant_are_one_moment(one: str, other: str) -> None:
    assert parse_moment(one) == parse_moment(other)
