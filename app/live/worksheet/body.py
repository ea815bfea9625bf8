"""Predicted body weight, tidal volumes, and the step of the PEEP table that the patient is on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from app.base.calculation import Result, find
from app.base.checks import Refused, plain, within
from app.base.messages import N_, Filled
from app.bedside.body import tidal_volume_ml
from app.bedside.ventilation import PEEP_TABLES
from app.live.worksheet.fields import Given
from app.live.worksheet.figure import DOWN, Beside, Figure, attempt, down, inputs_of, rounded_down, worked

ML_PER_KG = (8, 7, 6, 5, 4)
STARTING_ML_PER_KG = 8
PBW_LEAST, PBW_MOST = 16.0, 121.0
"""What the formula gives between 121 and 230 cm, rounded outwards [kg]."""
_NO_CHILD = N_("The formula is for adults: a child's tidal volume is not worked out here.")


def patient(given: Given) -> tuple[Figure, ...]:
    """Predicted body weight, for both sexes when sex is unknown; as told when only that is known."""
    if _only_told(given):
        return (_adults_only(given, _told(given)),)
    figures = for_each_sex(
        given,
        lambda sex: worked(
            "pbw", N_("Predicted body weight"), "pbw_kg", {"sex": sex, **given.values("height_cm")}, rounded_down(1)
        ),
    )
    return tuple(_adults_only(given, figure) for figure in figures)


def _only_told(given: Given) -> bool:
    return bool(given.text("pbw_kg")) and not given.text("height_cm")


def _told(given: Given) -> Figure:
    row = Figure(
        "pbw", N_("Predicted body weight"), unit="kg", formula=N_("as told, nothing worked out"),
        source=N_("whoever told it"), cautions=(N_("Sex and measured height give it anew: check it against them."),),
    )  # fmt: skip
    try:
        told = within(
            N_("Predicted weight, if told"), given.number("pbw_kg"), least=PBW_LEAST, most=PBW_MOST, unit="kg"
        )
    except Refused as refused:
        return replace(row, refused=refused.what)
    return replace(row, value=down(told, 1), rounded=DOWN, inputs=(Beside(N_("told"), plain(told), "kg"),))


def _tidal_from_told(given: Given) -> Figure:
    calculation, weight = find("tidal_volume_ml"), _told(given)
    row = Figure(
        "tidal", N_("Tidal volume to start with"), unit="mL", source=calculation.source_marked,
        formula=N_("mL per kg x predicted body weight as told"), cautions=calculation.cautions,
    )  # fmt: skip
    if weight.value is None:
        return replace(row, refused=weight.refused)
    volumes = tuple(Beside(f"{each} mL/kg", down(each * float(weight.value)), "mL") for each in ML_PER_KG)
    inputs = (Beside(N_("Predicted body weight"), weight.value, "kg"),)
    return replace(row, value=volumes[0].value, rounded=DOWN, beside=volumes, inputs=inputs)


def breath(given: Given) -> tuple[Figure, ...]:
    """Tidal volumes from 4 to 8 mL/kg, and the combinations of FiO2 and PEEP."""
    rows = (_tidal_from_told(given),) if _only_told(given) else for_each_sex(given, lambda sex: _tidal(given, sex))
    volumes = tuple(_adults_only(given, figure) for figure in rows)
    return (*volumes, _peep(given), _step(given, "up"), _step(given, "down"))


def for_each_sex(given: Given, row: Callable[[str], Figure]) -> tuple[Figure, ...]:
    """One row for the sex that was given; without one, both rows if nothing else is missing."""
    if given.text("sex"):
        return (row(given.value("sex")),)
    both = tuple(
        replace(figure, key=f"{figure.key}-{sex}", whose=whose)
        for sex, whose in (("F", N_("if female")), ("M", N_("if male")))
        for figure in (row(sex),)
    )
    return both if all(figure.value is not None for figure in both) else (row(""),)


def _adults_only(given: Given, figure: Figure) -> Figure:
    if given.child:
        return replace(figure, value=None, beside=(), inputs=(), warnings=(), lacks=(), refused=_NO_CHILD)
    return figure


def _tidal(given: Given, sex: str) -> Figure:
    size = given.values("height_cm")

    def others(result: Result) -> Figure:
        height = result.inputs["height_cm"]
        assert isinstance(height, float)
        volumes = tuple(
            Beside(f"{each} mL/kg", down(tidal_volume_ml(sex=sex, height_cm=height, ml_per_kg_pbw=each).value), "mL")
            for each in ML_PER_KG
        )
        return Figure("", "", beside=volumes)

    return worked(
        "tidal", N_("Tidal volume to start with"), "tidal_volume_ml",
        {"sex": sex, **size, "ml_per_kg_pbw": STARTING_ML_PER_KG}, rounded_down(), others,
    )  # fmt: skip


def _peep(given: Given) -> Figure:
    """Every PEEP that the table allows with this FiO2; between two columns the next one up counts."""
    calculation = find("peep_fio2_next_step")
    about = Figure(
        "peep", N_("PEEP that goes with this FiO2"), unit="cmH2O", source=calculation.source_marked,
        formula=N_("allowed combinations of the table, no interpolation"), cautions=calculation.cautions,
    )  # fmt: skip
    lowest = {"current_peep": 5, "direction": "up"}
    checked = attempt(calculation, {**given.values("table", "current_fio2"), **lowest}, about)
    if isinstance(checked, Figure) and checked.lacks:
        return checked
    table, fio2 = given.value("table"), given.number("current_fio2")
    if table not in PEEP_TABLES or fio2 is None or not 0.21 <= fio2 <= 1:
        return checked if isinstance(checked, Figure) else about
    columns = PEEP_TABLES[table]
    fits = [column for column in columns if column[0] <= fio2 <= column[1]]
    if not fits:
        next_up = min(column[0] for column in columns if column[0] > fio2)
        fits = [column for column in columns if column[0] == next_up]
    spans = dict.fromkeys(plain(low) if low == high else f"{low}–{high}" for _, _, low, high in fits)
    used = (Beside(N_("FiO2"), plain(fio2)), Beside(N_("PEEP table"), table))
    between = (
        ()
        if fits[0][0] <= fio2
        else (Filled(N_("Between two columns: the one for FiO2 {fio2} counts."), fio2=plain(fits[0][0])),)
    )
    return replace(about, value=" / ".join(spans), inputs=used, warnings=between, rounded=N_("as the table says"))


def _step(given: Given, direction: str) -> Figure:
    calculation = find("peep_fio2_next_step")
    label = N_("Next step, more support") if direction == "up" else N_("Next step, less support")
    about = Figure(
        f"step-{direction}", label, formula=calculation.formula, source=calculation.source_marked,
        cautions=calculation.cautions,
    )  # fmt: skip
    given_now = {**given.values("table", "current_fio2", "current_peep"), "direction": direction}
    result = attempt(calculation, given_now, about)
    if isinstance(result, Figure):
        return result
    fio2, _, peep = str(result.value).partition("/")
    return replace(
        about, value=peep, unit="cmH2O", rounded=N_("as the table says"), beside=(Beside(N_("with FiO2"), fio2),),
        inputs=inputs_of(calculation, result), warnings=result.warnings,
    )  # fmt: skip
