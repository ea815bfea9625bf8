"""The ventilator's last settings with what follows from them, and how long the oxygen lasts, from the entries alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from app.base.calculation import find
from app.base.checks import plain
from app.base.messages import N_
from app.case.happening import Happening
from app.case.state import State
from app.case.vocabulary.airway import VentSet
from app.case.vocabulary.variants import O2Check, O2Swap
from app.live.now import CaseNow
from app.live.worksheet.figure import (
    DOWN,
    UP,
    Beside,
    Figure,
    attempt,
    down,
    number,
    rounded_down,
    rounded_up,
    up,
    worked,
)  # fmt: skip

_SETTINGS = (
    ("vt", N_("Tidal volume"), "mL"),
    ("rate", N_("Rate"), "/min"),
    ("peep", N_("PEEP"), "cmH2O"),
    ("plat", N_("Plateau"), "cmH2O"),
    ("ppeak", N_("Peak pressure"), "cmH2O"),
    ("fio2", N_("FiO2"), ""),
)
_SET_PEEP = N_("The PEEP that is set was taken: trapped gas was not measured, and would make it smaller than this.")
_PBW_TOLD = N_("as told when the case was opened")


@dataclass(frozen=True, slots=True)
class VentilatorView:
    """at: when the settings were recorded; oxygen_at: when the oxygen was looked at. None of it runs on."""

    case: str
    at: datetime | None
    settings: tuple[Beside, ...]
    figures: tuple[Figure, ...]
    oxygen_at: datetime | None
    oxygen: Figure | None

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> VentilatorView:
        case = cases[0]
        vent, oxygen = case.state.last("vent.set"), last_supply(case.state)
        body = vent.body if vent is not None and isinstance(vent.body, VentSet) else None
        return cls(
            case.id,
            vent.at if vent is not None and body is not None else None,
            () if body is None else tuple(_settings(body)),
            () if body is None else (
                _per_kg(case.state, body), _driving(body), _compliance(body), _minute_volume(body), _power(body)
            ),
            oxygen.at if oxygen is not None else None,
            None if oxygen is None else _lasts(case.state, oxygen),
        )  # fmt: skip


def _settings(body: VentSet) -> list[Beside]:
    found = ((label, getattr(body, name), unit) for name, label, unit in _SETTINGS)
    return [Beside(label, plain(value), unit) for label, value, unit in found if value is not None]


def _per_kg(state: State, body: VentSet) -> Figure:
    """Tidal volume per kg of predicted body weight: as told, otherwise from sex and height."""
    calculation = find("tidal_volume_ml")
    row = Figure(
        "vt-per-kg", N_("Tidal volume per kg predicted body weight"), unit="mL/kg",
        formula=N_("tidal volume / predicted body weight"), source=calculation.source_marked,
        cautions=(N_("Start at 8, reach 6 mL/kg within hours; floor 4, ceiling 8."), N_("Adults only.")),
    )  # fmt: skip
    if body.vt is None:
        return replace(row, lacks=(N_("Tidal volume"),))
    used: tuple[Beside, ...]
    if state.setup.pbw_kg is not None and state.setup.pbw_kg > 0:
        weight = state.setup.pbw_kg
        used = (Beside(N_("Predicted body weight"), plain(weight), "kg"), Beside(_PBW_TOLD, ""))
    else:
        known = {"sex": str(state.setup.sex or "").upper()[:1], "height_cm": state.setup.height_cm}
        result = attempt(find("pbw_kg"), known, row)
        if isinstance(result, Figure):
            return result
        weight, used = number(result), (Beside(N_("Predicted body weight"), down(number(result), 1), "kg"),)
    size = body.vt / weight
    outside = not 4 <= size <= 8
    warnings = (N_("Outside the protective range of 4 to 8 mL/kg."),) if outside else ()
    inputs = (Beside(N_("Tidal volume"), plain(body.vt), "mL"), *used)
    return replace(row, value=up(size, 1), rounded=UP, inputs=inputs, warnings=warnings)


def _driving(body: VentSet) -> Figure:
    values = {"plateau": body.plat, "total_peep": body.peep}
    row = worked("driving", N_("Driving pressure"), "driving_pressure_cmh2o", values, rounded_up(1))
    return replace(row, cautions=(_SET_PEEP, *row.cautions))


def _compliance(body: VentSet) -> Figure:
    values = {"vt_ml": body.vt, "plateau": body.plat, "total_peep": body.peep}
    row = worked("compliance", N_("Compliance"), "static_compliance_ml_per_cmh2o", values, rounded_down())
    return replace(row, cautions=(_SET_PEEP, *row.cautions))


def _minute_volume(body: VentSet) -> Figure:
    values = {"vt_ml": body.vt, "rr": body.rate}
    return worked("minute-volume", N_("Minute volume"), "minute_ventilation_l", values, rounded_down(1))


def _power(body: VentSet) -> Figure:
    """Mechanical power by the simplified equation; without the peak pressure it stays without a value and says so."""
    driving = None if body.plat is None or body.peep is None else body.plat - body.peep
    values = {"rr": body.rate, "vt_l": None if body.vt is None else body.vt / 1000, "ppeak": body.ppeak,
              "driving_pressure": driving}  # fmt: skip
    return worked("power", N_("Mechanical power"), "mechanical_power_simplified_j_min", values, rounded_up(1))


def last_supply(state: State) -> Happening | None:
    """The last time that somebody said how many litres are on hand."""
    said = [
        h for kind in ("o2.check", "o2.swap") for h in state.all(kind)
        if isinstance(h.body, O2Check | O2Swap) and h.body.litres is not None
    ]  # fmt: skip
    return max(said, key=lambda h: h.order, default=None)


def _lasts(state: State, supply: Happening) -> Figure:
    assert isinstance(supply.body, O2Check | O2Swap)
    litres = supply.body.litres
    row = Figure(
        "oxygen-left", N_("Oxygen lasts, counted from then"), unit="min", formula=N_("litres on hand / flow"),
        source=find("transfer_oxygen_l").source_marked,
        cautions=(N_("No reserve is kept. Turn back at half of what is usable."),
                  N_("Measured consumption of the device decides: transport ventilators differ several-fold.")),
    )  # fmt: skip
    flow, where = _flow(state, supply)
    if litres is None or flow is None or flow <= 0:
        return replace(row, lacks=(N_("Oxygen flow"),))
    used = (
        Beside(N_("on hand"), plain(litres), "L"),
        Beside(N_("Oxygen flow"), plain(flow), "L/min"),
        Beside(where, ""),
    )
    togo = getattr(supply.body, "togo", None)
    beside = () if togo is None else (Beside(N_("minutes to go, as told"), plain(togo), "min"),)
    short = togo is not None and litres / flow < togo
    warnings = (N_("Shorter than the minutes to go."),) if short else ()
    return replace(row, value=down(litres / flow), rounded=DOWN, inputs=used, beside=beside, warnings=warnings)


def _flow(state: State, supply: Happening) -> tuple[float | None, str]:
    """The flow last told as a figure, otherwise what the call planned for [L/min]: as the rules reckon."""
    said = [h for kind in ("o2.check", "o2.swap") for h in state.all(kind)]
    for h in sorted(said, key=lambda one: one.order, reverse=True):
        flow = h.body.flow if isinstance(h.body, O2Check | O2Swap) else None
        if isinstance(flow, int | float) and flow > 0:
            return float(flow), N_("flow told with it") if h.id == supply.id else N_("flow told at another time")
    return state.setup.o2_lpm, N_("flow as planned when the case was opened")
