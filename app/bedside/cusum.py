"""Tabular cumulative sums. Positions count from 1; sums go on after a signal."""

from __future__ import annotations

from app.base.calculation import calculation
from app.base.checks import OutOfRange
from app.base.inputs import Input

_DATA = Input("data", "", "in order of time", kind="numbers", least=-1e9, most=1e9)
_TARGET = Input("target", least=-1e9, most=1e9)
_K = Input("k", "", "slack, half the shift to detect", least=0, most=1e9)
_SOURCE = "NIST/SEMATECH e-Handbook 6.3.2.3"


def _sums(data: tuple[float, ...], target: float, k: float) -> list[tuple[float, float]]:
    if not data:
        raise OutOfRange("data is empty: it must hold at least 1 point.")
    high = low = 0.0
    sums = []
    for point in data:
        high = max(0.0, high + point - target - k)
        low = max(0.0, low + target - k - point)
        sums.append((high, low))
    return sums


@calculation(
    _DATA,
    _TARGET,
    _K,
    Input("h", "", "decision limit", above=0, most=1e9),
    unit="indices",
    formula="C+ = max(0, C+ + x - T - k), C- = max(0, C- + T - k - x); signal above h",
    source=_SOURCE,
    evidence="C",
    cautions=("Either side signals; sums are not reset.",),
)
def tabular_cusum_signals(*, data: tuple[float, ...], target: float, k: float, h: float) -> tuple[int, ...]:
    """Points at which a tabular CUSUM is above its limit."""
    # a sum that stands on the limit is no signal, and many added tenths do not end on it to the last digit
    return tuple(i for i, sums in enumerate(_sums(data, target, k), 1) if round(max(sums), 9) > h)


@calculation(
    _DATA,
    _TARGET,
    _K,
    Input("index", "", "position, from 1", kind="whole", least=1, most=10_000),
    unit="",
    formula="C+ = max(0, C+ + x - T - k)",
    source=_SOURCE,
    evidence="C",
    cautions=("Sums are not reset after a signal.",),
)
def tabular_cusum_high_at(*, data: tuple[float, ...], target: float, k: float, index: int) -> float:
    """Upper sum of a tabular CUSUM after the point at a position."""
    sums = _sums(data, target, k)
    if index > len(sums):
        raise OutOfRange(f"index = {index} must be from 1 to {len(sums)}.")
    return sums[index - 1][0]
