"""Oxygen in blood and gas: the dissociation curve with its shifts, alveolar gas, content."""

from __future__ import annotations

from math import exp, log, log10, sqrt

from app.base.calculation import Graded, calculation
from app.base.checks import within
from app.base.inputs import Input
from app.bedside.given import FIO2, PACO2_MMHG, PB_MMHG

WATER_MMHG = 47.0
_PO2 = Input("po2_mmhg", "mmHg", "oxygen pressure", above=0, most=760)
_PH = Input("ph", least=6.8, most=7.8)
_TEMP = Input("temp_c", "degC", least=28, most=42)
_ADULT = "Adult haemoglobin without CO or methaemoglobin."
_R = Input("r", "", "respiratory exchange ratio, usually 0.8", least=0.5, most=1.2)


def saturation(po2_mmhg: float) -> float:
    """Severinghaus 1979 Eq. 1: fraction saturated at a PO2 [mmHg] at 37 degC and pH 7.4. No range check."""
    if po2_mmhg <= 0:
        return 0.0
    return 1 / (1 + 23400 / (po2_mmhg * po2_mmhg * po2_mmhg + 150 * po2_mmhg))


def ln_po2_per_degree(po2_mmhg: float) -> float:
    """Severinghaus 1979 Eq. 3: change of ln PO2 per degC at constant saturation."""
    return float(0.058 / ((0.243 * po2_mmhg / 100) ** 3.88 + 1) + 0.013)


def ln_po2_per_ph(po2_mmhg: float) -> float:
    """Severinghaus 1979 Eq. 4: change of ln PO2 per unit of pH at constant saturation (Bohr)."""
    return float((po2_mmhg / 26.6) ** 0.184 - 2.2)


def standard_po2(po2_mmhg: float, ph: float, temp_c: float) -> float:
    """The PO2 that would give the same saturation at 37 degC and pH 7.4 [mmHg]."""
    shift = ln_po2_per_degree(po2_mmhg) * (temp_c - 37) + ln_po2_per_ph(po2_mmhg) * (ph - 7.4)
    return po2_mmhg * exp(-shift)


@calculation(
    _PO2,
    _PH,
    _TEMP,
    unit="%",
    formula="Eq. 1 at the PO2 moved to 37 degC and pH 7.4 by Eq. 3 and 4",
    source="Severinghaus, J Appl Physiol 1979;46:599",
    evidence="C",
    cautions=(_ADULT, "SpO2 is not SaO2: about 2 % SD, worse below 80 %."),
)
def so2_from_po2_pct(*, po2_mmhg: float, ph: float, temp_c: float) -> float:
    """Oxygen saturation at a PO2, pH and temperature."""
    return 100 * saturation(standard_po2(po2_mmhg, ph, temp_c))


@calculation(
    _PO2,
    unit="%",
    formula="100 / (1 + 23400 / (P^3 + 150 P)) at 37 degC, pH 7.4",
    source="Severinghaus 1979, Eq. 1",
    evidence="C",
    cautions=("Fit error at most 0.55, on average 0.26 percentage points.", _ADULT),
)
def so2_severinghaus_equation_pct(*, po2_mmhg: float) -> float:
    """Oxygen saturation at standard conditions."""
    return 100 * saturation(po2_mmhg)


@calculation(
    Input("so2_fraction", "", "saturation as a fraction (90 % is 0.9)", above=0, below=1),
    unit="mmHg",
    formula="k = 11700 S/(1-S); r = sqrt(k^2 + 50^3); P = (r+k)^(1/3) - (r-k)^(1/3)",
    source="Ellis, J Appl Physiol 1989;67:902",
    evidence="M",
    cautions=(_ADULT,),
)
def po2_from_so2_mmhg(*, so2_fraction: float) -> Graded[float | str]:
    """PO2 at a saturation; above 0.97 only that it is at least 90 mmHg."""
    if so2_fraction > 0.97:
        return Graded(">= 90", warnings=("Above 97 % the inverse is too flat to mean more.",))
    k = 11700 * so2_fraction / (1 - so2_fraction)
    r = sqrt(k * k + 50.0**3)
    # r - k loses its digits at high saturation; 50^3 / (r + k) is the same number without the loss
    return Graded((r + k) ** (1 / 3) - (50.0**3 / (r + k)) ** (1 / 3))


@calculation(
    _PO2,
    unit="1/degC",
    formula="0.058 / ((0.243 P/100)^3.88 + 1) + 0.013",
    source="Severinghaus 1979, Eq. 3",
    evidence="C",
    cautions=(_ADULT,),
)
def dlnpo2_dT_per_c(*, po2_mmhg: float) -> float:
    """Temperature coefficient of PO2."""
    return ln_po2_per_degree(po2_mmhg)


@calculation(
    _PO2,
    unit="1/pH unit",
    formula="(P/26.6)^0.184 - 2.2",
    source="Severinghaus 1979, Eq. 4",
    evidence="C",
    cautions=(_ADULT,),
)
def dlnpo2_dpH(*, po2_mmhg: float) -> float:
    """Bohr coefficient of PO2."""
    return ln_po2_per_ph(po2_mmhg)


@calculation(
    _PO2,
    _TEMP,
    _PH,
    PACO2_MMHG,
    unit="mmHg",
    formula="P x 10^[0.024 (37-T) + 0.40 (pH-7.40) + 0.06 log10(40/PaCO2)]",
    source="Kelman, J Appl Physiol 1966;21:1375",
    evidence="M",
    cautions=(_ADULT, "For reading a saturation off the standard curve, not a pressure in the patient."),
)
def standard_po2_kelman_mmhg(*, po2_mmhg: float, temp_c: float, ph: float, paco2_mmhg: float) -> float:
    """PO2 moved to standard conditions."""
    return float(po2_mmhg * 10 ** (0.024 * (37 - temp_c) + 0.40 * (ph - 7.4) + 0.06 * log10(40 / paco2_mmhg)))


def _positive_pressure(value: float) -> Graded[float]:
    low = value < 20
    return Graded(value, warnings=("Not compatible with life: check the inputs.",) if low else ())


@calculation(
    FIO2,
    PB_MMHG,
    PACO2_MMHG,
    _R,
    unit="mmHg",
    formula="FiO2 (PB-47) - PaCO2 [FiO2 + (1-FiO2)/R]",
    source="Lumb, Nunn & Lumb's Applied Respiratory Physiology",
    evidence="M",
    cautions=("Steady state, and the pressure of this place: PB falls with height.",),
)
def alveolar_po2_full_mmhg(*, fio2: float, pb_mmhg: float, paco2_mmhg: float, r: float) -> Graded[float]:
    """Alveolar PO2, full form."""
    return _positive_pressure(fio2 * (pb_mmhg - WATER_MMHG) - paco2_mmhg * (fio2 + (1 - fio2) / r))


@calculation(
    FIO2,
    PB_MMHG,
    PACO2_MMHG,
    _R,
    unit="mmHg",
    formula="FiO2 (PB-47) - PaCO2/R",
    source="Lumb, Nunn & Lumb's Applied Respiratory Physiology",
    evidence="M",
    cautions=("Reads low at high FiO2: prefer the full form.",),
)
def alveolar_po2_simple_mmhg(*, fio2: float, pb_mmhg: float, paco2_mmhg: float, r: float) -> Graded[float]:
    """Alveolar PO2, simple form."""
    return _positive_pressure(fio2 * (pb_mmhg - WATER_MMHG) - paco2_mmhg / r)


@calculation(
    Input("hb_g_dl", "g/dL", "haemoglobin", least=2, most=25),
    Input("so2_fraction", "", "saturation as a fraction", least=0, most=1),
    Input("po2_mmhg", "mmHg", least=0, most=760),
    Input("hufner", "mL/g", "1.31 to 1.39 are in use", least=1.3, most=1.4),
    unit="mL/dL",
    formula="hufner x Hb x S + 0.003 x P",
    source="Lumb, Nunn & Lumb's Applied Respiratory Physiology",
    evidence="M",
    cautions=(_ADULT,),
)
def o2_content_ml_dl(*, hb_g_dl: float, so2_fraction: float, po2_mmhg: float, hufner: float) -> float:
    """Oxygen content of blood."""
    return hufner * hb_g_dl * so2_fraction + 0.003 * po2_mmhg


_F_START = Input("f_start", "", "alveolar O2 fraction at the start", least=0, most=1)
_F_FINAL = Input("f_final", "", "fraction at the end of an endless wash-in", above=0, most=1)
_FRC = Input("frc_l", "L", "functional residual capacity", above=0, most=8)
_VA = Input("va_l_min", "L/min", "alveolar ventilation", above=0, most=60)
_LEAK = "Assumes no leak and one compartment: measure end-tidal O2, do not assume it from the clock."


@calculation(
    _F_START,
    _F_FINAL,
    _FRC,
    _VA,
    Input("t_min", "min", "time of pre-oxygenation", least=0, most=60),
    unit="fraction",
    formula="Ff - (Ff - F0) exp(-t VA / FRC)",
    source="single-compartment wash-in",
    evidence="K",
    cautions=(_LEAK, "Target at least 0.90; dry-gas ceiling about 0.94."),
)
def preox_end_tidal_o2(*, f_start: float, f_final: float, frc_l: float, va_l_min: float, t_min: float) -> float:
    """End-tidal oxygen after a time of pre-oxygenation."""
    return f_final - (f_final - f_start) * exp(-t_min * va_l_min / frc_l)


@calculation(
    _F_START,
    _F_FINAL,
    _FRC,
    _VA,
    Input("target", "", "end-tidal O2 fraction to reach", above=0, below=1),
    unit="s",
    formula="60 FRC/VA ln((Ff - F0)/(Ff - target))",
    source="single-compartment wash-in",
    evidence="K",
    cautions=(_LEAK,),
)
def preox_time_to_target_s(*, f_start: float, f_final: float, frc_l: float, va_l_min: float, target: float) -> float:
    """Time of pre-oxygenation to a target end-tidal oxygen."""
    if target <= f_start:
        return 0.0
    within("target", target, below=f_final)
    return 60 * frc_l / va_l_min * log((f_final - f_start) / (f_final - target))


@calculation(
    Input("sex", kind="word", choices=("M", "F")),
    Input("height_m", "m", least=1.2, most=2.3),
    Input("age_y", "years", least=18, most=110),
    unit="L",
    formula="men 2.34 H + 0.009 A - 1.09; women 2.24 H + 0.001 A - 1.00",
    source="ECSC/ERS, Quanjer et al. 1993",
    evidence="M",
    cautions=("Residual SD 0.60 L in men, 0.50 L in women.", "Upright and awake: supine about 0.7 to 0.8 L less."),
)
def frc_upright_awake_l(*, sex: str, height_m: float, age_y: float) -> Graded[float]:
    """Functional residual capacity, upright and awake."""
    old = ("The equation was fitted up to 70 years.",) if age_y > 70 else ()
    frc = 2.34 * height_m + 0.009 * age_y - 1.09 if sex == "M" else 2.24 * height_m + 0.001 * age_y - 1.00
    return Graded(frc, warnings=old)


@calculation(
    Input("weight_kg", "kg", least=2, most=350),
    Input("height_cm", "cm", least=120, most=230),
    unit="%",
    formula="137.7 - 164.4 w/h, held to 30-100 %",
    source="Don et al., Anesthesiology 1970;32:521 (n = 11)",
    evidence="C",
    cautions=("A regression on eleven people.",),
)
def frc_after_induction_pct_of_awake_supine(*, weight_kg: float, height_cm: float) -> Graded[float]:
    """Functional residual capacity after induction, as a share of awake supine."""
    share = 137.7 - 164.4 * weight_kg / height_cm
    held = min(max(share, 30.0), 100.0)
    return Graded(held, warnings=() if held == share else (f"The regression gives {share:.0f} %: held to 30-100 %.",))


@calculation(
    Input("weight_kg", "kg", least=2, most=350),
    unit="mL/min",
    formula="10 w^0.75",
    source="Lowe & Ernst 1981 (Brody form)",
    evidence="S",
    cautions=("Fever adds roughly 10 % per degC; sepsis, seizures and fasciculation raise it.",),
)
def vo2_brody_ml_min(*, weight_kg: float) -> float:
    """Oxygen consumption by size."""
    return float(10 * weight_kg**0.75)


@calculation(
    Input("weight_kg", "kg", least=3.6, most=25),
    unit="mL/min",
    formula="5.0 w + 19.8",
    source="Lindahl, Br J Anaesth 1989;62:70",
    evidence="C",
    cautions=("Children of 3.6 to 25 kg under halothane.",),
)
def vo2_child_anaesthetised_ml_min(*, weight_kg: float) -> float:
    """Oxygen consumption of an anaesthetised child."""
    return 5.0 * weight_kg + 19.8
