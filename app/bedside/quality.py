"""Definitions of events, and intervals for proportions and times to an event."""

from __future__ import annotations

from math import comb, exp, lgamma, log, log1p, sqrt

from app.base.calculation import Graded, calculation
from app.base.checks import Missing, OutOfRange
from app.base.inputs import Input

Z95 = 1.959963984540054
_COUNT = Input("x", "", "events", kind="whole", least=0, most=1_000_000)
_TRIALS = Input("n", "", "cases", kind="whole", least=1, most=1_000_000)
_SMALL = "Counts in small teams identify people: suppress under a set number."
_INTUBE = "INTUBE, Russotto et al., JAMA 2021;325:1164 (outcome definition)"


@calculation(
    Input("min_spo2", "%", "lowest reading", above=0, most=100),
    Input("min_after_start", "min", "when, after the start of the procedure", least=0, most=1440),
    unit="bool",
    formula="SpO2 below 80 % within 30 min of starting",
    source=_INTUBE,
    evidence="C",
    cautions=("A probe is least exact below 80 %, and over-reads in dark skin.",),
)
def severe_hypoxaemia(*, min_spo2: float, min_after_start: float) -> bool:
    """Severe hypoxaemia as INTUBE defines it."""
    return min_spo2 < 80 and min_after_start <= 30


@calculation(
    Input("min_sbp", "mmHg", "lowest systolic pressure", optional=True, least=0, most=300),
    Input("minutes_below_90", "min", "time with a systolic below 90", optional=True, least=0, most=1440),
    Input("new_vasopressor", kind="flag", optional=True, meaning="new or increased"),
    Input("fluid_ml_per_kg", "mL/kg", "fluid bolus", optional=True, least=0, most=200),
    unit="bool",
    formula="systolic < 65 once, or < 90 for more than 30 min, or new vasopressor, or fluid > 15 mL/kg",
    source=_INTUBE,
    evidence="C",
    cautions=("Within 30 min of starting.",),
)
def cardiovascular_instability(
    *,
    min_sbp: float | None,
    minutes_below_90: float | None,
    new_vasopressor: bool | None,
    fluid_ml_per_kg: float | None,
) -> bool:
    """Cardiovascular instability as INTUBE defines it; one criterion is enough for yes, all are needed for no."""
    if (
        (min_sbp is not None and min_sbp < 65)
        or (minutes_below_90 is not None and minutes_below_90 > 30)
        or new_vasopressor
        or (fluid_ml_per_kg is not None and fluid_ml_per_kg > 15)
    ):
        return True
    given = {
        "min_sbp [mmHg]": min_sbp,
        "minutes_below_90 [min]": minutes_below_90,
        "new_vasopressor [yes or no]": new_vasopressor,
        "fluid_ml_per_kg [mL/kg]": fluid_ml_per_kg,
    }
    lacking = [name for name, value in given.items() if value is None]
    if min_sbp is not None and min_sbp >= 90:
        lacking = [name for name in lacking if not name.startswith("minutes")]
    if lacking:
        raise Missing(f"{lacking[0]} is missing: no other criterion is met, so the answer depends on it.")
    return False


@calculation(
    Input("peak_kpa_above_baseline", "kPa", least=0, most=20),
    Input("breaths", "", kind="whole", least=0, most=1000),
    Input("rises_and_falls", kind="flag", meaning="rises in expiration, falls in inspiration"),
    Input("stable_or_rising", kind="flag", meaning="over those breaths"),
    Input("clinically_appropriate", kind="flag"),
    unit="bool",
    formula="all: peak > 1 kPa above baseline, at least 7 breaths, rises and falls, stable or rising, appropriate",
    source="Chrimes et al., Anaesthesia 2022;77:1395; RCoA statement",
    evidence="C",
    cautions=("If not met, the default is to remove the tube. It holds in cardiac arrest too.",),
)
def sustained_exhaled_co2(
    *,
    peak_kpa_above_baseline: float,
    breaths: int,
    rises_and_falls: bool,
    stable_or_rising: bool,
    clinically_appropriate: bool,
) -> bool:
    """Whether exhaled CO2 is sustained: all four criteria."""
    shape = rises_and_falls and stable_or_rising and clinically_appropriate
    return shape and peak_kpa_above_baseline > 1 and breaths >= 7


def _at_most(x: int, n: int, names: tuple[str, str] = ("x", "n")) -> None:
    if x > n:
        raise OutOfRange(f"{names[0]} = {x} must be at most {names[1]} = {n}.")


@calculation(
    _COUNT,
    _TRIALS,
    unit="[lo,hi]",
    formula="(p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)",
    source="Wilson; Newcombe 1998, Stat Med 17:857",
    evidence="M",
    cautions=(_SMALL,),
)
def wilson_95(*, x: int, n: int) -> tuple[float, float]:
    """95 % interval for a proportion, Wilson score."""
    _at_most(x, n)
    p, z2 = x / n, Z95 * Z95
    half = Z95 * sqrt(p * (1 - p) / n + z2 / (4 * n * n))
    middle, scale = p + z2 / (2 * n), 1 + z2 / n
    low = 0.0 if x == 0 else (middle - half) / scale
    high = 1.0 if x == n else (middle + half) / scale
    return max(low, 0.0), min(high, 1.0)


def _binomial_tail(x: int, n: int, p: float) -> float:
    """P(X >= x) for X binomial (n, p), summed over the shorter side in logarithms."""
    if p <= 0:
        return 1.0 if x <= 0 else 0.0
    if p >= 1:
        return 1.0
    log_p, log_q, log_n = log(p), log1p(-p), lgamma(n + 1)

    def mass(k: int) -> float:
        return exp(log_n - lgamma(k + 1) - lgamma(n - k + 1) + k * log_p + (n - k) * log_q)

    if x <= n * p:
        return 1.0 - sum(mass(k) for k in range(x))
    return sum(mass(k) for k in range(x, n + 1))


def _solve(tail_is: float, x: int, n: int) -> float:
    """The p at which P(X >= x) reaches a value, by bisection."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if _binomial_tail(x, n, middle) < tail_is:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@calculation(
    _COUNT,
    Input("n", "", "cases", kind="whole", least=1, most=20_000),
    unit="[lo,hi]",
    formula="exact: P(X >= x | lo) = 0.05 and P(X <= x | hi) = 0.05",
    source="Clopper & Pearson; NIST/SEMATECH e-Handbook 7.2.4.1",
    evidence="M",
    cautions=(_SMALL,),
)
def clopper_pearson_90(*, x: int, n: int) -> tuple[float, float]:
    """Exact 90 % interval for a proportion."""
    _at_most(x, n)
    low = 0.0 if x == 0 else _solve(0.05, x, n)
    high = 1.0 if x == n else _solve(0.95, x + 1, n)
    return low, high


@calculation(
    Input("x1", "", "events, first group", kind="whole", least=0, most=1_000_000),
    Input("n1", "", "cases, first group", kind="whole", least=1, most=1_000_000),
    Input("x2", "", "events, second group", kind="whole", least=0, most=1_000_000),
    Input("n2", "", "cases, second group", kind="whole", least=1, most=1_000_000),
    unit="[difference,lo,hi]",
    formula="p1 - p2 +- (z sqrt(p1 q1/n1 + p2 q2/n2) + (1/n1 + 1/n2)/2)",
    source="Wald with continuity correction, as DEVICE 2023, N Engl J Med 389:418",
    evidence="C",
    cautions=("Definitions differ between studies: benchmarks are not directly comparable.",),
)
def risk_difference_95_continuity(*, x1: int, n1: int, x2: int, n2: int) -> tuple[float, float, float]:
    """Difference of two proportions with its 95 % interval."""
    _at_most(x1, n1, ("x1", "n1"))
    _at_most(x2, n2, ("x2", "n2"))
    p1, p2 = x1 / n1, x2 / n2
    half = Z95 * sqrt(p1 * (1 - p1) / n1 + p2 * (1 - p2) / n2) + (1 / n1 + 1 / n2) / 2
    return p1 - p2, p1 - p2 - half, p1 - p2 + half


@calculation(
    _TRIALS,
    unit="fraction",
    formula="1 - 0.05^(1/n), one-sided",
    source="exact form of the rule of three",
    evidence="K",
    cautions=(_SMALL,),
)
def zero_events_upper_95_exact(*, n: int) -> float:
    """Upper 95 % bound when no event was seen in n."""
    return float(1 - 0.05 ** (1 / n))


@calculation(
    Input("p0", "", "benchmark proportion", above=0, below=1),
    _TRIALS,
    Input("z", "", "1.96 or 3.09", above=0, most=10),
    unit="[lo,hi]",
    formula="p0 +- z sqrt(p0 (1-p0)/n), held to 0-1",
    source="Spiegelhalter 2005, Stat Med 24:1185",
    evidence="K",
    cautions=(_SMALL,),
)
def funnel_limits_normal(*, p0: float, n: int, z: float) -> Graded[tuple[float, float]]:
    """Funnel limits around a benchmark."""
    half = z * sqrt(p0 * (1 - p0) / n)
    few = n * min(p0, 1 - p0) < 10
    note = ("Fewer than 10 expected: exact binomial limits are better.",) if few else ()
    return Graded((max(p0 - half, 0.0), min(p0 + half, 1.0)), warnings=note)


@calculation(
    Input("p", "", "expected risk of this case", above=0, below=1),
    Input("R0", "", "odds ratio accepted", above=0, most=100),
    Input("RA", "", "odds ratio to detect", above=0, most=100),
    unit="[event,no event]",
    formula="event ln((1-p+R0 p) RA / ((1-p+RA p) R0)); no event ln((1-p+R0 p)/(1-p+RA p))",
    source="Steiner 2000, Biostatistics 1:441",
    evidence="K",
    cautions=("The expected risk is fixed before the outcome is known.",),
)
def ra_cusum_weights(*, p: float, R0: float, RA: float) -> tuple[float, float]:
    """Weights of a risk-adjusted CUSUM for one case."""
    none = log((1 - p + R0 * p) / (1 - p + RA * p))
    return log(RA / R0) + none, none


@calculation(
    Input("times", "", "time of each", kind="numbers", least=0, most=1e9),
    Input("event", "", "1 event, 0 censored", kind="flags"),
    Input("t", "", "same unit as times", least=0, most=1e9),
    unit="",
    formula="product of (1 - d/n) over event times up to t",
    source="Kaplan & Meier 1958",
    evidence="M",
    cautions=("Censored means still open or cancelled when last seen.",),
)
def kaplan_meier_S(*, times: tuple[float, ...], event: tuple[bool, ...], t: float) -> Graded[float]:
    """Share still without the event after t."""
    if not times or len(times) != len(event):
        raise OutOfRange(
            f"times has {len(times)} and event {len(event)} items: both must have the same number, at least 1."
        )
    share = 1.0
    for moment in sorted({time for time, happened in zip(times, event, strict=True) if happened and time <= t}):
        at_risk = sum(time >= moment for time in times)
        died = sum(happened and time == moment for time, happened in zip(times, event, strict=True))
        share *= 1 - died / at_risk
    return Graded(share, warnings=("Beyond the last time observed.",) if t > max(times) else ())


def binomial_cdf_half(k: int, n: int) -> float:
    """P(X <= k) for a fair coin tossed n times."""
    return float(sum(comb(n, i) for i in range(k + 1)) / 2**n)
