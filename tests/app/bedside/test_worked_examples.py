"""Published worked examples that have no name of their own: they check the formula of the function concerned."""

from __future__ import annotations

from math import log

import pytest

from app.bedside.air import concentration
from app.bedside.apnoea.model import end_tidal_after_preox
from app.bedside.apnoea.parameters import Patient, body_of
from app.bedside.infection import wells_riley_steady_percent, wells_riley_with_respirator_percent
from app.bedside.oxygen import preox_time_to_target_s


def ppm(*, gas_cfm: float, air_cfm: float, room_ft3: float, minutes: float) -> float:
    fresh = concentration(
        S_per_h=gas_cfm * 60, loss_rate_per_h=air_cfm * 60 / room_ft3, V_m3=room_ft3, minutes=minutes, C0=0
    )
    return 1e6 * fresh


def test_build_up_of_a_solvent_meets_the_worked_example() -> None:
    # dilution-ventilation build-up equation, published worked example [C]
    assert ppm(gas_cfm=1.4, air_cfm=2500, room_ft3=75_000, minutes=11) == pytest.approx(171.9, abs=0.05)


def test_an_hour_of_build_up_meets_the_handbook() -> None:
    # ACGIH, Industrial Ventilation, dilution chapter [M]
    assert ppm(gas_cfm=1.2, air_cfm=2000, room_ft3=100_000, minutes=60) == pytest.approx(419, abs=0.5)
    assert ppm(gas_cfm=1.2, air_cfm=2000, room_ft3=100_000, minutes=20.3) == pytest.approx(200, abs=0.5)


def test_a_building_with_more_air_infects_as_many_as_nardell_predicts() -> None:
    # Nardell 1991, Am Rev Respir Dis 144:302 [M]: 27 of 67 at 15 cfm per person, 18 at 25
    dose = -log(1 - 27 / 67)
    q = dose / (0.6 * 1) * 15
    risk = wells_riley_steady_percent(q_per_h=q, infectors=1, p_m3_per_h=0.6, hours=1, ach=25, volume_m3=1)
    assert 67 * risk / 100 == pytest.approx(18, abs=0.5)


def test_the_air_flow_behind_escombes_risk_is_found_again() -> None:
    # Escombe 2007, PLoS Med 4:e68: 39 % over 24 h at q 13 is 378.7 m3/h [K]
    risk = wells_riley_steady_percent(q_per_h=13, infectors=1, p_m3_per_h=0.6, hours=24, ach=1, volume_m3=378.7)
    assert risk == pytest.approx(39, abs=0.05)


@pytest.mark.parametrize(
    ("q", "fraction", "ach", "points"),
    [(250, 0.1, 1, 4.979), (250, 0.1, 12, 69.67), (13, 0.04, 6, 21.86), (13, 0.04, 12, 11.67)],
)
def test_what_a_respirator_takes_off_the_risk_is_not_monotone_in_the_source(
    q: float, fraction: float, ach: float, points: float
) -> None:
    # Fennelly & Nardell 1998 model form, room and breathing rate chosen here [K]
    def risk(inhaled: float) -> float:
        return wells_riley_with_respirator_percent(
            q_per_h=q, p_m3_per_h=0.6, hours=10, ach=ach, volume_m3=50, inhaled_fraction=inhaled
        )

    assert risk(1) - risk(fraction) == pytest.approx(points, abs=0.02)


def adult(minutes: float) -> Patient:
    return Patient(70, 172, "M", 40, None, 1.0, minutes, 0, None, 1, 1, None, False)


def test_three_minutes_of_oxygen_give_the_end_tidal_value_that_was_seen() -> None:
    # Pandit et al., Anesthesiology 2003;99:841: 0.92, SD 0.01, tolerance 0.02 [C]
    assert end_tidal_after_preox(adult(3), body_of(adult(3))) == pytest.approx(0.92, abs=0.02)


def test_two_and_a_half_minutes_on_a_circle_agree_within_the_spread_that_was_seen() -> None:
    # Nimmagadda et al., Anesthesiology 2000;93:693: 0.881, SD 0.048 [C]
    assert end_tidal_after_preox(adult(2.5), body_of(adult(2.5))) == pytest.approx(0.881, abs=0.048)


def test_wash_in_is_nearly_complete_when_a_simulator_says_so() -> None:
    # McClelland et al., Anaesthesia 2008;63:259: 95 % complete at 171 s, range 148-195 [C]; lung of an adult
    start, final = 0.15, 0.944
    target = start + 0.95 * (final - start)
    seconds = preox_time_to_target_s(f_start=start, f_final=final, frc_l=3.0, va_l_min=3.2, target=target)
    assert 148 <= seconds <= 195
