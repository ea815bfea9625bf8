"""The apnoea forecast as a row with its curve: a model, rounded down, never a countdown."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import floor
from threading import Lock
from typing import Any

from app.base.calculation import Result
from app.base.messages import N_
from app.bedside.apnoea.forecast import ROUND_S
from app.live.worksheet.curve import Curve, curve_of
from app.live.worksheet.fields import Given
from app.live.worksheet.figure import Beside, Figure, number, worked

NAMES = (
    "weight_kg", "height_cm", "sex", "age_y", "threshold_spo2_pct", "preox_eto2", "preox_fio2", "preox_min",
    "head_up_deg", "shunt_fraction", "hb_g_dl", "apnoeic_oxygen",
)  # fmt: skip
ROUNDED = N_("a model, rounded down to 10 s, never a countdown")
UNIT = "min:s"
KEPT = 16
_ONE_AT_A_TIME = Lock()
Forecast = tuple[Figure, Curve | None]


def apnoea(given: Given) -> Forecast:
    """The forecast's row, and its curve when there is one. Takes up to a second: call it off the event loop."""
    with _ONE_AT_A_TIME:  # so that much typing never keeps more than one processor from storing taps
        return _forecast(tuple((name, str(value)) for name, value in given.values(*NAMES).items()))


@lru_cache(maxsize=KEPT)  # so that typing elsewhere on the sheet does not run the model again; bare figures, no names
def _forecast(values: tuple[tuple[str, str], ...]) -> Forecast:
    results: list[Result] = []

    def more(result: Result) -> Figure:
        results.append(result)
        low, high = result.more["low"], result.more["high"]
        return Figure("", "", beside=(_at(N_("low estimate"), low), _at(N_("high estimate"), high)))

    figure = worked(
        "apnoea", N_("Apnoea until the probe shows that saturation"), "apnoea_time_s", dict(values),
        lambda result: (clock(number(result)), ROUNDED), more,
    )  # fmt: skip
    if not results:
        return figure, None
    return replace(figure, unit=UNIT), curve_of(results[0].more, float(str(results[0].inputs["threshold_spo2_pct"])))


def clock(seconds: float) -> str:
    """Minutes and seconds, rounded down to 10 s.

    >>> clock(303.01), clock(59.9)
    ('5:00', '0:50')
    """
    whole = floor(seconds / ROUND_S + 1e-9) * ROUND_S
    return f"{whole // 60}:{whole % 60:02d}"


def _at(label: str, seconds: Any) -> Beside:
    return Beside(label, clock(float(seconds)), UNIT)
