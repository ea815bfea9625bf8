"""From a patient to the numbers that the model integrates. All constants stand here, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, radians, sin, sqrt

MMHG_ML = 863.0
"""mL of gas at body conditions x mmHg in one mL at standard conditions (310/273 x 760)."""
HUFNER_ML_G = 1.34
DISSOLVED_ML_L_MMHG = 0.03
PB_MMHG = 760.0
DRY_MMHG = PB_MMHG - 47.0

SUPINE_LOSS = 0.27
"""Share of upright FRC lost on lying flat (textbook: 25-30 %)."""
HEAD_UP_REGAINED = 0.95
"""Share of that loss regained when fully upright; posture acts with the sine of the angle (estimate)."""
INDUCTION_KEPT = 0.74
"""FRC after induction as a share of supine FRC at BMI 23 (Don 1970: 72 % at 70 kg, 175 cm)."""
BMI_SCALE = 40.0
"""FRC falls e-fold per this many kg/m2 above 23 (exponential: shape of Pelosi 1998; scale from the obese groups)."""
INFANT_FRC_ML_KG, INFANT_FRC_PER_YEAR, CHILD_FRC_ML_KG = 13.0, 2.5, 20.0
"""Anaesthetised supine: newborn, rise with each year of age, and child (textbook: 10-15, then 20-30 mL/kg)."""
ADULT_FROM_Y, CHILD_TO_Y = 18.0, 8.0
"""Between these ages, child and adult estimates are blended."""

VO2_ANAESTHESIA = 1.0
"""Factor on the Brody form: Lowe & Ernst give it for anaesthesia already."""
RESPIRATORY_QUOTIENT = 0.8
CARDIAC_INDEX_L_MIN_M2 = 2.8
CARDIAC_INDEX_CHILD_L_MIN_M2 = 3.6
ARTERIAL_SHARE, VENOUS_SHARE = 0.2, 0.7
"""Shares of the blood volume that lie in front of and behind the tissues; the rest is in the lung."""

SHUNT_LEAN, SHUNT_PER_BMI, SHUNT_PER_YEAR, SHUNT_MOST = 0.08, 0.002, 0.0006, 0.20
"""Shunt at BMI 25 and 40 years, rising with both; 5-10 % healthy, 15-20 % in severe obesity (reference, 4.3)."""
DEPENDENT_VOLUME, DEPENDENT_FLOW = 0.12, 0.20
"""Share of the lung's gas and of its blood flow in the dependent part, near closing volume (estimate)."""
HB_MEN, HB_WOMEN, HB_CHILD = 14.5, 13.0, 12.0

CO2_STORE_ML_KG_MMHG = 0.75
"""Tissue CO2 store: gives the 3-4 mmHg/min of apnoea after the first minute."""
CO2_SLOPE_ML_L_MMHG = 5.0
PACO2_START = 40.0
PH_PER_LOG_CO2 = 0.8

MASK_LEAK = 0.04
"""Room air drawn in beside a well-held mask: end-tidal 0.92 after 3 min (Pandit 2003) against a ceiling of 0.944."""
NASAL_FIO2 = 0.9
"""Oxygen fraction at the glottis under nasal oxygen in apnoea (estimate; 1.0 only when the pharynx is flooded)."""
AIR = 0.21
PROBE_DELAY_S = 10.0
"""A finger probe shows a fall 15-60 s late (reference, 3); cautiously less than that."""


@dataclass(frozen=True, slots=True)
class Patient:
    """What is asked about a patient. Fractions 0-1, lengths in cm, weights in kg, angle in degrees.

    preox_eto2   end-tidal O2 at the last breath; None: washed in with preox_fio2 for preox_min
    """

    weight_kg: float
    height_cm: float
    sex: str
    age_y: float
    preox_eto2: float | None
    preox_fio2: float | None
    preox_min: float | None
    head_up_deg: float
    shunt_fraction: float | None
    vo2_factor: float
    frc_factor: float
    hb_g_dl: float | None
    nasal: bool

    @property
    def bmi(self) -> float:
        """Body mass index [kg/m2]."""
        return self.weight_kg / (self.height_cm / 100) ** 2


@dataclass(frozen=True, slots=True)
class Body:
    """What the model integrates.

    frc_l, frc_awake_l   lung volume in apnoea and during pre-oxygenation, body conditions [L]
    vo2_ml_min           oxygen consumption [mL/min]
    flow_l_min           cardiac output [L/min]; arterial_l, venous_l: blood stores [L]
    shunt, hb_g_dl       fraction past the lung; haemoglobin
    co2_store_ml_mmhg    tissue CO2 store [mL/mmHg]
    """

    frc_l: float
    frc_awake_l: float
    vo2_ml_min: float
    flow_l_min: float
    arterial_l: float
    venous_l: float
    shunt: float
    hb_g_dl: float
    co2_store_ml_mmhg: float


def _grown(age_y: float) -> float:
    """0 for a child, 1 for an adult."""
    return min(max((age_y - CHILD_TO_Y) / (ADULT_FROM_Y - CHILD_TO_Y), 0.0), 1.0)


def _blend(child: float, adult: float, age_y: float) -> float:
    grown = _grown(age_y)
    return child * (1 - grown) + adult * grown


def frc_upright_l(patient: Patient) -> float:
    """Awake, upright (ECSC/ERS, Quanjer 1993); below 130 cm the line is followed to a floor of 0.6 L."""
    metres, age = patient.height_cm / 100, min(max(patient.age_y, ADULT_FROM_Y), 70.0)
    men, women = 2.34 * metres + 0.009 * age - 1.09, 2.24 * metres + 0.001 * age - 1.00
    return max(men if patient.sex == "M" else women, 0.6)


def lung_volumes_l(patient: Patient) -> tuple[float, float]:
    """FRC in apnoea and awake in the same posture [L]."""
    upright = frc_upright_l(patient)
    regained = HEAD_UP_REGAINED * sin(radians(patient.head_up_deg))
    awake = upright * (1 - SUPINE_LOSS * (1 - regained))
    squeezed = exp(-(max(patient.bmi, 18.0) - 23.0) / BMI_SCALE)
    supine = upright * (1 - SUPINE_LOSS) * INDUCTION_KEPT * min(squeezed, 1.0 / INDUCTION_KEPT)
    asleep = supine + upright * SUPINE_LOSS * regained
    per_kg = min(INFANT_FRC_ML_KG + INFANT_FRC_PER_YEAR * patient.age_y, CHILD_FRC_ML_KG)
    child = per_kg * patient.weight_kg / 1000
    apnoea = _blend(child, asleep, patient.age_y) * patient.frc_factor
    return apnoea, max(_blend(child / INDUCTION_KEPT, awake, patient.age_y) * patient.frc_factor, apnoea)


def vo2_ml_min(patient: Patient) -> float:
    """Oxygen consumption: Brody form for adults, Lindahl for children to 25 kg [mL/min]."""
    brody = 10 * patient.weight_kg**0.75 * VO2_ANAESTHESIA
    child = 5.0 * patient.weight_kg + 19.8
    return _blend(child, brody, patient.age_y) * patient.vo2_factor


def default_shunt(patient: Patient) -> float:
    """Shunt when none is given: rises with BMI and age."""
    rise = SHUNT_PER_BMI * max(patient.bmi - 25, 0) + SHUNT_PER_YEAR * max(patient.age_y - 40, 0)
    return min(SHUNT_LEAN + rise, SHUNT_MOST)


def default_hb_g_dl(patient: Patient) -> float:
    """Haemoglobin when none is given."""
    return _blend(HB_CHILD, HB_MEN if patient.sex == "M" else HB_WOMEN, patient.age_y)


def body_of(patient: Patient) -> Body:
    """The numbers of one patient."""
    frc, awake = lung_volumes_l(patient)
    area = sqrt(patient.height_cm * patient.weight_kg / 3600)
    index = _blend(CARDIAC_INDEX_CHILD_L_MIN_M2, CARDIAC_INDEX_L_MIN_M2, patient.age_y)
    blood = 0.07 * patient.weight_kg * min(1.0, (22.0 / max(patient.bmi, 1.0)) ** 0.5)
    return Body(
        frc_l=frc,
        frc_awake_l=awake,
        vo2_ml_min=vo2_ml_min(patient),
        flow_l_min=index * area,
        arterial_l=ARTERIAL_SHARE * blood,
        venous_l=VENOUS_SHARE * blood,
        shunt=default_shunt(patient) if patient.shunt_fraction is None else patient.shunt_fraction,
        hb_g_dl=default_hb_g_dl(patient) if patient.hb_g_dl is None else patient.hb_g_dl,
        co2_store_ml_mmhg=CO2_STORE_ML_KG_MMHG * patient.weight_kg,
    )
