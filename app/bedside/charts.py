"""Control charts. A point on a limit is no signal; positions count from 1, as the published examples do."""

from __future__ import annotations

from itertools import pairwise
from math import erf, log2, sqrt

from app.base.calculation import Graded, calculation
from app.base.checks import OutOfRange
from app.base.inputs import Input
from app.bedside.quality import binomial_cdf_half

_DATA = Input("data", "", "in order of time", kind="numbers", least=-1e9, most=1e9)
_COUNTS = Input("counts", "", "events in each period", kind="numbers", least=0, most=1e9)
_UNITS = Input("units", "", "size of each period", kind="numbers", above=0, most=1e9)
_DEFECTIVES = Input("defectives", "", "cases with the event in each sample", kind="numbers", least=0, most=1e9)
_N = Input("n", "", "size of the samples", kind="whole", least=1, most=1_000_000)
_LAMBDA = Input("lambda", "", "weight of the newest point", param="lambda_", above=0, most=1)
_INDEX = Input("index", "", "position, from 1", kind="whole", least=1, most=10_000)
_NIST = "NIST/SEMATECH e-Handbook"
_NAME_IT = "Name the rule set and do not stack rules: false alarms add up."
_FEW = "Fewer than 12 points: show the data without limits."
D2_OF_TWO = 1.128
D4_OF_TWO = 3.267
_ON_THE_LINE = 1e-9


def _enough(name: str, data: tuple[float, ...], least: int) -> None:
    if len(data) < least:
        raise OutOfRange(f"{name} holds {len(data)} points; it must hold at least {least}.")


def _same_length(names: tuple[str, str], one: tuple[float, ...], two: tuple[float, ...]) -> None:
    if len(one) != len(two) or not one:
        raise OutOfRange(f"{names[0]} and {names[1]} must have the same number of items, at least 1.")


def _at(index: int, data: tuple[float, ...]) -> None:
    if index > len(data):
        raise OutOfRange(f"index = {index} must be from 1 to {len(data)}.")


def _beyond(point: float, low: float, high: float) -> bool:
    """Outside both limits; a point on one stays on it, whatever the last digit of a sum says."""
    width = _ON_THE_LINE * max(1.0, high)
    return not low - width <= point <= high + width


def _few(data: tuple[float, ...]) -> tuple[str, ...]:
    return (_FEW,) if len(data) < 12 else ()


def _mean(data: tuple[float, ...]) -> float:
    return sum(data) / len(data)


def _moving_range(data: tuple[float, ...]) -> float:
    _enough("data", data, 2)
    return _mean(tuple(abs(b - a) for a, b in pairwise(data)))


@calculation(_DATA, unit="", formula="mean", source=f"{_NIST} 6.3.2.2", evidence="C", cautions=(_NAME_IT,))
def individuals_mean(*, data: tuple[float, ...]) -> Graded[float]:
    """Centre line of an individuals chart."""
    _enough("data", data, 1)
    return Graded(_mean(data), warnings=_few(data))


@calculation(
    _DATA, unit="", formula="mean of |x(i) - x(i-1)|", source=f"{_NIST} 6.3.2.2", evidence="C", cautions=(_NAME_IT,)
)
def individuals_mean_moving_range(*, data: tuple[float, ...]) -> Graded[float]:
    """Mean moving range."""
    return Graded(_moving_range(data), warnings=_few(data))


@calculation(
    _DATA, unit="", formula="mean + 3 mR / 1.128", source=f"{_NIST} 6.3.2.2", evidence="C", cautions=(_NAME_IT,)
)
def individuals_UCL(*, data: tuple[float, ...]) -> Graded[float]:
    """Upper limit of an individuals chart."""
    return Graded(_mean(data or (0,)) + 3 * _moving_range(data) / D2_OF_TWO, warnings=_few(data))


@calculation(
    _DATA, unit="", formula="mean - 3 mR / 1.128", source=f"{_NIST} 6.3.2.2", evidence="C", cautions=(_NAME_IT,)
)
def individuals_LCL(*, data: tuple[float, ...]) -> Graded[float]:
    """Lower limit of an individuals chart."""
    return Graded(_mean(data or (0,)) - 3 * _moving_range(data) / D2_OF_TWO, warnings=_few(data))


@calculation(_DATA, unit="", formula="3.267 mR", source=f"{_NIST} 6.3.2.2; D4", evidence="C", cautions=(_NAME_IT,))
def moving_range_UCL(*, data: tuple[float, ...]) -> Graded[float]:
    """Upper limit of a moving-range chart."""
    return Graded(D4_OF_TWO * _moving_range(data), warnings=_few(data))


def _c_limits(counts: tuple[float, ...]) -> tuple[float, float, float]:
    _enough("counts", counts, 1)
    centre = _mean(counts)
    return max(centre - 3 * sqrt(centre), 0.0), centre, centre + 3 * sqrt(centre)


@calculation(_COUNTS, unit="", formula="mean count", source=f"{_NIST} 6.3.3.1", evidence="C", cautions=(_NAME_IT,))
def c_chart_center(*, counts: tuple[float, ...]) -> Graded[float]:
    """Centre line of a c chart."""
    return Graded(_c_limits(counts)[1], warnings=_few(counts))


@calculation(_COUNTS, unit="", formula="c + 3 sqrt(c)", source=f"{_NIST} 6.3.3.1", evidence="C", cautions=(_NAME_IT,))
def c_chart_UCL(*, counts: tuple[float, ...]) -> Graded[float]:
    """Upper limit of a c chart."""
    return Graded(_c_limits(counts)[2], warnings=_few(counts))


@calculation(
    _COUNTS, unit="", formula="c - 3 sqrt(c), at least 0", source=f"{_NIST} 6.3.3.1", evidence="C", cautions=(_NAME_IT,)
)
def c_chart_LCL(*, counts: tuple[float, ...]) -> Graded[float]:
    """Lower limit of a c chart."""
    return Graded(_c_limits(counts)[0], warnings=_few(counts))


@calculation(
    _COUNTS, unit="", formula="positions strictly beyond a limit", source=f"{_NIST} 6.3.3.1", evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def c_chart_signals(*, counts: tuple[float, ...]) -> Graded[tuple[int, ...]]:
    """Points beyond the limits of a c chart."""
    low, _, high = _c_limits(counts)
    return Graded(tuple(i for i, count in enumerate(counts, 1) if _beyond(count, low, high)), warnings=_few(counts))


def _u_centre(counts: tuple[float, ...], units: tuple[float, ...]) -> float:
    _same_length(("counts", "units"), counts, units)
    return sum(counts) / sum(units)


def _u_limits(centre: float, size: float) -> tuple[float, float]:
    half = 3 * sqrt(centre / size)
    return max(centre - half, 0.0), centre + half


@calculation(
    _COUNTS, _UNITS, unit="", formula="sum(counts) / sum(units)", source="Montgomery", evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def u_chart_center(*, counts: tuple[float, ...], units: tuple[float, ...]) -> Graded[float]:
    """Centre line of a u chart."""
    return Graded(_u_centre(counts, units), warnings=_few(counts))


@calculation(
    _COUNTS, _UNITS, unit="", formula="u +- 3 sqrt(u / mean units), at least 0", source="Montgomery", evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def u_chart_limits_average_n(*, counts: tuple[float, ...], units: tuple[float, ...]) -> Graded[tuple[float, float]]:
    """Limits of a u chart for the average size."""
    return Graded(_u_limits(_u_centre(counts, units), _mean(units)), warnings=_few(counts))


@calculation(
    _COUNTS, _UNITS, _INDEX, unit="", formula="u +- 3 sqrt(u / units(index)), at least 0", source="Montgomery",
    evidence="K", cautions=(_NAME_IT,),
)  # fmt: skip
def u_chart_limits_point(
    *, counts: tuple[float, ...], units: tuple[float, ...], index: int
) -> Graded[tuple[float, float]]:
    """Limits of a u chart at one point."""
    centre = _u_centre(counts, units)
    _at(index, units)
    return Graded(_u_limits(centre, units[index - 1]), warnings=_few(counts))


def _ewma(data: tuple[float, ...], weight: float, start: float) -> list[float]:
    _enough("data", data, 1)
    values, last = [], start
    for point in data:
        last = weight * point + (1 - weight) * last
        values.append(last)
    return values


_START = Input("start", "", "value before the first point, usually the target", least=-1e9, most=1e9)
_EWMA = f"{_NIST} 6.3.2.4"


@calculation(
    _DATA, _LAMBDA, _START, unit="", formula="z = lambda x + (1-lambda) z", source=_EWMA, evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def ewma_last_value(*, data: tuple[float, ...], lambda_: float, start: float) -> float:
    """Last value of an exponentially weighted moving average."""
    return _ewma(data, lambda_, start)[-1]


@calculation(
    _DATA, _LAMBDA, _START, _INDEX, unit="", formula="z = lambda x + (1-lambda) z", source=_EWMA, evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def ewma_value_at(*, data: tuple[float, ...], lambda_: float, start: float, index: int) -> float:
    """Exponentially weighted moving average after the point at a position."""
    values = _ewma(data, lambda_, start)
    _at(index, data)
    return values[index - 1]


@calculation(
    _LAMBDA,
    Input("target", least=-1e9, most=1e9),
    Input("s", "", "standard deviation", above=0, most=1e9),
    Input("L", "", "width, usually 3", above=0, most=10),
    unit="",
    formula="target +- L s sqrt(lambda / (2 - lambda))",
    source=_EWMA,
    evidence="C",
    cautions=("Limits after many points: narrower at the start.",),
)
def ewma_limits(*, lambda_: float, target: float, s: float, L: float) -> tuple[float, float]:
    """Limits of an EWMA chart."""
    half = L * s * sqrt(lambda_ / (2 - lambda_))
    return target - half, target + half


@calculation(
    Input("useful_points", "", "points not on the median", kind="whole", least=2, most=1000),
    unit="[longest run max, crossings min]",
    formula="round(log2 n + 3); 5th percentile of Binomial(n-1, 0.5)",
    source="Anhoej & Olesen 2014, PLoS One",
    evidence="C",
    cautions=("A signal is a longer run, or fewer crossings.", _NAME_IT),
)
def anhoej_run_limits(*, useful_points: int) -> Graded[tuple[int, int]]:
    """Longest run allowed and fewest crossings allowed in a run chart."""
    crossings = next(k for k in range(useful_points) if binomial_cdf_half(k, useful_points - 1) >= 0.05)
    note = (_FEW,) if useful_points < 10 else ()
    return Graded((round(log2(useful_points) + 3), crossings), warnings=note)


def _p_limits(defectives: tuple[float, ...], n: int) -> tuple[float, float, float]:
    _enough("defectives", defectives, 1)
    if max(defectives) > n:
        raise OutOfRange(f"defectives: each item must be from 0 to n = {n}.")
    centre = sum(defectives) / (n * len(defectives))
    half = 3 * sqrt(centre * (1 - centre) / n)
    return max(centre - half, 0.0), centre, min(centre + half, 1.0)


@calculation(
    _DEFECTIVES, _N, unit="", formula="mean share", source=f"{_NIST} 6.3.3.2", evidence="C", cautions=(_NAME_IT,)
)
def p_chart_center(*, defectives: tuple[float, ...], n: int) -> Graded[float]:
    """Centre line of a p chart."""
    return Graded(_p_limits(defectives, n)[1], warnings=_few(defectives))


@calculation(
    _DEFECTIVES, _N, unit="", formula="p + 3 sqrt(p(1-p)/n), at most 1", source=f"{_NIST} 6.3.3.2", evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def p_chart_UCL(*, defectives: tuple[float, ...], n: int) -> Graded[float]:
    """Upper limit of a p chart."""
    return Graded(_p_limits(defectives, n)[2], warnings=_few(defectives))


@calculation(
    _DEFECTIVES, _N, unit="", formula="p - 3 sqrt(p(1-p)/n), at least 0", source=f"{_NIST} 6.3.3.2", evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def p_chart_LCL(*, defectives: tuple[float, ...], n: int) -> Graded[float]:
    """Lower limit of a p chart."""
    return Graded(_p_limits(defectives, n)[0], warnings=_few(defectives))


@calculation(
    _DEFECTIVES, _N, unit="", formula="positions strictly beyond a limit", source=f"{_NIST} 6.3.3.2", evidence="C",
    cautions=(_NAME_IT,),
)  # fmt: skip
def p_chart_signals(*, defectives: tuple[float, ...], n: int) -> Graded[tuple[int, ...]]:
    """Points beyond the limits of a p chart."""
    low, _, high = _p_limits(defectives, n)
    beyond = tuple(i for i, count in enumerate(defectives, 1) if _beyond(count / n, low, high))
    return Graded(beyond, warnings=_few(defectives))


@calculation(
    Input("n", "", "size of the subgroup", kind="whole", least=2, most=1000),
    unit="",
    formula="integral of 1 - Phi(x)^n - (1 - Phi(x))^n",
    source="definition: mean range of n standard normal values",
    evidence="K",
    cautions=("For values that are normal: ranges of skewed ones differ.",),
)
def d2(*, n: int) -> float:
    """Control-chart constant d2."""
    step = 0.002
    total = 0.0
    for place in range(8001):
        below = 0.5 * (1 + erf((place * step - 8) / sqrt(2)))
        weight = 0.5 if place in (0, 8000) else 1.0
        total += weight * (1 - below**n - (1 - below) ** n)
    return total * step
