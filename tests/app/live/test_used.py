"""What cases really used, respirators left by it, and who is covered by a model."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from app.case.fold import fold
from app.kit.tables import Respirator, RespiratorStock
from app.live.cover import cover
from app.live.supply import supply, unsized
from app.live.used import Worn, used
from app.people.fit import FitResult, Reading
from app.people.tables import Person
from tests.app.case.telling import CASE, moment, told

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)


def test_a_respirator_counts_when_it_is_put_on_each_time_and_not_when_the_tap_was_taken_back() -> None:
    state = fold(CASE, told(
        "01:00 don.start p=P1; resp=tight:K2", "02:00 don.start p=P2; resp=hood", "03:00 don.start p=P3; resp=tight:M1; id=d3",
        "04:00 tap.void ref=d3; why=wrong person", "30:00 don.start p=P1; resp=tight:K2",
    ))  # fmt: skip
    assert [(one.p, one.model, one.at) for one in used(state).worn] == [
        ("P1", "K2", moment("01:00")),
        ("P1", "K2", moment("30:00")),
    ]


def test_without_a_word_of_the_model_the_one_that_the_register_gave_counts() -> None:
    entries = told("01:00 don.start p=P1; ens=airborne")
    entries[0].facts["people"] = {"P1": {"name": "Ada", "resp": "tight:K2"}}  # type: ignore[index]
    assert [one.model for one in used(fold(CASE, entries)).worn] == ["K2"]


def test_what_went_in_is_used_and_what_stayed_outside_is_not() -> None:
    state = fold(CASE, told(
        "01:00 kit.staged tray=clean; has=suction,tube; note=Trolley A, seal 4471", "02:00 kit.staged tray=door; has=fona",
        "05:00 room.in p=P1", "06:00 req.new q=q1; item=size 7 tube", "07:00 req.in q=q1",
        "08:00 req.new q=q2; item=blanket", "09:00 item.move item=scope; from=door; to=room; quantity=2",
        "10:00 item.move item=scope; from=room; to=soiled",
    ))  # fmt: skip
    found = used(state)
    assert sorted((one.item, one.quantity) for one in found.took) == [
        ("scope", 2),
        ("size 7 tube", 1),
        ("suction", 1),
        ("tube", 1),
    ]
    assert found.kits == (("Trolley A, seal 4471", moment("05:00")),)


def test_a_tray_that_never_went_in_was_not_used() -> None:
    found = used(fold(CASE, told("01:00 kit.staged tray=clean; has=suction; note=Trolley A")))
    assert (found.took, found.kits) == ((), ())


def stock(
    size: str = "", counted: int = 40, days: int = 10, reorder: int | None = None
) -> tuple[Respirator, RespiratorStock]:
    row = RespiratorStock(
        id=size,
        respirator_id="r",
        size=size,
        counted=counted,
        counted_at=NOW - timedelta(days=days),
        reorder_at=reorder,
    )
    return Respirator(id="r", model="K2"), row


def worn(p: str, *days: float) -> list[Worn]:
    return [Worn(p, "K2", NOW - timedelta(days=one)) for one in days]


def test_what_is_left_is_the_count_less_what_was_put_on_since_and_the_days_are_a_range() -> None:
    """28 in 28 days is 1 a day, 14 in 7 days is 2 a day: 26 left last 13 to 26 days (isolation-values 3.6)."""
    uses = [*worn("P1", *[0.4 * n for n in range(1, 15)]), *worn("P1", *[12 + n for n in range(14)])]
    (found,) = supply([stock()], uses, {}, NOW)
    assert (found.used_since, found.left, found.rate, found.rate_recent, found.days) == (14, 26, 1.0, 2.0, (13, 26))


def test_sizes_are_those_in_which_people_were_tested_and_an_unknown_one_is_taken_off_none() -> None:
    sizes = {("P1", "K2"): "S", ("P2", "K2"): "M"}
    uses = [*worn("P1", 1, 2), *worn("P2", 1), *worn("P9", 1)]
    left = {one.size: one.left for one in supply([stock("S"), stock("M")], uses, sizes, NOW)}
    assert left == {"S": 38, "M": 39}
    assert unsized(uses, sizes, NOW - timedelta(days=28)) == {"K2": 1}


@pytest.mark.parametrize(
    ("counted", "reorder", "short"), [(11, 10, False), (10, 10, True), (0, None, True), (1, None, False)]
)
def test_stock_is_short_at_the_count_to_order_again_or_when_none_is_left(
    counted: int, reorder: int | None, short: bool
) -> None:
    (found,) = supply([stock(counted=counted, reorder=reorder)], [], {}, NOW)
    assert found.short is short
    assert found.days is None


PASS, FAIL = Reading(True, True), Reading(True, False)


@pytest.mark.parametrize(
    ("tests", "why"),
    [
        ([], "no test"),
        ([FitResult("P1", "M1", "", date(2026, 10, 1), PASS)], "no test"),
        ([FitResult("P1", "Q7", "S", date(2025, 11, 3), PASS)], "covered"),  # day 365 is still valid (R05)
        ([FitResult("P1", "Q7", "S", date(2025, 11, 2), PASS)], "too old"),
        ([FitResult("P1", "Q7", "S", date(2026, 10, 1), FAIL)], "did not pass"),
        (
            [FitResult("P1", "Q7", "S", date(2026, 1, 1), PASS), FitResult("P1", "Q7", "S", date(2026, 10, 1), FAIL)],
            "did not pass",
        ),
    ],
)
def test_who_is_not_covered_by_a_model_that_arrives_is_told_with_why(tests: list[FitResult], why: str) -> None:
    ada = Person(id="P1", name="Ada", initials="A", job="doctor", hood=True)
    (found,) = cover([ada], "Q7", tests, "both", NOW.date(), 365)
    assert found.why == why
    assert found.covered is (why == "covered")
