"""A room's air: clearing it, portable filters, and the single-zone model with a source."""

from __future__ import annotations

from math import exp, expm1, floor, log

from app.base.calculation import Graded, calculation
from app.base.checks import OutOfRange, plain
from app.base.inputs import Input
from app.base.messages import N_
from app.bedside.given import ACH, EFFICIENCY_PERCENT, LOSS_RATE_PER_H, VOLUME_M3

L_PER_S_TO_M3_PER_H = 3.6
_MIXING = Input("mixing_factor", "", "1 ideal, 3 typical of poor mixing, up to 10", least=1, most=10)
_MINUTES = Input("minutes", "min", least=0, most=1440)
_CLEARANCE = "CDC/HICPAC 2003, Appendix B, Table B.1; CDC 1994, MMWR 43(RR-13), Table S3-1"
_EMPTY = N_("Not valid while a source remains: the clock starts when no aerosol is made any more.")
_UP = N_("Shown rounded up to the next minute, never down.")
_MIXED = N_("The mixing factor is a judgement about this room: a hidden 1 claims an ideal room.")
_LARGER = N_("Supply and exhaust of one room are not added.")
_WELL_MIXED = N_("Well-mixed far field: no near field, no cough. True exposure at the airway is higher.")


def _clearance(ach: float, efficiency_percent: float, mixing_factor: float) -> float:
    return -log(1 - efficiency_percent / 100) / ach * 60 * mixing_factor


@calculation(
    ACH,
    EFFICIENCY_PERCENT,
    _MIXING,
    unit="min",
    formula="-ln(1 - efficiency/100) / ACH x 60 x mixing factor",
    source=_CLEARANCE,
    evidence="C",
    cautions=(_EMPTY, _UP, _MIXED),
)
def clearance_minutes_with_mixing_factor(*, ach: float, efficiency_percent: float, mixing_factor: float) -> float:
    """Minutes to clear a room's air, with its mixing factor."""
    return _clearance(ach, efficiency_percent, mixing_factor)


@calculation(
    ACH,
    EFFICIENCY_PERCENT,
    Input("mixing_factor", "", _MIXING.meaning, optional=True, assumed=1.0, least=1, most=10),
    unit="min",
    formula="-ln(1 - efficiency/100) / ACH x 60 x mixing factor",
    source=_CLEARANCE,
    evidence="C",
    cautions=(_EMPTY, _UP, _MIXED),
)
def clearance_minutes(*, ach: float, efficiency_percent: float, mixing_factor: float) -> float:
    """Minutes to wait once the last source of aerosol has stopped, unrounded.

    From Python the mixing factor must be given; on the command line a missing one is taken as 1, and said.

    >>> round(clearance_minutes(ach=10, efficiency_percent=99, mixing_factor=1), 2)
    27.63
    """
    return _clearance(ach, efficiency_percent, mixing_factor)


@calculation(
    ACH,
    _MINUTES,
    unit="fold (floor of exp(n*t))",
    formula="floor(exp(ACH x minutes / 60))",
    source="WHO 2009, Natural Ventilation, Annex E, Table E.1",
    evidence="C",
    cautions=(_EMPTY,),
)
def dilution_factor_floor(*, ach: float, minutes: float) -> int:
    """How many fold a room's air is diluted, rounded down."""
    return floor(exp(_air_changes(ach, minutes)))


def _air_changes(rate_per_h: float, minutes: float) -> float:
    changes = rate_per_h * minutes / 60
    if changes > 700:
        raise OutOfRange(f"minutes = {plain(minutes)} min: more than 700 air changes say nothing; it must be less.")
    return changes


@calculation(
    ACH,
    _MINUTES,
    unit="%",
    formula="100 exp(-ACH x minutes / 60)",
    source="WHO 2009, Natural Ventilation, Annex E, decay equation",
    evidence="K",
    cautions=(_EMPTY,),
)
def remaining_fraction_percent(*, ach: float, minutes: float) -> float:
    """Share of what was airborne that remains."""
    return 100 * exp(-_air_changes(ach, minutes))


@calculation(
    Input("flow_L_per_s", "L/s", "supply or exhaust, the larger", above=0, most=100_000),
    VOLUME_M3,
    unit="1/h",
    formula="3.6 x flow / volume",
    source="unit conversion; WHO 2009 example",
    evidence="K",
    cautions=(_LARGER,),
)
def ach_from_flow(*, flow_L_per_s: float, volume_m3: float) -> float:
    """Air changes per hour from an air flow."""
    return L_PER_S_TO_M3_PER_H * flow_L_per_s / volume_m3


@calculation(
    Input("flow_cfm", "ft3/min", above=0, most=200_000),
    Input("area_ft2", "ft2", above=0, most=100_000),
    Input("height_ft", "ft", above=0, most=200),
    unit="1/h",
    formula="cfm x 60 / (area x height)",
    source="CDC Ventilation FAQ 2023",
    evidence="C",
    cautions=(_LARGER,),
)
def ach_from_cfm(*, flow_cfm: float, area_ft2: float, height_ft: float) -> float:
    """Air changes per hour from an air flow, US units."""
    return flow_cfm * 60 / (area_ft2 * height_ft)


_ROOM = Input("room_volume_m3", "m3", above=0, most=100_000)
_MECHANICAL = Input("mechanical_ach", "1/h", "measured air changes without the units", least=0, most=500)
_CADR = Input(
    "cadr_m3_per_h", "m3/h", "clean-air rate of each unit at the speed really run", kind="numbers", least=0, most=50_000
)
_UNITS = N_("A portable unit does not make a room negative; short-circuiting near it is common.")


def _total_ach(room_volume_m3: float, mechanical_ach: float, cadr_m3_per_h: tuple[float, ...]) -> float:
    return mechanical_ach + sum(cadr_m3_per_h) / room_volume_m3


@calculation(
    _ROOM,
    _MECHANICAL,
    _CADR,
    unit="1/h",
    formula="mechanical ACH + sum(CADR) / volume",
    source="CDC Ventilation FAQ 2023",
    evidence="C",
    cautions=(_UNITS,),
)
def total_ach_with_portable_hepa(
    *, room_volume_m3: float, mechanical_ach: float, cadr_m3_per_h: tuple[float, ...]
) -> float:
    """Equivalent air changes with portable filter units."""
    return _total_ach(room_volume_m3, mechanical_ach, cadr_m3_per_h)


@calculation(
    _ROOM,
    _MECHANICAL,
    _CADR,
    EFFICIENCY_PERCENT,
    unit="min",
    formula="-ln(1 - efficiency/100) / (mechanical ACH + sum(CADR)/V) x 60",
    source="CDC Ventilation FAQ 2023; CDC/HICPAC 2003, Table B.1",
    evidence="C",
    cautions=(_EMPTY, _UP, _UNITS, N_("Mixing factor 1: an ideally mixed room.")),
)
def clearance_minutes_with_portable_hepa(
    *, room_volume_m3: float, mechanical_ach: float, cadr_m3_per_h: tuple[float, ...], efficiency_percent: float
) -> float:
    """Minutes to clear a room's air with portable filter units."""
    total = _total_ach(room_volume_m3, mechanical_ach, cadr_m3_per_h)
    if total <= 0:
        raise OutOfRange("mechanical_ach and cadr_m3_per_h give no air change: together they must be above 0 1/h.")
    return _clearance(total, efficiency_percent, 1)


@calculation(
    LOSS_RATE_PER_H,
    _MINUTES,
    unit="fraction",
    formula="1 - exp(-n t)",
    source="single-zone model",
    evidence="K",
    cautions=(_WELL_MIXED,),
)
def fraction_of_steady_state(*, loss_rate_per_h: float, minutes: float) -> float:
    """How much of the steady concentration a source has reached."""
    return -expm1(-loss_rate_per_h * minutes / 60)


@calculation(
    LOSS_RATE_PER_H,
    Input("minutes", "min", above=0, most=1440),
    unit="fraction",
    formula="1 - (1 - exp(-n t)) / (n t)",
    source="time average of the build-up curve from clean air",
    evidence="K",
    cautions=(_WELL_MIXED,),
)
def mean_over_steady_state(*, loss_rate_per_h: float, minutes: float) -> float:
    """Mean concentration over a stay, as a share of the steady one."""
    changes = loss_rate_per_h * minutes / 60
    return 1 - mean_decay(changes)


def mean_decay(changes: float) -> float:
    """(1 - exp(-x)) / x, its limit 1 at x = 0: the mean of a decay over x air changes."""
    return -expm1(-changes) / changes if changes > 1e-12 else 1.0


@calculation(
    Input("S_per_h", "1/h", "what the source gives", least=0, most=1e12),
    Input("loss_rate_per_h", "1/h", "sum of all removal rates; 0 is a sealed room", least=0, most=500),
    Input("V_m3", "m3", "volume of the room", above=0, most=100_000),
    _MINUTES,
    Input("C0", "per m3", "concentration at the start", least=0, most=1e12),
    unit="per m3",
    formula="C_inf + (C0 - C_inf) exp(-n t), C_inf = S/(n V); C0 + S t/V when n is 0",
    source="single-zone model",
    evidence="K",
    cautions=(_WELL_MIXED,),
)
def concentration(*, S_per_h: float, loss_rate_per_h: float, V_m3: float, minutes: float, C0: float) -> float:
    """Concentration after a time with a steady source."""
    hours = minutes / 60
    changes = loss_rate_per_h * hours
    # the source's share written as S t/V times the mean decay, so that a rate of 0 needs no division by it
    return C0 * exp(-changes) + S_per_h * hours / V_m3 * mean_decay(changes)


@calculation(
    LOSS_RATE_PER_H,
    Input("procedure_minutes", "min", "how long the source ran, from clean air", above=0, most=1440),
    Input("target_percent_of_steady_state", "%", above=0, below=100),
    unit="min",
    formula="ln(C_end/C*) / n",
    source="single-zone model: build-up, then decay",
    evidence="K",
    cautions=(_EMPTY, _WELL_MIXED, N_("The table of clearance times is the cautious choice for display.")),
)
def post_procedure_wait_minutes_to_percent_of_steady_state(
    *, loss_rate_per_h: float, procedure_minutes: float, target_percent_of_steady_state: float
) -> Graded[float]:
    """Wait after a procedure until the air is down to a share of its steady level."""
    reached = -expm1(-loss_rate_per_h * procedure_minutes / 60)
    target = target_percent_of_steady_state / 100
    if reached <= target:
        return Graded(0.0, warnings=(N_("The procedure was too short to reach this level: no wait by this model."),))
    return Graded(log(reached / target) / loss_rate_per_h * 60)
