"""Laws that hold for every input: monotone where the physics says so, units that come back, no number out of range."""

from __future__ import annotations

from math import isfinite

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.base.calculation import CATALOGUE
from app.base.checks import OutOfRange
from app.bedside.air import (
    clearance_minutes,
    concentration,
    fraction_of_steady_state,
    mean_over_steady_state,
    post_procedure_wait_minutes_to_percent_of_steady_state,
)
from app.bedside.body import pbw_kg, tidal_volume_ml
from app.bedside.infection import gammaitoni_nucci_percent, wells_riley_steady_percent
from app.bedside.infusion import infusion_mcg_kg_min, infusion_ml_h
from app.bedside.oxygen import po2_from_so2_mmhg, so2_from_po2_pct, so2_severinghaus_equation_pct
from app.bedside.protection import osha_overall_fit_factor
from app.bedside.quality import wilson_95
from app.bedside.queueing import erlang_b, erlang_c
from app.cli.calc import answer

ACH = st.floats(0.5, 60)
untimed = settings(deadline=None)
"""How long an example takes says something about the machine, nothing about the law."""
SHARE = st.floats(1, 99.9)


@untimed
@given(ACH, ACH, SHARE, st.floats(1, 10))
def test_more_air_never_clears_a_room_more_slowly(one: float, two: float, share: float, mixing: float) -> None:
    slow, fast = sorted((one, two))
    times = [clearance_minutes(ach=a, efficiency_percent=share, mixing_factor=mixing) for a in (slow, fast)]
    assert times[0] >= times[1]


@untimed
@given(ACH)
def test_ninety_and_then_ninety_per_cent_take_as_long_as_ninety_nine(ach: float) -> None:
    ninety, both = (clearance_minutes(ach=ach, efficiency_percent=e, mixing_factor=1) for e in (90, 99))
    assert 2 * ninety == pytest.approx(both)


@untimed
@given(ACH, SHARE, st.floats(1, 10))
def test_the_mixing_factor_multiplies_the_time(ach: float, share: float, mixing: float) -> None:
    ideal = clearance_minutes(ach=ach, efficiency_percent=share, mixing_factor=1)
    assert clearance_minutes(ach=ach, efficiency_percent=share, mixing_factor=mixing) == pytest.approx(ideal * mixing)


@untimed
@given(st.floats(0, 1000), st.floats(1, 500), st.floats(0, 240), st.floats(0, 100))
def test_a_sealed_room_is_the_limit_of_a_slow_one(source: float, volume: float, minutes: float, start: float) -> None:
    sealed, slow = (
        concentration(S_per_h=source, loss_rate_per_h=rate, V_m3=volume, minutes=minutes, C0=start)
        for rate in (0, 1e-9)
    )
    assert sealed == pytest.approx(start + source * minutes / 60 / volume)
    assert slow == pytest.approx(sealed, rel=1e-6, abs=1e-9)


@untimed
@given(st.floats(0.5, 60), st.floats(0.1, 600))
def test_the_mean_of_a_build_up_lies_between_its_start_and_its_end(rate: float, minutes: float) -> None:
    mean = mean_over_steady_state(loss_rate_per_h=rate, minutes=minutes)
    assert 0 <= mean <= fraction_of_steady_state(loss_rate_per_h=rate, minutes=minutes)


@untimed
@given(st.floats(0.5, 60), st.floats(0.1, 600), st.floats(0.1, 99))
def test_after_the_wait_the_air_is_at_its_target(rate: float, minutes: float, target: float) -> None:
    wait = post_procedure_wait_minutes_to_percent_of_steady_state(
        loss_rate_per_h=rate, procedure_minutes=minutes, target_percent_of_steady_state=target
    ).value
    end = fraction_of_steady_state(loss_rate_per_h=rate, minutes=minutes)
    after = concentration(S_per_h=0, loss_rate_per_h=rate, V_m3=1, minutes=min(wait, 1440), C0=end)
    assert after <= target / 100 * (1 + 1e-9) or wait > 1440


@untimed
@given(st.floats(0, 1000), st.floats(0.05, 24), st.floats(0.5, 60), st.floats(5, 500))
def test_a_clean_start_never_infects_more_than_the_steady_model(
    q: float, hours: float, rate: float, volume: float
) -> None:
    same = {"q_per_h": q, "infectors": 1, "p_m3_per_h": 0.6, "hours": hours, "volume_m3": volume}
    early = gammaitoni_nucci_percent(**same, loss_rate_per_h=rate, C0=0)
    steady = wells_riley_steady_percent(**same, ach=rate)
    assert 0 <= early <= steady * (1 + 1e-9) + 1e-12
    assert steady <= 100


@untimed
@given(st.floats(1, 120), st.floats(1, 120))
def test_more_oxygen_pressure_never_means_less_saturation(one: float, two: float) -> None:
    low, high = sorted((one, two))
    assert so2_severinghaus_equation_pct(po2_mmhg=low) <= so2_severinghaus_equation_pct(po2_mmhg=high)


@untimed
@given(st.floats(0.01, 0.97))
def test_saturation_and_its_inverse_come_back(share: float) -> None:
    pressure = po2_from_so2_mmhg(so2_fraction=share).value
    assert so2_severinghaus_equation_pct(po2_mmhg=pressure) == pytest.approx(100 * share, rel=1e-9)


@untimed
@given(st.floats(20, 90), st.floats(7.0, 7.39))
def test_acid_blood_holds_less_oxygen_at_the_same_pressure(po2: float, ph: float) -> None:
    assert so2_from_po2_pct(po2_mmhg=po2, ph=ph, temp_c=37) < so2_from_po2_pct(po2_mmhg=po2, ph=7.4, temp_c=37)


@untimed
@given(st.floats(20, 90), st.floats(37.1, 41))
def test_warm_blood_holds_less_oxygen_at_the_same_pressure(po2: float, temp: float) -> None:
    assert so2_from_po2_pct(po2_mmhg=po2, ph=7.4, temp_c=temp) < so2_from_po2_pct(po2_mmhg=po2, ph=7.4, temp_c=37)


@untimed
@given(st.sampled_from("MF"), st.floats(121, 230), st.floats(121, 230))
def test_predicted_weight_rises_with_height(sex: str, one: float, two: float) -> None:
    low, high = sorted((one, two))
    assert pbw_kg(sex=sex, height_cm=low) <= pbw_kg(sex=sex, height_cm=high)
    assert tidal_volume_ml(sex=sex, height_cm=low, ml_per_kg_pbw=6).value == pytest.approx(
        6 * pbw_kg(sex=sex, height_cm=low)
    )


@untimed
@given(st.floats(0.02, 0.4), st.floats(40, 120), st.sampled_from([16.0, 32.0, 64.0]))
def test_a_dose_rate_and_a_pump_rate_come_back(rate: float, weight: float, conc: float) -> None:
    pump = infusion_ml_h(
        drug="noradrenaline", mcg_kg_min=rate, weight_kg=weight, conc_mcg_ml=conc, mg_kg_h=None, conc_mg_ml=None
    ).value
    assert infusion_mcg_kg_min(ml_h=pump, conc_mcg_ml=conc, weight_kg=weight) == pytest.approx(rate)


@untimed
@given(st.lists(st.floats(1, 1e5), min_size=1, max_size=12))
def test_the_overall_fit_factor_is_never_above_the_plain_mean(factors: list[float]) -> None:
    overall, passed = osha_overall_fit_factor(exercise_fit_factors=tuple(factors), pass_level=100)
    assert min(factors) * (1 - 1e-9) <= overall <= sum(factors) / len(factors) * (1 + 1e-9)
    assert passed is (round(overall, 9) >= 100)


@untimed
@given(st.integers(1, 2000), st.data())
def test_a_wilson_interval_stays_inside_and_holds_its_share(n: int, data: st.DataObject) -> None:
    x = data.draw(st.integers(0, n))
    low, high = wilson_95(x=x, n=n)
    assert 0 <= low <= x / n <= high <= 1


@untimed
@given(st.integers(1, 60), st.floats(0.01, 0.99))
def test_waiting_is_never_rarer_than_being_turned_away(servers: int, load: float) -> None:
    offered = servers * load
    waits = erlang_c(servers=servers, offered_erlang=offered).value
    assert erlang_b(servers=servers, offered_erlang=offered) <= waits <= 1
    assert servers > 1 or waits == pytest.approx(offered)


@untimed
@given(st.integers(1, 60), st.floats(1, 5))
def test_an_unstable_queue_gives_no_number(servers: int, load: float) -> None:
    with pytest.raises(OutOfRange, match="not stable"):
        erlang_c(servers=servers, offered_erlang=servers * load)


def _numbers(name: str) -> dict[str, object]:
    plain = {"number": 1.0, "whole": 1, "flag": True, "text": "propofol", "date": "2026-01-02", "numbers": [1, 2, 3], "flags": [1, 0, 1],
             "words": ["coma"], "mapping": {"gown": 1}, "table": [[1, 1]]}  # fmt: skip
    return {each.name: each.choices[0] if each.choices else plain[each.kind] for each in CATALOGUE[name].inputs}


@untimed
@given(data=st.data(), value=st.one_of(st.floats(), st.integers(), st.text(max_size=8), st.none(), st.booleans()))
def test_whatever_is_typed_gives_a_finite_value_or_a_sentence(data: st.DataObject, value: object) -> None:
    name = data.draw(st.sampled_from(sorted(set(CATALOGUE) - {"apnoea_time_s"})))
    given_inputs = _numbers(name)
    given_inputs[data.draw(st.sampled_from(sorted(given_inputs)))] = value
    found = answer({"name": name, "inputs": given_inputs})
    if found["status"] == "refused":
        assert str(found["error"]).endswith((".", "?", ")"))
    else:
        assert not isinstance(found["value"], float) or isfinite(found["value"])
