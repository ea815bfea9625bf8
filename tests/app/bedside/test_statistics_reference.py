"""Statistics against statsmodels, a second pair of eyes beside scipy (`test_statistics.py`).

A 3-sigma chart and a normal funnel are Wald intervals around a centre, so the library's Wald intervals must give their
limits. A tabular CUSUM has no counterpart in the library; its weights are log likelihood ratios, and those have one.
"""

from __future__ import annotations

import pytest
import statsmodels.api as sm
from scipy.stats import norm
from statsmodels.duration.survfunc import SurvfuncRight
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from statsmodels.stats.rates import confint_poisson
from statsmodels.tsa.holtwinters import SimpleExpSmoothing

from app.bedside.charts import (
    c_chart_LCL,
    c_chart_UCL,
    ewma_last_value,
    ewma_value_at,
    p_chart_LCL,
    p_chart_UCL,
    u_chart_limits_point,
)
from app.bedside.quality import (
    clopper_pearson_90,
    funnel_limits_normal,
    kaplan_meier_S,
    ra_cusum_weights,
    risk_difference_95_continuity,
    wilson_95,
    zero_events_upper_95_exact,
)

COUNTS = [(0, 20), (4, 20), (20, 20), (81, 263), (1, 1000), (4017, 4476)]
THREE_SIGMA = 2 * norm.sf(3)


@pytest.mark.parametrize(("x", "n"), COUNTS)
def test_intervals_of_a_proportion_are_those_of_statsmodels(x: int, n: int) -> None:
    assert wilson_95(x=x, n=n) == pytest.approx(proportion_confint(x, n, 0.05, "wilson"), abs=1e-9)
    assert clopper_pearson_90(x=x, n=n) == pytest.approx(proportion_confint(x, n, 0.10, "beta"), abs=1e-9)


@pytest.mark.parametrize("n", [1, 8, 20, 300, 5000])
def test_no_event_in_n_has_the_exact_one_sided_bound(n: int) -> None:
    assert zero_events_upper_95_exact(n=n) == pytest.approx(proportion_confint(0, n, 0.10, "beta")[1], rel=1e-9)


@pytest.mark.parametrize(("x1", "n1", "x2", "n2"), [(600, 705, 504, 712), (3, 40, 9, 38), (19, 20, 1, 20)])
def test_a_risk_difference_is_walds_widened_by_the_continuity_correction(x1: int, n1: int, x2: int, n2: int) -> None:
    low, high = confint_proportions_2indep(x1, n1, x2, n2, method="wald", compare="diff", correction=False)
    wider = (1 / n1 + 1 / n2) / 2
    difference = x1 / n1 - x2 / n2
    ours = risk_difference_95_continuity(x1=x1, n1=n1, x2=x2, n2=n2)
    assert ours == pytest.approx((difference, low - wider, high + wider), abs=1e-9)


@pytest.mark.parametrize("z", [1.96, 3.09])
@pytest.mark.parametrize(("p0", "n"), [(0.1, 200), (0.5, 30), (0.02, 5000), (0.03, 10)])
def test_funnel_limits_are_the_normal_interval_around_the_benchmark(p0: float, n: int, z: float) -> None:
    theirs = proportion_confint(p0 * n, n, 2 * norm.sf(z), "normal")
    assert funnel_limits_normal(p0=p0, n=n, z=z).value == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("counts", [(4, 10, 2, 3, 1), (16, 9, 12, 20, 11, 14), (1, 0, 2)])
def test_the_limits_of_a_c_chart_are_three_sigma_of_a_poisson_count(counts: tuple[float, ...]) -> None:
    low, high = confint_poisson(sum(counts) / len(counts), 1, method="wald", alpha=THREE_SIGMA)
    assert c_chart_UCL(counts=counts).value == pytest.approx(high)
    assert c_chart_LCL(counts=counts).value == pytest.approx(max(low, 0))


@pytest.mark.parametrize("index", [1, 3, 5])
def test_the_limits_of_a_u_chart_are_three_sigma_of_a_poisson_rate(index: int) -> None:
    counts, units = (4.0, 10.0, 2.0, 3.0, 1.0), (10.0, 20.0, 5.0, 9.0, 40.0)
    size, rate = units[index - 1], sum(counts) / sum(units)
    low, high = confint_poisson(rate * size, size, method="wald", alpha=THREE_SIGMA)
    ours = u_chart_limits_point(counts=counts, units=units, index=index).value
    assert ours == pytest.approx((max(low, 0), high))


def test_the_limits_of_a_p_chart_are_three_sigma_of_a_binomial_share() -> None:
    defectives, n = (12, 8, 6, 14, 10, 9, 11, 10, 4, 16, 30, 12), 100
    centre = sum(defectives) / len(defectives)
    low, high = proportion_confint(centre, n, THREE_SIGMA, "normal")
    assert p_chart_UCL(defectives=defectives, n=n).value == pytest.approx(high)
    assert p_chart_LCL(defectives=defectives, n=n).value == pytest.approx(low)


@pytest.mark.parametrize("weight", [0.05, 0.2, 0.3, 1.0])
def test_an_ewma_is_simple_exponential_smoothing_from_a_known_start(weight: float) -> None:
    data, start = (52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5), 50.0
    model = SimpleExpSmoothing(data, initialization_method="known", initial_level=start)
    levels = model.fit(smoothing_level=weight, optimized=False).level
    assert ewma_last_value(data=data, lambda_=weight, start=start) == pytest.approx(levels[-1])
    assert ewma_value_at(data=data, lambda_=weight, start=start, index=4) == pytest.approx(levels[3])


@pytest.mark.parametrize(("p", "accepted", "detected"), [(0.1, 1, 2), (0.02, 1, 0.5), (0.6, 1.5, 3)])
def test_weights_of_a_risk_adjusted_cusum_are_log_likelihood_ratios(p: float, accepted: float, detected: float) -> None:
    def risk(ratio: float) -> float:
        return ratio * p / (1 - p + ratio * p)

    says = sm.families.Binomial().loglike_obs
    for event, ours in zip((1.0, 0.0), ra_cusum_weights(p=p, R0=accepted, RA=detected), strict=True):
        assert ours == pytest.approx(float(says(event, risk(detected)) - says(event, risk(accepted))))


def test_kaplan_meier_is_that_of_statsmodels() -> None:
    times, events = [3, 5, 5, 8, 9, 12, 12, 15, 20], [1, 1, 0, 1, 0, 1, 1, 0, 1]
    theirs = SurvfuncRight(times, events)
    for t in (3, 5, 8, 12, 20):
        steps = [share for at, share in zip(theirs.surv_times, theirs.surv_prob, strict=True) if at <= t]
        ours = kaplan_meier_S(times=tuple(times), event=tuple(events), t=t).value
        assert ours == pytest.approx(steps[-1])
