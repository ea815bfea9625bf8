"""What a file expects, and how it is compared with what came out."""

from __future__ import annotations

from typing import Any

import pytest

from app.drill.differences import agree, intervals, notices
from app.drill.expected import interval_value
from app.drill.values import ExpectedInterval, ExpectedNotice
from tests.app.drill.lines import scenario

OPEN = "00:00 | CA | case.open"


def raised(at_s: int, rule: str, severity: str, text: str = "words") -> dict[str, Any]:
    return {"case": "A", "at_s": at_s, "rule": rule, "severity": severity, "subject": "", "text": text, "late": False}


def wanted(at_s: int, rule: str, severity: str) -> ExpectedNotice:
    return ExpectedNotice(at_s, rule, severity, "words", 1)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("13:05", 785),
        ("-00:20", -20),
        ("61:00", 3660),
        ("95", 95),
        ("none", None),
        ("yes", True),
        ("no", False),
        ("P1=01:50; P4=open", {"P1": 110, "P4": "open"}),
        ("n1=00:30", {"n1": 30}),
        ("q1.ack=00:18; q1.in=02:30; q2.ack=none", {"q1": {"ack": 18, "in": 150}, "q2": {"ack": None}}),
        ("openings=1; open=00:06", {"openings": 1, "open": 6}),
        ("need_l=150; minutes=12.5", {"need_l": 150, "minutes": 12.5}),
    ],
)
def test_an_expected_interval_is_read_in_the_form_in_which_it_is_printed(text: str, value: Any) -> None:
    assert interval_value(text, 1) == value


def test_notices_are_expected_by_line_or_none_or_as_live() -> None:
    line = "18:58 | R32 | C | first breath | before cuff"
    said = scenario(OPEN, f"expect | live | {line}", "expect | final | as live").expected
    assert said.live == said.final == (ExpectedNotice(1138, "R32", "C", "first breath | before cuff", 4),)
    assert scenario(OPEN, "expect | live | none").expected.live == ()
    assert scenario(OPEN).expected.live is None


def test_expected_notices_agree_by_second_rule_and_severity_not_by_words() -> None:
    assert notices("live", [wanted(60, "R29", "W")], [raised(60, "R29", "W", "other words")]) == []


def test_a_file_that_says_nothing_of_notices_expects_nothing_of_them() -> None:
    assert notices("live", None, [raised(60, "R29", "W")]) == []


def test_the_list_of_notices_is_complete_both_ways() -> None:
    found = notices("final", [wanted(60, "R29", "W")], [raised(90, "R32", "C")])
    assert [one.shape() for one in found] == [
        {"what": "final", "expected": "01:00 R29 W words", "got": None},
        {"what": "final", "expected": None, "got": "01:30 R32 C words"},
    ]


def test_the_same_notice_twice_is_one_too_many() -> None:
    (found,) = notices("live", [wanted(60, "R29", "W")], [raised(60, "R29", "W"), raised(60, "R29", "W")])
    assert (found.expected, found.got) == (None, "01:00 R29 W words")


def test_a_notice_at_another_second_stands_beside_the_one_that_was_wanted() -> None:
    (found,) = notices("live", [wanted(60, "R29", "W")], [raised(61, "R29", "C")])
    assert (found.expected, found.got) == ("01:00 R29 W words", "01:01 R29 C words")


def measured(text: str, got: dict[str, Any]) -> list[str | None]:
    expected = ExpectedInterval("A", "I14", "request", interval_value(text, 1), 1)
    return [one.got for one in intervals([expected], {"A": got})]


def test_an_interval_agrees_when_every_part_of_it_does() -> None:
    assert measured("q1.ack=00:18; q1.in=none", {"I14": {"q1": {"ack": 18, "in": None}}}) == []
    assert measured("q1.ack=00:18", {"I14": {"q1": {"ack": 19}}}) == ["q1 ack 00:19"]
    assert measured("q1.ack=00:18", {"I14": {"q1": {"ack": 18}, "q2": {"ack": 5}}}) == ["q1 ack 00:18, q2 ack 00:05"]
    assert measured("q1.ack=00:18", {}) == [None]


@pytest.mark.parametrize(
    ("text", "got", "same"),
    [
        ("none", None, True),
        ("none", 12, False),
        ("yes", True, True),
        ("yes", 1, False),
        ("95", 95, True),
        ("95", 95.0, True),
        ("95", True, False),
        ("1", True, False),
        ("12.5", 12.46, True),
        ("12.5", 12.6, False),
        ("01:00", 60.5, False),
        ("P1=open", {"P1": "open"}, True),
        ("P1=open", {"P1": 12}, False),
        ("P1=01:00", "open", False),
    ],
)
def test_a_value_agrees_with_what_is_written_to_its_own_decimals(text: str, got: Any, same: bool) -> None:
    assert agree(interval_value(text, 1), got) is same


def test_an_interval_that_is_expected_to_be_absent_may_be_absent() -> None:
    assert intervals([ExpectedInterval("A", "I17", "clear_due", None, 1)], {"A": {}}) == []
