"""Is a room proven: by sign, by reference point, by direction, and only by a check in date."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from app.rooms.plot import plot
from app.rooms.ready import ready
from app.rooms.tables import Room, RoomCheck

NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
TODAY = NOW.date()


def room(**more: object) -> Room:
    told = {
        "meant": "negative",
        "reference": "corridor",
        "limit_pa": -2.5,
        "ach": 12.0,
        "ach_on": date(2026, 1, 1),
        **more,
    }
    return Room(id="R4", name="Room 4", clear=99.9, **told)


def check(pressure_pa: float | None = -6.0, hours: float = 1, **more: object) -> RoomCheck:
    told = {"reference": "corridor", "direction": "inwards", **more}
    return RoomCheck(
        id=f"c{hours}",
        room_id="R4",
        checked_at=NOW - timedelta(hours=hours),
        pressure_pa=pressure_pa,
        checked_by="Estates",
        **told,
    )


def judged(one: Room, *checks: RoomCheck) -> tuple[str, str]:
    found = ready(one, checks, NOW, TODAY, check_h=24, ach_days=365)
    return found.verdict, found.why


@pytest.mark.parametrize(
    ("one", "checks", "verdict", "why"),
    [
        (room(), [check()], "proven", "as it is meant"),
        (room(), [check(-2.5)], "proven", "as it is meant"),
        (room(), [check(-2.4)], "not proven", "not as it is meant"),
        (room(limit_pa=None), [check(-0.1)], "proven", "as it is meant"),
        (room(), [check(6.0)], "not proven", "not as it is meant"),
        (room(), [check(direction="outwards")], "not proven", "wrong way"),
        (room(), [check(direction="not clear")], "not proven", "not clear"),
        (room(), [check(door_shut=False)], "not proven", "door was open"),
        (room(), [check(None)], "cannot be told", "not read"),
        (room(), [check(reference="lobby")], "cannot be told", "another reference"),
        (room(meant=None), [check()], "cannot be told", "how it is meant"),
        (room(), [], "not checked", "Nobody"),
        (room(), [check(hours=24)], "proven", "as it is meant"),
        (room(), [check(hours=24.01)], "too old", "older"),
        (room(), [check(6.0, hours=5), check(-6.0, hours=1)], "proven", "as it is meant"),
        # A UK lobby is positive to both sides (isolation-values 1.3).
        (room(meant="positive", limit_pa=8.0), [check(10.0, direction="outwards")], "proven", "as it is meant"),
        (room(meant="positive", limit_pa=8.0), [check(7.0, direction="outwards")], "not proven", "not as it is meant"),
        (room(meant="neutral", limit_pa=2.0), [check(-1.5, direction=None)], "proven", "as it is meant"),
        (room(meant="neutral", limit_pa=2.0), [check(2.5, direction=None)], "not proven", "not as it is meant"),
    ],
)
def test_a_room_is_proven_only_by_what_its_last_check_says(
    one: Room, checks: list[RoomCheck], verdict: str, why: str
) -> None:
    said = judged(one, *checks)
    assert said[0] == verdict
    assert why in said[1]


@pytest.mark.parametrize(("measured", "stale"), [(date(2025, 11, 3), False), (date(2025, 11, 2), True), (None, True)])
def test_a_figure_of_air_changes_goes_stale_after_the_days_that_the_department_set(
    measured: date | None, stale: bool
) -> None:
    found = ready(room(ach_on=measured), [check()], NOW, TODAY, check_h=24, ach_days=365)
    assert found.ach_stale is stale


def test_readings_are_plotted_by_their_time_and_sign_with_the_limit() -> None:
    drawn = plot([check(-6.0, hours=48), check(None, hours=30), check(1.0, hours=24)], -2.5, NOW, days=30)
    assert drawn is not None
    first, last = drawn.dots
    assert first.x < last.x < drawn.right
    assert last.y < drawn.zero < (drawn.limit or 0) < first.y
    assert (drawn.low, drawn.high) == (-6.0, 1.0)


@pytest.mark.parametrize("checks", [[], [check()], [check(), check(hours=24 * 31)]])
def test_fewer_than_two_readings_make_no_plot(checks: list[RoomCheck]) -> None:
    assert plot(checks, None, NOW, days=30) is None
