"""The forecast: time to a saturation, with a low and a high estimate, the curve, and what moves it most."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import exp, floor, log, sqrt

from app.base.calculation import Graded, calculation
from app.base.checks import Missing
from app.base.inputs import Input
from app.base.messages import N_, Filled
from app.bedside.apnoea.model import end_tidal_after_preox, run
from app.bedside.apnoea.parameters import DRY_MMHG, NASAL_FIO2, PACO2_START, Body, Patient, body_of

MOST_S = 3600.0
CEILING = 1 - PACO2_START / DRY_MMHG
"""Highest end-tidal O2 that dry gas can show beside CO2; more on a monitor is its error."""
TENTH_CENTILE = 1.28
ROUND_S = 10
_CURVE_POINTS = 60


@dataclass(frozen=True, slots=True)
class Spread:
    """How far one input may really lie from what was taken, as one standard deviation."""

    frc: float = 0.22
    vo2: float = 0.15
    flow: float = 0.20
    shunt: float = 0.04
    hb_g_dl: float = 1.5
    eto2_measured: float = 0.02
    eto2_assumed: float = 0.05


SPREAD = Spread()
"""FRC: residual SD 0.5-0.6 L (Quanjer 1993) and induction; VO2, output, shunt, Hb, end-tidal: estimates."""
NASAL_LEAST, NASAL_MOST = 0.5, 1.0
"""Oxygen at the glottis under nasal oxygen: a poor and a flooded pharynx."""

Shift = Callable[[Patient, Body, float], tuple[Patient, Body, float]]


@dataclass(frozen=True, slots=True)
class Driver:
    """What one input does to the time: to `low_s` when it lies on its bad side, to `high_s` on its good side."""

    name: str
    low_s: float
    high_s: float

    @property
    def effect(self) -> float:
        """Size of the effect, symmetric in ratio."""
        return abs(log(max(self.high_s, 1.0) / max(self.low_s, 1.0)))


def _shifts(patient: Patient, eto2: float) -> Mapping[str, Callable[[int], Shift]]:
    """For each input, the change towards its bad (-1) or good (+1) side."""
    s = SPREAD
    eto2_sd = s.eto2_measured if patient.preox_eto2 is not None else s.eto2_assumed
    shifts: dict[str, Callable[[int], Shift]] = {
        "functional residual capacity": lambda d: lambda p, b, n: (p, replace(b, frc_l=b.frc_l * exp(d * s.frc)), n),
        "oxygen consumption": lambda d: lambda p, b, n: (p, replace(b, vo2_ml_min=b.vo2_ml_min * exp(-d * s.vo2)), n),
        "cardiac output": lambda d: lambda p, b, n: (p, replace(b, flow_l_min=b.flow_l_min * exp(d * s.flow)), n),
        "shunt": lambda d: lambda p, b, n: (p, replace(b, shunt=min(max(b.shunt - d * s.shunt, 0.0), 0.7)), n),
        "haemoglobin": lambda d: lambda p, b, n: (p, replace(b, hb_g_dl=max(b.hb_g_dl + d * s.hb_g_dl, 2.0)), n),
        "pre-oxygenation": lambda d: (
            lambda p, b, n: (replace(p, preox_eto2=min(max(eto2 + d * eto2_sd, 0.10), CEILING)), b, n)
        ),
    }
    if patient.nasal:
        limits = {-1: NASAL_LEAST, 1: NASAL_MOST}
        shifts["oxygen at the glottis"] = lambda d: lambda p, b, n: (p, b, limits[d])
    return shifts


def _seconds(patient: Patient, body: Body, nasal_fio2: float, threshold_pct: float) -> float:
    course = run(patient, body, threshold_pct=threshold_pct, most_s=MOST_S, nasal_fio2=nasal_fio2)
    return MOST_S if course.reached_s is None else course.reached_s


def drivers(patient: Patient, body: Body, threshold_pct: float) -> tuple[Driver, ...]:
    """Every input's effect on the time when it lies one standard deviation off, largest first."""
    found = []
    for name, towards in _shifts(patient, end_tidal_after_preox(patient, body)).items():
        times = [_seconds(*towards(side)(patient, body, NASAL_FIO2), threshold_pct) for side in (-1, 1)]
        found.append(Driver(name, min(times), max(times)))
    return tuple(sorted(found, key=lambda driver: -driver.effect))


def low_and_high_s(middle_s: float, by: tuple[Driver, ...]) -> tuple[float, float]:
    """The tenth and ninetieth centile when the inputs vary independently, summed in ratios."""
    if middle_s <= 0:
        return 0.0, max((driver.high_s for driver in by), default=0.0)
    down = sqrt(sum(log(middle_s / max(min(driver.low_s, middle_s), 1.0)) ** 2 for driver in by))
    up = sqrt(sum(log(max(driver.high_s, middle_s) / middle_s) ** 2 for driver in by))
    return middle_s * exp(-TENTH_CENTILE * down), min(middle_s * exp(TENTH_CENTILE * up), MOST_S)


def _patient_of(
    preox_eto2: float | None, preox_fio2: float | None, preox_min: float | None
) -> tuple[float | None, tuple[str, ...]]:
    """The end-tidal O2 to start from, None when it is to be washed in, and warnings."""
    if preox_eto2 is None:
        if preox_fio2 is None:
            raise Missing(
                "preox_eto2 is missing.", do="Give it as a fraction from 0.1 to 1, or preox_fio2 and preox_min."
            )
        if preox_min is None:
            raise Missing("preox_min is missing.", do="Give it in min, from 0 to 30, or give preox_eto2.")
        return None, (N_("End-tidal oxygen was not measured: it is taken from the clock."),)
    notes = []
    if preox_fio2 is not None:
        notes.append(N_("The measured end-tidal oxygen is used, not the oxygen breathed and its minutes."))
    if preox_eto2 > CEILING:
        message = N_("Dry gas cannot hold more than {most} oxygen beside CO2: that is used. Check the monitor.")
        notes.append(Filled(message, most=f"{CEILING:.3f}"))
    return min(preox_eto2, CEILING), tuple(notes)


@calculation(
    Input("weight_kg", "kg", "actual weight", least=2, most=350),
    Input("height_cm", "cm", "measured", least=45, most=230),
    Input("sex", kind="word", choices=("M", "F")),
    Input("age_y", "years", least=0, most=110),
    Input("threshold_spo2_pct", "%", "saturation at which to stop", least=40, most=98),
    Input(
        "preox_eto2",
        "",
        "end-tidal oxygen as a fraction; or preox_fio2 and preox_min",
        optional=True,
        least=0.1,
        most=1,
    ),
    Input("preox_fio2", "", "inspired oxygen before apnoea", optional=True, least=0.21, most=1),
    Input("preox_min", "min", "how long it was breathed", optional=True, least=0, most=30),
    Input("head_up_deg", "deg", "head-up tilt", optional=True, assumed=0.0, least=0, most=90),
    Input("shunt_fraction", "", "8 % rising with weight and age when left out", optional=True, least=0, most=0.6),
    Input("vo2_factor", "", "1.25 at term, more in fever", optional=True, assumed=1.0, least=0.3, most=3),
    Input("frc_factor", "", "0.75 at term", optional=True, assumed=1.0, least=0.2, most=2),
    Input("hb_g_dl", "g/dL", "14.5 men, 13 women, 12 children when left out", optional=True, least=2, most=25),
    Input("apnoeic_oxygen", kind="word", choices=("none", "nasal"), optional=True, assumed="none"),
    unit="s",
    formula="mass balance of O2, N2 and CO2 over lung and blood, fixed-step RK4",
    source="after Farmery & Roe, Br J Anaesth 1996;76:284; parameters and validation in APNOEA.md",
    evidence="K",
    cautions=(
        N_("A model of an average patient with a perfect seal: real time may be half. Never a countdown to rely on."),
        N_("Re-oxygenate at 92-93 %: below 90 % saturation falls about 1 % every 2 s."),
        N_("No sick patient's data were measured: in pneumonia expect a fraction."),
        N_("Shown rounded down to 10 s."),
    ),
)
def apnoea_time_s(
    *,
    weight_kg: float,
    height_cm: float,
    sex: str,
    age_y: float,
    threshold_spo2_pct: float,
    preox_eto2: float | None = None,
    preox_fio2: float | None = None,
    preox_min: float | None = None,
    head_up_deg: float = 0.0,
    shunt_fraction: float | None = None,
    vo2_factor: float = 1.0,
    frc_factor: float = 1.0,
    hb_g_dl: float | None = None,
    apnoeic_oxygen: str = "none",
) -> Graded[float]:
    """Seconds of apnoea until the probe shows a saturation; `low`, `high`, `curve`, `drivers` stand beside it."""
    eto2, notes = _patient_of(preox_eto2, preox_fio2, preox_min)
    patient = Patient(
        weight_kg, height_cm, sex, age_y, eto2, preox_fio2, preox_min, head_up_deg, shunt_fraction, vo2_factor,
        frc_factor, hb_g_dl, apnoeic_oxygen == "nasal",
    )  # fmt: skip
    body = body_of(patient)
    course = run(patient, body, threshold_pct=threshold_spo2_pct, most_s=MOST_S)
    value = MOST_S if course.reached_s is None else course.reached_s
    by = drivers(patient, body, threshold_spo2_pct)
    low, high = low_and_high_s(value, by)
    warnings = list(notes)
    if value == 0:
        message = N_("Saturation is not above {stop} % to begin with: there is no safe apnoea.")
        warnings.append(Filled(message, stop=f"{threshold_spo2_pct:g}"))
    if value == MOST_S:
        warnings.append(N_("Not reached within 60 min: the model stops there. CO2 rises all the time."))
    if patient.nasal:
        warnings.append(N_("Nasal oxygen helps only with an open airway, and not when the shunt is large."))
    if shunt_fraction is None or hb_g_dl is None:
        message = N_("Estimated from size, sex and age where not given: shunt {shunt}, haemoglobin {hb} g/dL.")
        warnings.append(Filled(message, shunt=f"{body.shunt:.2f}", hb=f"{body.hb_g_dl:.1f}"))
    every = max(1, len(course.seconds) // _CURVE_POINTS)
    curve = [(s, p) for s, p in zip(course.seconds[::every], course.spo2_pct[::every], strict=True)]
    return Graded(
        value,
        warnings=tuple(warnings),
        more={
            "low": low,
            "high": high,
            "shown_s": floor(value / ROUND_S) * ROUND_S,
            "eto2": end_tidal_after_preox(patient, body),
            "frc_l": body.frc_l,
            "vo2_ml_min": body.vo2_ml_min,
            "shunt_fraction": body.shunt,
            "drivers": [{"input": d.name, "low_s": d.low_s, "high_s": d.high_s} for d in by[:3]],
            "curve": curve,
        },
    )
