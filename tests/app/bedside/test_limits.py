"""A figure that stands exactly on a published limit is on it, though tenths are not exact in binary."""

from __future__ import annotations

from typing import Any

import pytest

from app.base.calculation import CATALOGUE, find
from app.base.checks import OutOfRange
from app.cli.calc import load

load()


@pytest.mark.parametrize(
    ("name", "inputs", "grade"),
    [
        # Roca 2019: high risk is below 2.85, 3.47 and 3.85; low risk from 4.88
        ("rox_index", {"spo2_pct": 21.546, "fio2": 0.21, "rr": 36, "hours_on_hfnc": 2}, "indeterminate"),
        ("rox_index", {"spo2_pct": 97.16, "fio2": 0.7, "rr": 40, "hours_on_hfnc": 6}, "indeterminate"),
        ("rox_index", {"spo2_pct": 97.6, "fio2": 0.8, "rr": 25, "hours_on_hfnc": 6}, "low risk"),
        # Yang & Tobin 1991: success is below 105
        ("rsbi", {"rr": 16.38, "vt_ml": 156}, "105 or above"),
        # Miller & Cole 1996: a low leak is below 110 mL
        ("cuff_leak_ml", {"vt_cuff_up_ml": 551.3, "mean_vt_cuff_down_ml": 441.3}, "pass"),
        ("cuff_leak_ml", {"vt_cuff_up_ml": 551.3, "mean_vt_cuff_down_ml": 441.4}, "low leak"),
    ],
)
def test_an_index_on_its_limit_has_the_grade_of_the_limit(name: str, inputs: dict[str, Any], grade: str) -> None:
    assert find(name).work_out(inputs).grade == grade


@pytest.mark.parametrize(
    ("name", "inputs", "value"),
    [
        # CDC: 15 min in 24 h
        ("prolonged_or_higher_risk_contact", {"contacts_min": [5.3, 5.1, 4.6], "within_h": 24}, True),
        ("prolonged_or_higher_risk_contact", {"contacts_min": [5.3, 5.1, 4.5], "within_h": 24}, False),
        # a delivery on the very day on which the stock runs out comes in time
        ("days_of_supply", {"stock": 58.8, "burn_rate_per_day": 4.9, "deliveries": [[12, 98]]}, 32.0),
        # a point on a limit is no signal: p = 0.2 with n = 100 has its limits at 0.08 and 0.32
        ("p_chart_signals", {"defectives": [32, 8, 20], "n": 100}, []),
        ("p_chart_signals", {"defectives": [33, 7, 20], "n": 100}, [1, 2]),
        ("c_chart_signals", {"counts": [21.76, 1.36, *[11.56] * 10]}, []),
        ("tabular_cusum_signals", {"data": [17.7, 17.6], "target": 21.5, "k": 0.2, "h": 7.3}, []),
        ("tabular_cusum_signals", {"data": [17.7, 17.5], "target": 21.5, "k": 0.2, "h": 7.3}, [2]),
        ("driving_pressure_cmh2o", {"plateau": 16.9, "total_peep": 15.9}, 1.0),
        ("infusion_ml_h", {"drug": "examplium", "mcg_kg_min": 0.325, "weight_kg": 40, "conc_mcg_ml": 3.9}, 200.0),
    ],
)  # fmt: skip
def test_a_figure_on_a_limit_counts_as_the_rule_says(name: str, inputs: dict[str, Any], value: object) -> None:
    assert find(name).work_out(inputs).value == pytest.approx(value)


@pytest.mark.parametrize("name", ["mmc_Wq_h", "mmc_Lq", "mmc_P_wait", "mmc_L", "mmc_P_wait_longer_than"])
@pytest.mark.parametrize(("arrivals", "service", "servers"), [(35.4, 5.9, 6), (0.7, 0.1, 7), (6.6, 2.2, 3), (3, 1, 3)])
def test_a_queue_that_is_just_full_gives_a_sentence_with_the_input_and_its_limit(
    name: str, arrivals: float, service: float, servers: int
) -> None:
    # reference, section 10: an unstable queue (rho >= 1) is refused, not shown as a number
    inputs = {"lambda": arrivals, "mu": service, "servers": servers}
    with pytest.raises(OutOfRange, match=r"^lambda = .* is not stable: lambda must be below .* 1/h\.$"):
        find(name).work_out(inputs | ({"t_h": 1} if name == "mmc_P_wait_longer_than" else {}))


def test_a_queue_that_is_almost_full_still_has_its_wait() -> None:
    # M/M/1: Wq = rho / (mu - lambda)
    found = find("mmc_Wq_h").work_out({"lambda": 0.999, "mu": 1, "servers": 1}).value
    assert found == pytest.approx(0.999 / 0.001)


def test_a_load_on_too_few_servers_names_the_input() -> None:
    with pytest.raises(OutOfRange, match=r"^offered_erlang = 2 erlang .* it must be below 2 erlang\.$"):
        find("erlang_c").work_out({"servers": 2, "offered_erlang": 2})


def test_every_calculation_says_a_caution() -> None:
    # promise 6: every number carries its unit, its inputs, its source and its caution
    assert [name for name, entry in CATALOGUE.items() if not any(entry.cautions)] == []
