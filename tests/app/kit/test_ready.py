"""Is a kit ready: what it lacks, what is past its date, its seal, and what it says when it is staged for a case."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from app.kit.ready import Ready, ready
from app.kit.tables import Kit, KitCheck, KitContent, KitTemplate, KitTemplateItem

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
TODAY = NOW.date()
KIT = Kit(id="K", name="Trolley A", template_id="T", place="Store", seal="4471")
ITEMS = [
    KitTemplateItem(id=code, template_id="T", code=code, name=code.title(), quantity=quantity, mandatory=mandatory)
    for code, quantity, mandatory in (("suction", 1, True), ("tube", 2, True), ("tie", 1, False))
]


def content(code: str, quantity: int = 1, days: int | None = 200, lot: str = "") -> KitContent:
    on = None if days is None else TODAY + timedelta(days=days)
    return KitContent(id=f"{code}{lot}", kit_id="K", code=code, quantity=quantity, expires_on=on, lot=lot)


def check(hours: float = 1, **more: object) -> KitCheck:
    told = {"seal": "4471", "checked_by": "Ada", **more}
    return KitCheck(id=str(hours), kit_id="K", checked_at=NOW - timedelta(hours=hours), **told)


FULL = [content("suction"), content("tube", 2), content("tie", days=None)]


def judged(
    contents: list[KitContent] | None = None, checks: list[KitCheck] | None = None, used_at: datetime | None = None
) -> Ready:
    return ready(
        KIT, KitTemplate(id="T", name="Clean tray", tray="clean"), ITEMS, FULL if contents is None else contents,
        [check()] if checks is None else checks, NOW, TODAY, check_h=24, used_at=used_at,
    )  # fmt: skip


def test_a_whole_kit_under_its_seal_needs_nothing() -> None:
    found = judged()
    assert not found.needs_look
    assert found.staged == {
        "tray": "clean", "has": ["suction", "tube", "tie"], "missing": [], "expired": [], "note": "Trolley A, seal 4471"
    }  # fmt: skip


def test_what_is_short_is_told_with_how_many_and_mandatory_first() -> None:
    found = judged([content("tube", 1)])
    assert [(one.code, one.there, one.wanted, one.mandatory) for one in found.lacks] == [
        ("suction", 0, 1, True),
        ("tube", 1, 2, True),
        ("tie", 0, 1, False),
    ]
    assert found.staged["missing"] == ["suction", "tube"]
    assert found.staged["has"] == []


@pytest.mark.parametrize(("days", "counts"), [(0, True), (-1, False)])
def test_a_content_may_be_used_up_to_and_on_its_date(days: int, counts: bool) -> None:
    found = judged([content("suction", days=days), *FULL[1:]])
    assert (found.lacks == ()) is counts
    assert (found.staged["expired"] == []) is counts
    assert found.staged["missing"] == []


def test_a_second_lot_in_date_makes_up_for_one_that_is_not() -> None:
    found = judged([content("suction", days=-3, lot="A"), content("suction", lot="B"), *FULL[1:]])
    assert found.lacks == ()
    assert [one.lot for one in found.expired] == ["A"]


def test_expiry_is_forecast_by_thirty_sixty_and_ninety_days_each_once() -> None:
    found = judged([content("suction", days=30), content("tube", 2, days=31), content("tie", days=91)])
    assert [(days, [one.code for one in items]) for days, items in found.soon] == [
        (30, ["suction"]),
        (60, ["tube"]),
        (90, []),
    ]


@pytest.mark.parametrize(
    ("checks", "due", "other"),
    [
        ([check(24)], False, None),
        ([check(24.1)], True, None),
        ([], True, None),
        ([check(seal="9999")], True, "9999"),
        ([check(whole=False, seal=None)], True, None),
        ([check(5, seal="9999"), check(1)], False, None),
    ],
)
def test_a_check_is_due_when_it_is_old_or_the_seal_was_not_as_it_should_be(
    checks: list[KitCheck], due: bool, other: str | None
) -> None:
    found = judged(checks=checks)
    assert (found.check_due, found.seal_other) == (due, other)


@pytest.mark.parametrize(("hours", "due"), [(0.5, True), (2, False)])
def test_a_kit_that_a_case_took_is_to_be_checked_after_that(hours: float, due: bool) -> None:
    found = judged(checks=[check(1)], used_at=NOW - timedelta(hours=hours))
    assert (found.after_use, found.check_due) == (due, due)
