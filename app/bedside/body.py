"""Body size and weight scalars for adults."""

from __future__ import annotations

from math import sqrt

from app.base.calculation import Graded, calculation
from app.base.inputs import Input
from app.base.messages import N_
from app.bedside.given import ADULT_HEIGHT_CM, HEIGHT_CM, SEX, WEIGHT_KG

_MEASURED = "Height and weight measured, not guessed."
_ADULTS = N_("Adults only: under about 16 years use a paediatric method.")


def _devine_kg(sex: str, height_cm: float) -> float:
    return (50.0 if sex == "M" else 45.5) + 0.91 * (height_cm - 152.4)


def _lean_kg(sex: str, weight_kg: float, height_cm: float) -> float:
    bmi = weight_kg / (height_cm / 100) ** 2
    return 9270 * weight_kg / ((6680 + 216 * bmi) if sex == "M" else (8780 + 244 * bmi))


def _adjusted_kg(sex: str, weight_kg: float, height_cm: float, factor: float) -> float:
    ideal = _devine_kg(sex, height_cm)
    return weight_kg if weight_kg < ideal else ideal + factor * (weight_kg - ideal)


@calculation(
    SEX,
    ADULT_HEIGHT_CM,
    unit="kg",
    formula="50 (men) or 45.5 (women) + 0.91 x (height_cm - 152.4)",
    source="ARDS Network, N Engl J Med 2000;342:1301",
    evidence="C",
    cautions=(N_("Depends on height and sex only: weight never changes it."), _ADULTS),
)
def pbw_kg(*, sex: str, height_cm: float) -> float:
    """Predicted body weight, the scale for tidal volumes."""
    return _devine_kg(sex, height_cm)


@calculation(
    SEX,
    ADULT_HEIGHT_CM,
    Input("ml_per_kg_pbw", "mL/kg", "per kg of predicted body weight", above=0, most=15),
    unit="mL",
    formula="ml_per_kg_pbw x predicted body weight",
    source="ARDS Network, N Engl J Med 2000;342:1301",
    evidence="C",
    cautions=(N_("Start at 8, reach 6 mL/kg within hours; floor 4, ceiling 8."), N_("Shown rounded down."), _ADULTS),
)
def tidal_volume_ml(*, sex: str, height_cm: float, ml_per_kg_pbw: float) -> Graded[float]:
    """Tidal volume for a size in mL per kg of predicted body weight."""
    outside = not 4 <= ml_per_kg_pbw <= 8
    warnings = (f"{ml_per_kg_pbw:g} mL/kg lies outside the protective range of 4 to 8 mL/kg.",) if outside else ()
    return Graded(ml_per_kg_pbw * _devine_kg(sex, height_cm), warnings=warnings)


@calculation(
    SEX,
    WEIGHT_KG,
    ADULT_HEIGHT_CM,
    unit="kg",
    formula="men 9270 w / (6680 + 216 BMI); women 9270 w / (8780 + 244 BMI)",
    source="Janmahasatian et al., Clin Pharmacokinet 2005;44:1051",
    evidence="S",
    cautions=(N_("Seldom above about 100 kg in men or 70 kg in women."), _ADULTS),
)
def lean_body_weight_kg(*, sex: str, weight_kg: float, height_cm: float) -> float:
    """Lean body weight, a dose scalar."""
    return _lean_kg(sex, weight_kg, height_cm)


@calculation(
    SEX,
    WEIGHT_KG,
    ADULT_HEIGHT_CM,
    Input("factor", "", "share of the excess weight that counts, usually 0.4", least=0, most=1),
    unit="kg",
    formula="IBW + factor x (w - IBW); actual weight when it is below IBW",
    source="AAGBI/SOBA, Anaesthesia 2015;70:859; IBW by Devine",
    evidence="C",
    cautions=(_ADULTS,),
)
def adjusted_body_weight_kg(*, sex: str, weight_kg: float, height_cm: float, factor: float) -> Graded[float]:
    """Adjusted body weight, a dose scalar."""
    thin = weight_kg < _devine_kg(sex, height_cm)
    warnings = (N_("Lighter than the ideal weight: the actual weight is used."),) if thin else ()
    return Graded(_adjusted_kg(sex, weight_kg, height_cm, factor), warnings=warnings)


@calculation(
    WEIGHT_KG,
    HEIGHT_CM,
    unit="m2",
    formula="sqrt(height_cm x weight_kg / 3600)",
    source="Mosteller, N Engl J Med 1987;317:1098",
    evidence="M",
    cautions=(_MEASURED,),
)
def bsa_mosteller_m2(*, weight_kg: float, height_cm: float) -> float:
    """Body surface area."""
    return sqrt(height_cm * weight_kg / 3600)


@calculation(
    WEIGHT_KG,
    HEIGHT_CM,
    unit="kg/m2",
    formula="weight_kg / (height_cm / 100)^2",
    source="definition",
    evidence="K",
    cautions=(_MEASURED,),
)
def bmi_kg_m2(*, weight_kg: float, height_cm: float) -> Graded[float]:
    """Body mass index."""
    bmi = weight_kg / (height_cm / 100) ** 2
    odd = not 8 <= bmi <= 100
    return Graded(bmi, warnings=(N_("Hardly possible in a living patient: check weight and height."),) if odd else ())


def scalar_weight_kg(scalar: str, *, sex: str, weight_kg: float, height_cm: float) -> float:
    """The weight that a dose is scaled to: TBW actual, IBW ideal, LBW lean, ABW adjusted (factor 0.4) [kg]."""
    return {
        "TBW": lambda: weight_kg,
        "IBW": lambda: _devine_kg(sex, height_cm),
        "LBW": lambda: _lean_kg(sex, weight_kg, height_cm),
        "ABW": lambda: _adjusted_kg(sex, weight_kg, height_cm, 0.4),
    }[scalar]()
