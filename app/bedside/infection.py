"""Airborne dose and the quanta models. Shown only as a comparison of two plans, never as a risk of one."""

from __future__ import annotations

from math import expm1

from app.base.calculation import calculation
from app.base.inputs import Input
from app.bedside.air import mean_decay
from app.bedside.given import ACH, LOSS_RATE_PER_H, VOLUME_M3

_Q = Input("q_per_h", "quanta/h", "published values differ several-hundred-fold", least=0, most=100_000)
_INFECTORS = Input("infectors", "", kind="whole", least=0, most=1000)
_P = Input("p_m3_per_h", "m3/h", "breathing rate: 0.3 at rest, 0.5-0.6 light work", above=0, most=10)
_HOURS = Input("hours", "h", "length of stay", least=0, most=168)
_COMPARE = "Compare two plans by the ratio of their doses; never show this as somebody's risk."
_FAR = "Well-mixed far field only: near field, splash, contact and doffing are not in it."
_STEADY = "Riley 1978, Am J Epidemiol 107:421 (Wells-Riley)"


def infected_percent(dose_quanta: float) -> float:
    """100 (1 - exp(-dose)): the share infected by a dose in quanta [%]."""
    return -100 * expm1(-dose_quanta)


@calculation(
    _Q,
    _INFECTORS,
    _P,
    _HOURS,
    ACH,
    VOLUME_M3,
    unit="%",
    formula="100 (1 - exp(-I q p t / (ACH V)))",
    source=_STEADY,
    evidence="M",
    cautions=(_COMPARE, _FAR),
)
def wells_riley_steady_percent(
    *, q_per_h: float, infectors: int, p_m3_per_h: float, hours: float, ach: float, volume_m3: float
) -> float:
    """Wells-Riley at steady state."""
    return infected_percent(infectors * q_per_h * p_m3_per_h * hours / (ach * volume_m3))


@calculation(
    _Q,
    _INFECTORS,
    _P,
    _HOURS,
    LOSS_RATE_PER_H,
    VOLUME_M3,
    Input("C0", "quanta/m3", "already in the air at the start", least=0, most=1e6),
    unit="%",
    formula="dose = p t (C_inf + (C0 - C_inf)(1 - exp(-n t))/(n t)), C_inf = I q/(n V); 100 (1 - exp(-dose))",
    source="Gammaitoni & Nucci 1997, Emerg Infect Dis 3:335",
    evidence="M",
    cautions=(_COMPARE, _FAR),
)
def gammaitoni_nucci_percent(
    *,
    q_per_h: float,
    infectors: int,
    p_m3_per_h: float,
    hours: float,
    loss_rate_per_h: float,
    volume_m3: float,
    C0: float,
) -> float:
    """Non-steady model from the air as it was at the start."""
    steady = infectors * q_per_h / (loss_rate_per_h * volume_m3)
    mean = steady + (C0 - steady) * mean_decay(loss_rate_per_h * hours)
    return infected_percent(p_m3_per_h * hours * mean)


@calculation(
    Input("C0_quanta_per_m3", "quanta/m3", "in the air when the source left", least=0, most=1e6),
    _P,
    _HOURS,
    LOSS_RATE_PER_H,
    unit="%",
    formula="dose = p C0 (1 - exp(-n T))/n; 100 (1 - exp(-dose))",
    source="decay of the single-zone model",
    evidence="K",
    cautions=(_COMPARE, _FAR),
)
def after_source_left_percent(
    *, C0_quanta_per_m3: float, p_m3_per_h: float, hours: float, loss_rate_per_h: float
) -> float:
    """Entry after the source has left."""
    return infected_percent(p_m3_per_h * hours * C0_quanta_per_m3 * mean_decay(loss_rate_per_h * hours))


@calculation(
    _Q,
    _P,
    _HOURS,
    ACH,
    VOLUME_M3,
    Input("inhaled_fraction", "", "1 / protection factor; 1 without a respirator", least=0, most=1),
    unit="%",
    formula="100 (1 - exp(-f q p t / (ACH V))), one infector",
    source="Fennelly & Nardell 1998, Infect Control Hosp Epidemiol 19:754 (model form)",
    evidence="C",
    cautions=(_COMPARE, _FAR, "An assigned protection factor is not a fit factor."),
)
def wells_riley_with_respirator_percent(
    *, q_per_h: float, p_m3_per_h: float, hours: float, ach: float, volume_m3: float, inhaled_fraction: float
) -> float:
    """Wells-Riley at steady state with a respirator, one infector."""
    return infected_percent(inhaled_fraction * q_per_h * p_m3_per_h * hours / (ach * volume_m3))
