"""Oxygen for the way: what must be carried, what is on hand, how long it lasts."""

from __future__ import annotations

from dataclasses import replace

from app.base.calculation import Result, find
from app.base.checks import plain, within
from app.base.errors import NotValid
from app.base.messages import N_
from app.live.worksheet.fields import CYLINDERS, GAUGES, Given
from app.live.worksheet.figure import DOWN, Beside, Figure, attempt, down, number, rounded_up, up, words, worked

RESIDUAL_PSI = 200
LITRES_MOST = 20_000
_NEED = ("minutes", "safety_factor", "flow_l_min", "mv_l", "fio2", "drive_l_min")
_PER_MINUTE = {"minutes": 1, "safety_factor": 1}
_LASTS_FORMULA = N_("litres on hand / flow, without the reserve factor")


def journey(given: Given) -> tuple[Figure, ...]:
    """Litres to carry, litres of each cylinder and in all, and minutes that they last."""
    rows = tuple(figure for n in CYLINDERS if (figure := _cylinder(given, n)) is not None)
    litres = None
    if rows and all(row.value is not None for row in rows):
        litres = sum(float(row.value or 0) for row in rows)
    need = worked("need", N_("Oxygen to carry"), "transfer_oxygen_l", given.values(*_NEED), rounded_up(),
                  lambda result: _against(result, litres))  # fmt: skip
    return (need, *rows, _lasts(given, rows, litres))


def _against(result: Result, litres: float | None) -> Figure:
    if litres is None:
        return Figure("", "")
    over = litres - number(result)
    if over >= 0:
        return Figure("", "", beside=(Beside(N_("on hand beyond that"), down(over), "L"),))
    short = up(-over)
    return Figure("", "", beside=(Beside(N_("short by"), short, "L"),), warnings=(f"{short} L too little is on hand.",))


def _cylinder(given: Given, n: int) -> Figure | None:
    """The litres of one cylinder; None when nothing was typed for it."""
    gauge, size = (given.value(f"cylinder_{n}_{part}") for part in ("gauge", "size"))
    kind = given.text(f"cylinder_{n}_unit") or GAUGES[0][0]
    if not gauge and not size:
        return None
    key, label = f"cylinder-{n}", N_("In the first cylinder") if n == 1 else N_("In the second cylinder")
    if kind == "L":
        return _as_recorded(key, label, gauge)
    if kind == "psi":
        values = {"size": size, "psi": gauge, "residual_psi": RESIDUAL_PSI, "flow_l_min": 1}
        figure = worked(key, label, "cylinder_minutes_us", values, lambda result: (down(number(result)), DOWN))
        used = tuple(each for each in figure.inputs if each.label != words("flow_l_min"))
        return replace(figure, unit="L", inputs=used, formula=N_("(psi - left in the cylinder) x factor of the size"))
    values = {"water_l": size, "gauge_bar": gauge}
    return worked(key, label, "cylinder_litres_ideal", values, lambda result: (down(number(result)), DOWN))


def _as_recorded(key: str, label: str, litres: str) -> Figure:
    row = Figure(
        key, label, unit="L", formula=N_("as recorded, nothing worked out"), source=N_("the record of the case"),
        cautions=(N_("Look at the gauge: it may have been used since."),),
    )  # fmt: skip
    if not litres:
        return replace(row, lacks=(N_("litres"),))
    try:
        value = within("litres", float(litres), least=0, most=LITRES_MOST, unit="L")
    except ValueError:
        return replace(row, refused=f"{litres!r} is not a number of litres.")
    except NotValid as refused:
        return replace(row, refused=refused.what)
    return replace(row, value=down(value), rounded=DOWN, inputs=(Beside(N_("recorded"), plain(value), "L"),))


def _lasts(given: Given, rows: tuple[Figure, ...], litres: float | None) -> Figure:
    calculation = find("transfer_oxygen_l")
    about = Figure(
        "lasts", N_("All of it lasts"), unit="min", formula=_LASTS_FORMULA, source=calculation.source_marked,
        cautions=(*calculation.cautions, N_("Turn back at half of what is usable.")),
    )  # fmt: skip
    result = attempt(calculation, {**given.values(*_NEED[2:]), **_PER_MINUTE}, about)
    if isinstance(result, Figure) and result.refused:
        return result
    if litres is None:
        missing = N_("cylinders on hand") if not rows else N_("the figures of each cylinder")
        return replace(about, lacks=(missing,)) if not isinstance(result, Figure) else replace(
            result, lacks=(*result.lacks, missing))  # fmt: skip
    if isinstance(result, Figure):
        return result
    flow = number(result)
    if flow <= 0:
        return replace(about, refused=N_("With no flow nothing is used."))
    used = (Beside(N_("on hand"), plain(litres), "L"), Beside(words("flow_l_min"), plain(round(flow, 3)), "L/min"))
    return replace(about, value=down(litres / flow), rounded=DOWN, inputs=used)
