"""Infusion rates. Amounts are micrograms or mg, spelled out; a result that no pump should run is refused."""

from __future__ import annotations

from app.base.calculation import Graded, calculation
from app.base.checks import Missing, NotUnderstood, OutOfRange, plain
from app.base.inputs import Input
from app.bedside.given import CONC_MCG_ML, CONC_MG_ML, DRUG, WEIGHT_KG
from app.bedside.slips import check_rate, check_strength

_MCG_KG_MIN = Input("mcg_kg_min", "micrograms/kg/min", "dose rate", above=0, most=1000)
_FORMULA = "micrograms/kg/min x kg x 60 / (micrograms/mL)"
_SLIP = "A thousand-fold slip (mg for micrograms) is the commonest serious infusion error: have it checked by two."


def _optional(given: Input) -> Input:
    return Input(given.name, given.unit, given.meaning, optional=True, above=given.above, most=given.most)


@calculation(
    DRUG,
    _MCG_KG_MIN,
    CONC_MCG_ML,
    unit="mL/kg/h",
    formula="micrograms/kg/min x 60 / (micrograms/mL)",
    source="remifentanil label, infusion-rate table",
    evidence="M",
    cautions=(_SLIP,),
)
def infusion_ml_per_kg_h(*, drug: str, mcg_kg_min: float, conc_mcg_ml: float) -> Graded[float]:
    """Pump rate per kg."""
    warnings = (*check_rate(drug, mcg_kg_min / 1000), *check_strength(drug, conc_mcg_ml / 1000, "conc_mcg_ml"))
    return Graded(mcg_kg_min * 60 / conc_mcg_ml, warnings=tuple(dict.fromkeys(warnings)))


@calculation(
    DRUG,
    _optional(_MCG_KG_MIN),
    WEIGHT_KG,
    _optional(CONC_MCG_ML),
    Input("mg_kg_h", "mg/kg/h", "dose rate, instead of mcg_kg_min", optional=True, above=0, most=100),
    _optional(CONC_MG_ML),
    unit="mL/h",
    formula=f"{_FORMULA}; or mg/kg/h x kg / (mg/mL)",
    source="unit conversion",
    evidence="K",
    cautions=(_SLIP, "Say which weight it is: ideal and actual are both in use."),
)
def infusion_ml_h(
    *,
    drug: str,
    mcg_kg_min: float | None,
    weight_kg: float,
    conc_mcg_ml: float | None,
    mg_kg_h: float | None,
    conc_mg_ml: float | None,
) -> Graded[float]:
    """Pump rate for a dose rate by weight."""
    if mcg_kg_min is not None and mg_kg_h is not None:
        raise NotUnderstood("Two dose rates were given.", do="Give mcg_kg_min or mg_kg_h, not both.")
    if conc_mcg_ml is not None and conc_mg_ml is not None:
        raise NotUnderstood("Two concentrations were given.", do="Give conc_mcg_ml or conc_mg_ml, not both.")
    if mcg_kg_min is not None:
        mg_kg_min = mcg_kg_min / 1000
    elif mg_kg_h is not None:
        mg_kg_min = mg_kg_h / 60
    else:
        raise Missing(
            "mcg_kg_min is missing.",
            do="Give it in micrograms/kg/min, above 0 and at most 1000, or mg_kg_h in mg/kg/h, at most 100.",
        )
    if conc_mcg_ml is not None:
        mg_ml = conc_mcg_ml / 1000
    elif conc_mg_ml is not None:
        mg_ml = conc_mg_ml
    else:
        raise Missing(
            "conc_mcg_ml is missing.",
            do="Give it in micrograms/mL, above 0 and at most 100,000, or conc_mg_ml in mg/mL, at most 1000.",
        )
    dose_name = "mcg_kg_min" if mcg_kg_min is not None else "mg_kg_h"
    strength_name = "conc_mcg_ml" if conc_mcg_ml is not None else "conc_mg_ml"
    warnings = (*check_rate(drug, mg_kg_min, dose_name), *check_strength(drug, mg_ml, strength_name))
    rate = mg_kg_min * 60 * weight_kg / mg_ml
    if not 0.1 <= round(rate, 9) <= 200:
        raise OutOfRange(
            f"{dose_name}, weight_kg and {strength_name} ask for a pump rate of {plain(rate)} mL/h; it must be from "
            "0.1 to 200 mL/h.",
            do="Stop and check dose, unit and concentration.",
        )
    return Graded(rate, warnings=tuple(dict.fromkeys(warnings)))


@calculation(
    Input("ml_h", "mL/h", "pump rate", least=0.1, most=200),
    CONC_MCG_ML,
    WEIGHT_KG,
    unit="mcg/kg/min",
    formula="mL/h x (micrograms/mL) / 60 / kg",
    source="inverse of the rate formula",
    evidence="K",
    cautions=("mcg stands for micrograms.", _SLIP),
)
def infusion_mcg_kg_min(*, ml_h: float, conc_mcg_ml: float, weight_kg: float) -> float:
    """Dose rate that a pump rate gives."""
    return ml_h * conc_mcg_ml / 60 / weight_kg
