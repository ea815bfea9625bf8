"""Lung-protective ventilation: pressures, power, rates and the PEEP/FiO2 tables."""

from __future__ import annotations

from collections.abc import Mapping

from app.base.calculation import Graded, calculation
from app.base.checks import OutOfRange, plain
from app.base.inputs import Input
from app.base.messages import N_, Filled
from app.bedside.given import FIO2, PACO2_MMHG, PEEP, PLATEAU, PPEAK, RR, TOTAL_PEEP, VT_L, VT_ML

Column = tuple[float, float, int, int]
"""Lowest and highest FiO2, lowest and highest PEEP of one column."""


def _columns(*pairs: tuple[float, int]) -> tuple[Column, ...]:
    return tuple((fio2, fio2, peep, peep) for fio2, peep in pairs)


PEEP_TABLES: Mapping[str, tuple[Column, ...]] = {
    "lower": (
        *_columns((0.3, 5), (0.4, 5), (0.4, 8), (0.5, 8), (0.5, 10), (0.6, 10), (0.7, 10), (0.7, 12), (0.7, 14)),
        *_columns((0.8, 14), (0.9, 14), (0.9, 16), (0.9, 18)),
        (1.0, 1.0, 18, 24),
    ),
    "higher": (
        *_columns((0.3, 5), (0.3, 8), (0.3, 10), (0.3, 12), (0.3, 14), (0.4, 14), (0.4, 16), (0.5, 16), (0.5, 18)),
        (0.5, 0.8, 20, 20),
        *_columns((0.8, 22), (0.9, 22), (1.0, 22), (1.0, 24)),
    ),
}
_PASSIVE = N_("Valid only in a passive patient after a 0.5 s pause.")
_TRAPPING = N_("A fast rate traps gas in asthma and COPD.")
_POWER = N_("Limits (12, 17 J/min) are observational or from animals: shown, never judged alone.")
RR_MAX = 35.0


@calculation(
    Input("table", kind="word", choices=("lower", "higher"), meaning="lower-PEEP or higher-PEEP table"),
    Input("current_fio2", "", "between two columns the next one up counts", least=0.21, most=1),
    Input("current_peep", "cmH2O", least=0, most=30),
    Input("direction", kind="word", choices=("up", "down"), meaning="more or less support"),
    unit="FiO2/PEEP",
    formula="next allowed combination of the table, no interpolation",
    source="ARDS Network 2000 (lower); Brower et al., N Engl J Med 2004;351:327, NHLBI card (higher, from memory)",
    evidence="C",
    cautions=(N_("Goal: PaO2 55-80 mmHg or SpO2 88-95 %."),),
)
def peep_fio2_next_step(*, table: str, current_fio2: float, current_peep: float, direction: str) -> Graded[str]:
    """The next allowed combination of FiO2 and PEEP."""
    columns = PEEP_TABLES[table]
    listed = any(low <= current_fio2 <= high for low, high, _, _ in columns)
    fio2 = current_fio2 if listed else min(low for low, _, _, _ in columns if low > current_fio2)
    here = [
        place
        for place, (low, high, peep, peep_high) in enumerate(columns)
        if low <= fio2 <= high and peep <= current_peep <= peep_high
    ]
    if not here:
        allowed = ", ".join(dict.fromkeys(_combination(column) for column in columns))
        raise OutOfRange(
            f"current_fio2 = {plain(current_fio2)}, current_peep = {plain(current_peep)} cmH2O is not in this table.",
            do=f"Allowed: {allowed}.",
        )
    place = here[-1] + 1 if direction == "up" else here[0] - 1
    if not 0 <= place < len(columns):
        raise OutOfRange(f"direction = {direction}: the table has no further step from here.")
    low, high, peep, peep_high = columns[place]
    spans = Filled(N_("This column spans {spans}."), spans=_combination(columns[place]))
    wide = (spans,) if low != high or peep != peep_high else ()
    return Graded(f"{low if direction == 'up' else high:.1f}/{peep if direction == 'up' else peep_high}", warnings=wide)


def _combination(column: Column) -> str:
    low, high, peep, peep_high = column
    return f"{low:.1f}{f'-{high:.1f}' if high != low else ''}/{peep}{f'-{peep_high}' if peep_high != peep else ''}"


@calculation(
    PLATEAU,
    TOTAL_PEEP,
    unit="cmH2O",
    formula="plateau - total PEEP",
    source="Amato et al., N Engl J Med 2015;372:747",
    evidence="M",
    cautions=(N_("Aim at 15 or less."), _PASSIVE),
)
def driving_pressure_cmh2o(*, plateau: float, total_peep: float) -> Graded[float]:
    """Driving pressure."""
    driving = _driving(plateau, total_peep)
    warnings = [N_("Above 15 cmH2O.")] if round(driving, 9) > 15 else []
    if plateau > 30:
        warnings.append(N_("Plateau above 30 cmH2O."))
    return Graded(driving, warnings=tuple(warnings))


def _driving(plateau: float, total_peep: float) -> float:
    driving = plateau - total_peep
    if round(driving, 9) < 1:
        raise OutOfRange(
            f"plateau = {plain(plateau)} cmH2O must be at least 1 cmH2O above total_peep = {plain(total_peep)} cmH2O."
        )
    return driving


@calculation(
    VT_ML,
    PLATEAU,
    TOTAL_PEEP,
    unit="mL/cmH2O",
    formula="VT / (plateau - total PEEP)",
    source="definition",
    evidence="K",
    cautions=(_PASSIVE,),
)
def static_compliance_ml_per_cmh2o(*, vt_ml: float, plateau: float, total_peep: float) -> float:
    """Static compliance of the respiratory system."""
    return vt_ml / _driving(plateau, total_peep)


@calculation(
    RR,
    VT_L,
    PPEAK,
    Input("driving_pressure", "cmH2O", above=0, most=60),
    unit="J/min",
    formula="0.098 x RR x VT x (Ppeak - driving pressure / 2)",
    source="surrogate of Gattinoni et al., Intensive Care Med 2016;42:1567",
    evidence="M",
    cautions=(N_("Constant-flow volume control only: misleads in pressure control."), _POWER),
)
def mechanical_power_simplified_j_min(*, rr: float, vt_l: float, ppeak: float, driving_pressure: float) -> float:
    """Mechanical power, surrogate form."""
    if driving_pressure > ppeak:
        raise OutOfRange(f"driving_pressure = {plain(driving_pressure)} cmH2O must be at most ppeak.")
    return 0.098 * rr * vt_l * (ppeak - driving_pressure / 2)


@calculation(
    RR,
    VT_L,
    PEEP,
    Input("elastance_cmh2o_per_l", "cmH2O/L", above=0, most=200),
    Input("resistance_cmh2o_s_per_l", "cmH2O.s/L", above=0, most=100),
    Input("i_to_e", "", "inspiration over expiration: 1:2 is 0.5", above=0, most=4),
    unit="J/min",
    formula="0.098 RR { VT^2 [E/2 + RR (1 + IE) R / (60 IE)] + VT PEEP }",
    source="Gattinoni et al., Intensive Care Med 2016;42:1567",
    evidence="M",
    cautions=(_POWER,),
)
def mechanical_power_full_j_min(
    *,
    rr: float,
    vt_l: float,
    peep: float,
    elastance_cmh2o_per_l: float,
    resistance_cmh2o_s_per_l: float,
    i_to_e: float,
) -> float:
    """Mechanical power, full form."""
    resistive = rr * (1 + i_to_e) * resistance_cmh2o_s_per_l / (60 * i_to_e)
    return 0.098 * rr * (vt_l**2 * (elastance_cmh2o_per_l / 2 + resistive) + vt_l * peep)


@calculation(
    Input("minute_vent_l", "L/min", above=0, most=60),
    PPEAK,
    PEEP,
    Input("insp_flow_l_min", "L/min", "inspiratory flow", above=0, most=200),
    unit="J/min",
    formula="VE (Ppeak + PEEP + F/6) / 20",
    source="Giosa et al., Intensive Care Med Exp 2019;7:61",
    evidence="C",
    cautions=(N_("Volume control."), _POWER),
)
def mechanical_power_giosa_j_min(*, minute_vent_l: float, ppeak: float, peep: float, insp_flow_l_min: float) -> float:
    """Mechanical power from what the ventilator displays."""
    if peep > ppeak:
        raise OutOfRange(f"peep = {plain(peep)} cmH2O must be at most ppeak = {plain(ppeak)} cmH2O.")
    return minute_vent_l * (ppeak + peep + insp_flow_l_min / 6) / 20


@calculation(
    VT_ML,
    RR,
    unit="L/min",
    formula="VT x RR",
    source="definition",
    evidence="K",
    cautions=(N_("As set: a leak or the patient's own breaths are not in it."),),
)
def minute_ventilation_l(*, vt_ml: float, rr: float) -> float:
    """Minute ventilation."""
    return vt_ml * rr / 1000


def _capped(rate: float, most: float) -> Graded[float]:
    if rate > most:
        message = N_("{rate} would be needed: capped at {most} breaths/min.")
        return Graded(most, warnings=(Filled(message, rate=f"{rate:.1f}", most=plain(most)),))
    if rate < 4:
        return Graded(rate, warnings=(N_("Slower than any usual setting: check the inputs."),))
    return Graded(rate)


@calculation(
    Input("current_rr", "breaths/min", least=4, most=60),
    Input("current_paco2_mmhg", "mmHg", least=PACO2_MMHG.least, most=PACO2_MMHG.most),
    Input("target_paco2_mmhg", "mmHg", least=PACO2_MMHG.least, most=PACO2_MMHG.most),
    Input("rr_max", "breaths/min", "cap, 35 in the ARDS Network protocol", least=4, most=60),
    unit="breaths/min",
    formula="RR x PaCO2 / target, same tidal volume, at most rr_max",
    source="PaCO2 x alveolar ventilation constant; cap 35 from ARDS Network",
    evidence="K",
    cautions=(N_("Assumes steady CO2 output and dead space."), _TRAPPING),
)
def rr_for_target_paco2(
    *, current_rr: float, current_paco2_mmhg: float, target_paco2_mmhg: float, rr_max: float
) -> Graded[float]:
    """Breathing rate for a target PaCO2."""
    return _capped(current_rr * current_paco2_mmhg / target_paco2_mmhg, rr_max)


@calculation(
    Input("target_mv_l", "L/min", above=0, most=60),
    VT_ML,
    unit="breaths/min",
    formula="target minute volume / VT, at most 35",
    source="definition; cap 35 from ARDS Network",
    evidence="K",
    cautions=(_TRAPPING,),
)
def rr_for_target_minute_ventilation(*, target_mv_l: float, vt_ml: float) -> Graded[float]:
    """Breathing rate for a target minute volume."""
    return _capped(target_mv_l * 1000 / vt_ml, RR_MAX)


def _grade(ratio: float, bands: tuple[tuple[float, str], ...]) -> str:
    return next((word for limit, word in bands if round(ratio, 9) <= limit), "none")


@calculation(
    Input("pao2_mmhg", "mmHg", least=20, most=700),
    FIO2,
    PEEP,
    unit="ratio",
    formula="PaO2 / FiO2; severe <= 100, moderate <= 200, mild <= 300, with PEEP or CPAP >= 5",
    source="ARDS Definition Task Force (Berlin), JAMA 2012;307:2526",
    evidence="C",
    cautions=(
        N_("Oxygenation alone is not a diagnosis."),
        N_("Not graded for altitude: that correction is contested."),
    ),
)
def ards_berlin_oxygenation(*, pao2_mmhg: float, fio2: float, peep: float) -> Graded[float]:
    """P/F ratio with its Berlin class."""
    ratio = pao2_mmhg / fio2
    if peep < 5:
        return Graded(ratio, "invalid", ("Not classifiable: PEEP or CPAP is below 5 cmH2O.",))
    return Graded(ratio, _grade(ratio, ((100, "severe"), (200, "moderate"), (300, "mild"))))


@calculation(
    Input("spo2_pct", "%", above=0, most=100),
    FIO2,
    unit="ratio",
    formula="SpO2 / FiO2; severe <= 148, moderate <= 235, mild <= 315, with SpO2 <= 97 %",
    source="Matthay et al., Am J Respir Crit Care Med 2024;209:37",
    evidence="S",
    cautions=(
        N_("Not with a poor trace or dyshaemoglobin; over-reads in dark skin."),
        N_("Not a diagnosis by itself."),
    ),
)
def ards_global_sf_intubated(*, spo2_pct: float, fio2: float) -> Graded[float]:
    """S/F ratio with its class in the global definition, intubated patients."""
    ratio = spo2_pct / fio2
    if spo2_pct > 97:
        return Graded(ratio, "invalid", ("Invalid above an SpO2 of 97 %: the curve is flat there.",))
    return Graded(ratio, _grade(ratio, ((148, "severe"), (235, "moderate"), (315, "mild"))))


@calculation(
    Input("pf", "mmHg", "P/F ratio", above=0, most=700),
    unit="ratio",
    formula="64 + 0.84 x P/F",
    source="Rice et al., Chest 2007;132:410",
    evidence="S",
    cautions=(N_("Does not hit the published cut-offs exactly: grade by the cut-offs."),),
)
def sf_from_pf_rice(*, pf: float) -> float:
    """S/F ratio that matches a P/F ratio."""
    return 64 + 0.84 * pf
