"""Statistics and numerics against scipy, and the charts that have no published pair at hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from app.base.checks import OutOfRange
from app.bedside.charts import (
    anhoej_run_limits,
    c_chart_signals,
    d2,
    p_chart_center,
    p_chart_LCL,
    p_chart_signals,
    p_chart_UCL,
)
from app.bedside.cusum import tabular_cusum_high_at, tabular_cusum_signals
from app.bedside.quality import clopper_pearson_90, kaplan_meier_S, wilson_95
from app.bedside.queueing import erlang_b, mmc_L, mmc_Lq, mmc_Wq_h
from app.bedside.real_oxygen import density_mol_m3, pressure_pa

COUNTS = [(0, 20), (4, 20), (20, 20), (81, 263), (1, 1000), (999, 1000), (4017, 4476)]


@pytest.mark.parametrize(("x", "n"), COUNTS)
def test_the_wilson_interval_is_that_of_scipy(x: int, n: int) -> None:
    theirs = stats.binomtest(x, n).proportion_ci(0.95, "wilson")
    assert wilson_95(x=x, n=n) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


@pytest.mark.parametrize(("x", "n"), COUNTS)
def test_the_exact_interval_is_that_of_scipy(x: int, n: int) -> None:
    theirs = stats.binomtest(x, n).proportion_ci(0.90, "exact")
    assert clopper_pearson_90(x=x, n=n) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


@pytest.mark.parametrize("n", [2, 4, 6, 12, 25])
def test_d2_is_the_mean_range_that_scipy_integrates(n: int) -> None:
    def gap(x: float) -> float:
        return 1 - stats.norm.cdf(x) ** n - stats.norm.sf(x) ** n

    assert d2(n=n) == pytest.approx(integrate.quad(gap, -9, 9)[0], abs=1e-6)


@pytest.mark.parametrize("n", range(5, 60, 7))
def test_the_fewest_crossings_are_the_fifth_binomial_percentile(n: int) -> None:
    assert anhoej_run_limits(useful_points=n).value[1] == stats.binom.ppf(0.05, n - 1, 0.5)


@pytest.mark.parametrize(("servers", "offered"), [(1, 0.4), (5, 3.5), (20, 26.0), (150, 140.0)])
def test_erlang_b_is_a_truncated_poisson(servers: int, offered: float) -> None:
    theirs = stats.poisson.pmf(servers, offered) / stats.poisson.cdf(servers, offered)
    assert erlang_b(servers=servers, offered_erlang=offered) == pytest.approx(theirs)


def test_the_queue_agrees_with_its_own_chain_of_states() -> None:
    arrivals, service, servers, states = 6.0, 2.5, 3, 400
    weights = np.ones(states)
    for k in range(1, states):
        weights[k] = weights[k - 1] * arrivals / (service * min(k, servers))
    share, number = weights / weights.sum(), np.arange(states)
    assert mmc_L(lambda_=arrivals, mu=service, servers=servers) == pytest.approx((share * number).sum())
    waiting = (share * np.clip(number - servers, 0, None)).sum()
    assert mmc_Lq(lambda_=arrivals, mu=service, servers=servers) == pytest.approx(waiting)
    assert mmc_Wq_h(lambda_=arrivals, mu=service, servers=servers) == pytest.approx(waiting / arrivals)


def test_kaplan_meier_is_that_of_scipy() -> None:
    times, events = [3, 5, 5, 8, 9, 12, 12, 15, 20], [1, 1, 0, 1, 0, 1, 1, 0, 1]
    done = [t for t, e in zip(times, events, strict=True) if e]
    open_still = [t for t, e in zip(times, events, strict=True) if not e]
    theirs = stats.ecdf(stats.CensoredData(uncensored=done, right=open_still)).sf
    for t in (1, 3, 5, 8.5, 12, 19):
        ours = kaplan_meier_S(times=tuple(times), event=tuple(events), t=t).value
        assert ours == pytest.approx(float(theirs.evaluate(t)))


@pytest.mark.parametrize("bar", [1, 50, 137, 200, 300])
@pytest.mark.parametrize("temp_k", [263.15, 288.15, 313.15])
def test_the_density_of_oxygen_solves_its_equation_of_state(bar: float, temp_k: float) -> None:
    theirs = optimize.brentq(lambda density: pressure_pa(density, temp_k) - bar * 1e5, 1e-3, 20_000)
    assert density_mol_m3(bar * 1e5, temp_k) == pytest.approx(theirs, rel=1e-9)


def test_a_p_chart_has_the_limits_of_its_formula() -> None:
    defectives, n = (12, 8, 6, 14, 10, 9, 11, 10, 4, 16, 30, 12), 100
    centre = sum(defectives) / n / len(defectives)
    half = 3 * (centre * (1 - centre) / n) ** 0.5
    assert p_chart_center(defectives=defectives, n=n).value == pytest.approx(centre)
    assert p_chart_UCL(defectives=defectives, n=n).value == pytest.approx(centre + half)
    assert p_chart_LCL(defectives=defectives, n=n).value == pytest.approx(centre - half)
    assert p_chart_signals(defectives=defectives, n=n).value == (11,)


def test_the_limits_of_a_p_chart_stay_between_nothing_and_all() -> None:
    assert p_chart_LCL(defectives=(0, 1, 0), n=5).value == 0
    assert p_chart_UCL(defectives=(5, 4, 5), n=5).value == 1


def test_a_point_on_a_limit_is_no_signal() -> None:
    # mean 4, limits 4 +- 6: 10 lies on the upper one
    assert c_chart_signals(counts=(4, 10, 2, 3, 1)).value == ()
    assert c_chart_signals(counts=(4, 11, 2, 2, 1)).value == (2,)


def test_a_cusum_signals_on_either_side_and_counts_from_one() -> None:
    data = (0.0, 2.0, 2.0, 2.0, -6.0, -2.0)
    assert tabular_cusum_high_at(data=data, target=0, k=0.5, index=4) == pytest.approx(4.5)
    assert tabular_cusum_high_at(data=data, target=0, k=0.5, index=5) == 0
    assert tabular_cusum_signals(data=data, target=0, k=0.5, h=4) == (4, 5, 6)


def test_a_cusum_is_the_largest_sum_over_what_just_happened() -> None:
    data, target, k = (1.0, -0.4, 2.2, 0.1, -3.0, 1.7, 1.9), 0.2, 0.3
    for index in range(1, len(data) + 1):
        tails = [sum(x - target - k for x in data[start:index]) for start in range(index)]
        ours = tabular_cusum_high_at(data=data, target=target, k=k, index=index)
        assert ours == pytest.approx(max(0.0, *tails))


def test_a_position_beyond_the_data_is_refused() -> None:
    with pytest.raises(OutOfRange, match="from 1 to 2"):
        tabular_cusum_high_at(data=(1.0, 2.0), target=0, k=0, index=3)
