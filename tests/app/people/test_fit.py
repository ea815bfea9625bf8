"""Fit tests read by two countries. Levels: isolation-values 3.3 (OSHA 1910.134 [M], HSE INDG479 [C2])."""

from __future__ import annotations

from datetime import date

import pytest

from app.people.fit import FitResult, Reading, last_passed, reading

COUNT = "ambient particle count"
SEVEN = " ".join(["100"] * 7)


@pytest.mark.parametrize(
    ("method", "factors", "result", "face", "us", "uk"),
    [
        (COUNT, SEVEN, None, "half", True, True),
        (COUNT, "99.9 99.9 99.9 99.9 99.9 99.9 99.9", None, "half", False, False),
        (COUNT, "900 900 900 900 900 900 90", None, "half", True, False),  # harmonic mean 391
        (COUNT, "50 5000 5000 5000 5000 5000 5000", None, "half", True, False),  # harmonic mean 330
        (COUNT, "600 600 600 600 600 600 600", None, "full", True, False),  # 500 in the US, 2000 in the UK
        (COUNT, "2000 2000 2000 2000 2000 2000 2000", None, "full", True, True),
        (COUNT, "300", None, "half", True, None),  # one overall figure says nothing of each exercise
        (COUNT, "80", None, "half", False, False),
        (COUNT, "0 900 900 900 900 900 900", None, "half", False, False),
        (COUNT, "", None, "half", None, None),
        ("bitter aerosol", "", "pass", "half", True, True),
        ("bitter aerosol", "", "fail", "half", False, False),
        ("bitter aerosol", "", "pass", "full", False, False),  # only where a factor of 100 is enough
        ("irritant smoke", "", "pass", "half", True, False),  # no method in the UK
        ("not recorded", "", "pass", "half", True, True),
        ("bitter aerosol", "", "pass", "hood", None, None),
    ],
)
def test_the_same_data_can_pass_in_one_country_and_fail_in_the_other(
    method: str, factors: str, result: str | None, face: str, us: bool | None, uk: bool | None
) -> None:
    read = reading(method, factors, result, face)
    assert (read.us, read.uk) == (us, uk)


def test_what_cannot_be_told_does_not_count() -> None:
    assert [Reading(True, None).counts(by) for by in ("us", "uk", "both")] == [True, False, False]


def test_the_newest_test_of_a_model_decides_and_each_model_stands_alone() -> None:
    good, bad = Reading(True, True), Reading(False, False)
    tests = [
        FitResult("P1", "K2", "M", date(2026, 3, 1), bad),
        FitResult("P1", "K2", "S", date(2026, 1, 1), good),
        FitResult("P1", "M1", "", date(2025, 1, 1), good),
        FitResult("P2", "K2", "M", date(2026, 1, 1), good),
    ]
    found = last_passed(tests, "both")
    assert {p: list(models) for p, models in found.items()} == {"P1": ["M1"], "P2": ["K2"]}
