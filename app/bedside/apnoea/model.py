"""The mass balance: oxygen, nitrogen and CO2 in the lung, oxygen in arterial and venous blood, CO2 in the tissues.

Nine numbers change with time. The lung has two parts, for its dependent part holds little gas for the blood that runs
through it and is emptied first; that is why 95 % comes earlier than one well-mixed lung would say. Blood leaving a
part has come to alveolar gas; a shunted share has not. Tissues take
`vo2` out of what arrives. The airway is open: gas taken up by the blood is replaced through it, by room air or by
nasal oxygen, so the lung keeps its volume and nitrogen gathers in it. CO2 that rises moves the dissociation curve
(Bohr). Integrated by Runge-Kutta of fourth order with a fixed step. After Farmery & Roe, Br J Anaesth 1996;76:284.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log10

from app.bedside.apnoea.parameters import (
    AIR,
    CO2_SLOPE_ML_L_MMHG,
    DEPENDENT_FLOW,
    DEPENDENT_VOLUME,
    DISSOLVED_ML_L_MMHG,
    DRY_MMHG,
    HUFNER_ML_G,
    MASK_LEAK,
    MMHG_ML,
    NASAL_FIO2,
    PACO2_START,
    PB_MMHG,
    PH_PER_LOG_CO2,
    PROBE_DELAY_S,
    RESPIRATORY_QUOTIENT,
    Body,
    Patient,
)
from app.bedside.oxygen import ln_po2_per_ph, saturation

STEP_S = 2.0
"""Fixed step, halved as often as the fastest exchange of a small lung asks for (Runge-Kutta is stable below 2.7)."""
STEEPEST_ML_L_MMHG = 8.0
"""Steepest rise of a blood gas content with its pressure: O2 in the middle of the curve; CO2 has less."""
State = tuple[float, ...]
"""O2, N2 and CO2 in the dependent part of the lung, then in the rest [mL]; O2 content of arterial and of mixed venous
blood [mL/L]; tissue PCO2 [mmHg]."""


@dataclass(frozen=True, slots=True)
class Course:
    """What the model says: `spo2_pct[i]` and `paco2_mmhg[i]` at `seconds[i]`; `reached_s` is None if never."""

    seconds: tuple[float, ...]
    spo2_pct: tuple[float, ...]
    paco2_mmhg: tuple[float, ...]
    reached_s: float | None


def end_tidal_after_preox(patient: Patient, body: Body) -> float:
    """Alveolar O2 (dry fraction) at the last breath: as measured, or washed in."""
    if patient.preox_eto2 is not None:
        return patient.preox_eto2
    fio2 = AIR if patient.preox_fio2 is None else patient.preox_fio2
    inspired = fio2 - MASK_LEAK * (fio2 - AIR)
    start, final = _alveolar_fraction(AIR), _alveolar_fraction(inspired)
    ventilation = MMHG_ML * RESPIRATORY_QUOTIENT * body.vo2_ml_min / PACO2_START / 1000
    return final - (final - start) * exp(-(patient.preox_min or 0.0) * ventilation / body.frc_awake_l)


def _alveolar_fraction(fio2: float) -> float:
    pressure = fio2 * DRY_MMHG - PACO2_START * (fio2 + (1 - fio2) / RESPIRATORY_QUOTIENT)
    return pressure / DRY_MMHG


def _content(po2: float, shift: float, hb: float) -> float:
    """O2 content [mL/L] at a PO2; `shift` divides it to standard conditions."""
    return HUFNER_ML_G * hb * 10 * saturation(po2 / shift) + DISSOLVED_ML_L_MMHG * po2


def _bohr(pco2: float, po2: float) -> float:
    """Factor by which a PO2 stands above its equivalent at pH 7.4."""
    ph_change = -PH_PER_LOG_CO2 * log10(max(pco2, 5.0) / PACO2_START)
    return exp(ln_po2_per_ph(min(max(po2, 1.0), 200.0)) * ph_change)


def _arterial_saturation(content: float, pco2: float, hb: float) -> float:
    """Saturation of blood with an O2 content [mL/L]."""
    full = HUFNER_ML_G * hb * 10
    low, high = 0.0, 700.0
    shift = _bohr(pco2, 60.0)
    for _ in range(24):
        middle = (low + high) / 2
        if full * saturation(middle / shift) + DISSOLVED_ML_L_MMHG * middle < content:
            low = middle
        else:
            high = middle
    return saturation(high / shift)


def start_of(body: Body, eto2: float) -> State:
    """The lung and blood at the last breath, in balance with each other."""
    po2 = eto2 * DRY_MMHG
    end_capillary = _content(po2, 1.0, body.hb_g_dl)
    extracted = body.vo2_ml_min / body.flow_l_min
    arterial = end_capillary - body.shunt * extracted / (1 - body.shunt)
    released = RESPIRATORY_QUOTIENT * body.vo2_ml_min / (body.flow_l_min * (1 - body.shunt) * CO2_SLOPE_ML_L_MMHG)
    nitrogen = max(DRY_MMHG - po2 - PACO2_START, 0.0)
    gas = [
        pressure * body.frc_l * 1000 * volume / MMHG_ML
        for volume, _ in lung_parts()
        for pressure in (po2, nitrogen, PACO2_START)
    ]
    return (*gas, arterial, arterial - extracted, PACO2_START + released)


def lung_parts() -> tuple[tuple[float, float], tuple[float, float]]:
    """Share of the volume and of the blood flow of the dependent part of the lung, and of the rest."""
    return (DEPENDENT_VOLUME, DEPENDENT_FLOW), (1 - DEPENDENT_VOLUME, 1 - DEPENDENT_FLOW)


def _slope_of(body: Body, inflow_fo2: float) -> Callable[[State], State]:
    """The derivative [per s] for one body, with constants bound once."""
    parts = tuple(
        (MMHG_ML / (body.frc_l * 1000 * volume), body.flow_l_min * (1 - body.shunt) * blood / 60)
        for volume, blood in lung_parts()
    )
    flow, shunt = body.flow_l_min / 60, body.shunt
    vo2, hb = body.vo2_ml_min / 60, body.hb_g_dl

    def slope(state: State) -> State:
        arterial, venous, tissue = state[6], state[7], state[8]
        rates: list[float] = []
        carried = released = 0.0
        for place, (per_ml, through) in enumerate(parts):
            o2, n2, co2 = state[3 * place], state[3 * place + 1], state[3 * place + 2]
            po2, pco2 = max(o2 * per_ml, 0.1), co2 * per_ml
            end_capillary = _content(po2, _bohr(pco2, po2), hb)
            uptake = through * (end_capillary - venous)
            release = through * CO2_SLOPE_ML_L_MMHG * (tissue - pco2)
            drawn_in = uptake - release
            if drawn_in >= 0:
                rates += (drawn_in * inflow_fo2 - uptake, drawn_in * (1 - inflow_fo2), release)
            else:
                total = max(o2 + n2 + co2, 1e-9)
                rates += (drawn_in * o2 / total - uptake, drawn_in * n2 / total, drawn_in * co2 / total + release)
            carried += through * end_capillary
            released += release
        used = min(vo2, 0.9 * flow * max(arterial, 0.0))
        rates.append((carried + flow * shunt * venous - flow * arterial) / body.arterial_l)
        rates.append((flow * (arterial - venous) - used) / body.venous_l)
        rates.append((RESPIRATORY_QUOTIENT * vo2 - released) / body.co2_store_ml_mmhg)
        return tuple(rates)

    return slope


def _moved(state: State, by: State, step: float) -> State:
    return tuple([value + rate * step for value, rate in zip(state, by, strict=True)])


def _runge_kutta(slope: Callable[[State], State], state: State, step: float) -> State:
    one = slope(state)
    two = slope(_moved(state, one, step / 2))
    three = slope(_moved(state, two, step / 2))
    four = slope(_moved(state, three, step))
    mean = [(a + 2 * b + 2 * c + d) / 6 for a, b, c, d in zip(one, two, three, four, strict=True)]
    return _moved(state, tuple(mean), step)


def _stable(body: Body, step_s: float) -> float:
    fastest = max(
        MMHG_ML / (body.frc_l * 1000 * volume) * body.flow_l_min * (1 - body.shunt) * blood / 60 * STEEPEST_ML_L_MMHG
        for volume, blood in lung_parts()
    )
    while fastest * step_s > 1.5:
        step_s /= 2
    return step_s


def run(
    patient: Patient,
    body: Body,
    *,
    threshold_pct: float,
    most_s: float,
    step_s: float = STEP_S,
    nasal_fio2: float = NASAL_FIO2,
) -> Course:
    """Integrate until the probe shows `threshold_pct`, or for `most_s` seconds."""
    slope = _slope_of(body, nasal_fio2 if patient.nasal else AIR)
    step_s = _stable(body, step_s)
    state = start_of(body, end_tidal_after_preox(patient, body))
    per_ml = MMHG_ML / (body.frc_l * 1000)

    def seen(at: State) -> tuple[float, float]:
        alveolar = DEPENDENT_FLOW * at[2] / DEPENDENT_VOLUME + (1 - DEPENDENT_FLOW) * at[5] / (1 - DEPENDENT_VOLUME)
        pco2 = (1 - body.shunt) * alveolar * per_ml + body.shunt * at[8]
        return 100 * _arterial_saturation(at[6], pco2, body.hb_g_dl), pco2

    seconds, saturations, pressures = [0.0], [seen(state)[0]], [PACO2_START]
    if saturations[0] <= threshold_pct:
        return Course((0.0,), tuple(saturations), tuple(pressures), 0.0)
    while seconds[-1] + PROBE_DELAY_S < most_s:
        state = _runge_kutta(slope, state, step_s)
        value, pco2 = seen(state)
        before = saturations[-1]
        seconds.append(seconds[-1] + step_s)
        saturations.append(value)
        pressures.append(pco2)
        if value <= threshold_pct:
            part = (before - threshold_pct) / (before - value) if before > value else 1.0
            reached = seconds[-2] + part * step_s + PROBE_DELAY_S
            return _shown(seconds, saturations, pressures, reached)
    return _shown(seconds, saturations, pressures, None)


def _shown(seconds: list[float], saturations: list[float], pressures: list[float], reached: float | None) -> Course:
    """The course as the probe shows it: its first reading stands until the delay has passed."""
    late = [0.0, *(moment + PROBE_DELAY_S for moment in seconds)]
    return Course(tuple(late), (saturations[0], *saturations), (PACO2_START, *pressures), reached)


__all__ = ["PB_MMHG", "Course", "end_tidal_after_preox", "run", "start_of"]
