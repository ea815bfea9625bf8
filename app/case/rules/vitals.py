"""Oxygen saturation, blood pressure and the ventilator's settings: R28, R38, R39.

R28 and R39 speak once a severity and dip: a dip ends at a reading at or above the limit.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from math import ceil
from typing import Any

from app.base.checks import Refused
from app.bedside.body import pbw_kg
from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State
from app.case.steps import airway_step

Reading = tuple[Happening, float]


def _readings(state: State, field: str) -> Iterator[Reading]:
    """Readings of one figure, newest first."""
    for h in reversed(state.all("vitals")):
        if (value := getattr(h.body, field)) is not None:
            yield h, value


def _within(starts: tuple[Happening, ...], at: datetime, watched: timedelta) -> bool:
    """Whether a moment lies within so long after one of these happenings."""
    return any(timedelta(0) <= at - start.at <= watched for start in starts)


def _watched_for_oxygen(state: State, at: datetime, watched: timedelta) -> bool:
    starts = (*ask.inductions(state), *state.all("ext.out"), *state.all("vent.hold"))
    return _within(starts, at, watched) or _in_transit(state, at)


def _in_transit(state: State, at: datetime) -> bool:
    """From departure to acceptance."""
    left, taken = state.first("tx.depart"), state.first("tx.accept")
    return left is not None and left.at <= at and (taken is None or at <= taken.at)


def _oxygen_limits(sight: Sight) -> Callable[[Happening], float]:
    """Gives the limit that a reading is held to [%]: before the airway step a fixed one.

    From the step on it is the lower of that and the last value before the step less the drop.
    """
    fixed, step = sight.limit("R28", "low_percent"), airway_step(sight.after)
    if step is None:
        return lambda reading: fixed
    readings = sight.after.all("vitals")
    earlier = readings[: bisect_left(readings, step.order, key=lambda h: h.order)]
    before = next((value for h in reversed(earlier) if (value := ask.body(h).spo2) is not None), None)
    after = fixed if before is None else min(fixed, before - sight.limit("R28", "drop_percent"))
    return lambda reading: fixed if reading.order < step.order else after


def low_oxygen(sight: Sight) -> Found:
    """R28: oxygen saturation low, or very low, in a watched time."""
    spo2, very_low = sight.body.spo2, sight.limit("R28", "very_low_percent")
    if spo2 is None or spo2 >= max(very_low, sight.limit("R28", "low_percent")):
        return  # no reading is held to a higher limit than the fixed one
    watched = timedelta(minutes=sight.limit("R28", "watch_min"))
    limit_of = _oxygen_limits(sight)

    def grade(h: Happening, value: float) -> str | None:
        """The situation of a reading; "" while no watched time runs; None at or above the limit: a dip is over."""
        if value >= very_low and value >= limit_of(h):
            return None
        if not _watched_for_oxygen(sight.after, h.at, watched):
            return ""
        return "very_low" if value < very_low else "low"

    if (situation := _new_in_dip(sight, "spo2", grade)) is not None:
        limit = limit_of(sight.h)
        yield sight.find(
            "R28", situation, over=_recovered(sight.h, "spo2", max(limit, very_low)),
            spo2=spo2, limit=limit,
        )  # fmt: skip


def _new_in_dip(sight: Sight, field: str, grade: Callable[[Happening, float], str | None]) -> str | None:
    """The situation of the reading just made, unless this dip has had it before."""
    if getattr(sight.body, field) is None:
        return None
    readings = _readings(sight.after, field)
    situation = grade(*next(readings))
    if not situation:
        return None
    for reading in readings:
        past = grade(*reading)
        if past is None:
            break
        if past == situation:
            return None
    return situation


def _recovered(h: Happening, field: str, limit: float) -> Any:
    def high_enough(body: Any) -> bool:
        value = getattr(body, field)
        return value is not None and value >= limit

    return lambda state: ask.happened_since(state, "vitals", h, high_enough)


def low_pressure(sight: Sight) -> Found:
    """R39: systolic pressure low soon after induction. For a child of unknown years there is no limit to hold it to."""
    if sight.body.sbp is None:
        return
    watched = timedelta(minutes=sight.limit("R39", "watch_min"))
    child, low, very_low = _pressure_limits(sight)
    if low is None:
        return

    def grade(h: Happening, value: float) -> str | None:
        if value >= low:
            return None
        if not _within(ask.inductions(sight.after), h.at, watched):
            return ""
        if child:
            return "child"
        return "very_low" if value < very_low else "low"

    if (situation := _new_in_dip(sight, "sbp", grade)) is not None:
        yield sight.find("R39", situation, over=_recovered(sight.h, "sbp", low), sbp=sight.body.sbp, limit=low)


def _pressure_limits(sight: Sight) -> tuple[bool, float | None, float]:
    """Whether it is a child, the limit and the adult's critical one [mmHg]. Child: 70 + 2 x age in years."""
    very_low = sight.limit("R39", "adult_very_low_mmhg")
    if not ask.is_child(sight.after):
        return False, sight.limit("R39", "adult_low_mmhg"), very_low
    age = ask.age_years(sight.after)
    if age is None:
        return True, None, very_low
    return True, sight.limit("R39", "child_base_mmhg") + sight.limit("R39", "child_per_year_mmhg") * age, very_low


def _predicted_weight_kg(state: State) -> float | None:
    """Predicted body weight as told, otherwise of an adult's sex and height [kg]; None when it cannot be known."""
    setup = state.setup
    if setup.pbw_kg is not None:
        return setup.pbw_kg
    if ask.is_child(state) or setup.sex is None or setup.height_cm is None:
        return None
    try:
        return pbw_kg(sex=setup.sex, height_cm=setup.height_cm)
    except Refused:
        return None


def ventilator_settings(sight: Sight) -> Found:
    """R38: a large tidal volume for the predicted body weight, or a high plateau pressure."""
    vt_ml, plateau, weight_kg = sight.body.vt, sight.body.plat, _predicted_weight_kg(sight.after)
    per_kg = None if vt_ml is None or not weight_kg or weight_kg < 0 else vt_ml / weight_kg
    large = per_kg is not None and per_kg > sight.limit("R38", "vt_ml_per_kg") + 1e-9
    high = plateau is not None and plateau > sight.limit("R38", "plateau_cmh2o")
    if not large and not high:
        return
    say = "high" if large and high else "volume" if large else "plateau"
    rounded = None if per_kg is None else ceil(per_kg * 10 - 1e-6) / 10  # never down to the limit it is above
    yield sight.find("R38", "high", say=say, vt_ml_per_kg=rounded, plateau=plateau)


RULES: Table = (
    (low_oxygen, ("vitals",)),
    (low_pressure, ("vitals",)),
    (ventilator_settings, ("vent.set",)),
)
