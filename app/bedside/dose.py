"""Doses by weight, their volumes, and the recovery from a relaxant that decides what may follow."""

from __future__ import annotations

import re

from app.base.calculation import Graded, calculation
from app.base.checks import NotUnderstood, OutOfRange, plain
from app.base.inputs import Input
from app.bedside.body import scalar_weight_kg
from app.bedside.formulary import SCALARS, shipped
from app.bedside.given import ADULT_HEIGHT_CM, CONC_MG_ML, DRUG, SEX, WEIGHT_KG
from app.bedside.slips import cap_mg, check_dose, check_strength, over_a_use

_MG_PER_KG = Input("mg_per_kg", "mg/kg", "dose per kg of the weight given", above=0, most=100)
_SIGN_OFF = "Check against the local label; the clinician chooses the dose."
NEOSTIGMINE_MAX_MG = 5.0


@calculation(
    DRUG,
    Input("dose_mg_per_kg", "mg/kg", above=0, most=100),
    Input("scalar", kind="word", choices=SCALARS, meaning="actual, ideal, lean or adjusted weight"),
    SEX,
    WEIGHT_KG,
    ADULT_HEIGHT_CM,
    unit="mg",
    formula="dose_mg_per_kg x the weight named by scalar",
    source="AAGBI/SOBA, Anaesthesia 2015;70:859 (scalars); Janmahasatian 2005 (LBW)",
    evidence="C",
    cautions=("In shock the dose is usually halved or more, whatever the scalar.", _SIGN_OFF),
)
def induction_dose_mg(
    *, drug: str, dose_mg_per_kg: float, scalar: str, sex: str, weight_kg: float, height_cm: float
) -> Graded[float]:
    """A dose by the weight scalar chosen."""
    warnings = check_dose(drug, dose_mg_per_kg, "dose_mg_per_kg")
    weight = scalar_weight_kg(scalar, sex=sex, weight_kg=weight_kg, height_cm=height_cm)
    return Graded(dose_mg_per_kg * weight, warnings=warnings, more={"weight_used_kg": weight})


_LABEL_TWO = ("moderate", "shallow", "second twitch", "t2")


def _block_mg_per_kg(block: str) -> tuple[float, tuple[str, ...]]:
    """Label step for a depth of block in words -> mg/kg, warnings."""
    text = block.lower()
    count = re.search(r"(?:tof|train.of.four)\D*(?:>=|≥|at least)?\s*(\d)", text)
    ptc = re.search(r"(?:ptc|post.tetanic)\D*?(\d+)", text)
    if "immediate" in text or "rescue" in text:
        return 16, ()
    if ptc and int(ptc[1]) == 0:
        raise NotUnderstood(f"block = {block!r}: at a post-tetanic count of 0 there is no routine dose.", do="Wait.")
    if ptc or "deep" in text:
        return 4, ()
    if any(word in text for word in _LABEL_TWO) or (count and int(count[1]) >= 2):
        return 2, ()
    if count and int(count[1]) == 1:
        return 4, ("Train-of-four count 1 lies between two label steps: the larger one is shown.",)
    raise NotUnderstood(f"block = {block!r} is not a depth of block.", do="Say TOF count >=2, PTC 1-2, or immediate.")


@calculation(
    WEIGHT_KG,
    Input("block", kind="text", meaning="TOF count >=2; PTC 1-2; or immediate, 3 min after rocuronium 1.2 mg/kg"),
    unit="mg",
    formula="2 mg/kg at TOF count >= 2; 4 mg/kg at PTC 1-2; 16 mg/kg immediate; x actual weight",
    source="sugammadex label",
    evidence="C",
    cautions=("Actual weight by the label; AAGBI/SOBA 2015 lists adjusted weight.", "Check the stock for 16 mg/kg."),
)
def sugammadex_dose_mg(*, weight_kg: float, block: str) -> Graded[float]:
    """Sugammadex by depth of block."""
    per_kg, warnings = _block_mg_per_kg(block)
    return Graded(per_kg * weight_kg, warnings=warnings, more={"mg_per_kg": per_kg})


@calculation(
    WEIGHT_KG,
    Input("mg_per_kg", "mg/kg", "label 0.03 to 0.07", least=0.01, most=0.07),
    unit="mg",
    formula="mg_per_kg x weight_kg, at most 5 mg",
    source="neostigmine US label",
    evidence="C",
    cautions=(
        "Only at minimal block; give an anticholinergic with it.",
        "AAGBI/SOBA 2015: adjusted weight in obesity.",
    ),
)
def neostigmine_dose_mg(*, weight_kg: float, mg_per_kg: float) -> Graded[float]:
    """Neostigmine, capped at 5 mg."""
    dose = mg_per_kg * weight_kg
    warnings = ["Capped at 5 mg."] if dose > NEOSTIGMINE_MAX_MG else []
    if mg_per_kg < 0.03:
        warnings.append("Below the label range of 0.03 to 0.07 mg/kg.")
    return Graded(min(dose, NEOSTIGMINE_MAX_MG), warnings=tuple(warnings))


@calculation(
    Input("neostigmine_mg", "mg", above=0, most=5),
    unit="mg",
    formula="0.2 mg per 1 mg neostigmine",
    source="label of the combined product",
    evidence="C",
    cautions=(_SIGN_OFF,),
)
def glycopyrrolate_with_neostigmine_mg(*, neostigmine_mg: float) -> float:
    """Glycopyrronium to go with neostigmine."""
    return 0.2 * neostigmine_mg


@calculation(
    DRUG,
    _MG_PER_KG,
    WEIGHT_KG,
    unit="mg",
    formula="mg_per_kg x weight_kg, capped where the label caps it",
    source="definition; range and cap from the formulary",
    evidence="K",
    cautions=("The weight is the one given: say which scalar it is.", _SIGN_OFF),
)
def dose_mg(*, drug: str, mg_per_kg: float, weight_kg: float) -> Graded[float]:
    """A dose by weight."""
    dose, warnings = _held(drug, mg_per_kg, weight_kg)
    return Graded(dose, warnings=warnings)


def _held(drug: str, mg_per_kg: float, weight_kg: float) -> tuple[float, tuple[str, ...]]:
    """A dose [mg], held to its cap where the drug has one for every use, and what must be said of it."""
    warnings = check_dose(drug, mg_per_kg)
    entry, dose = shipped().find(drug), mg_per_kg * weight_kg
    cap = cap_mg(entry)
    if cap is not None and dose > cap:
        return cap, (*warnings, f"Capped at {plain(cap)} mg.")
    return dose, (*warnings, *over_a_use(entry, mg_per_kg, dose))


@calculation(
    DRUG,
    _MG_PER_KG,
    WEIGHT_KG,
    CONC_MG_ML,
    unit="mL",
    formula="dose in mg / conc_mg_ml",
    source="definition; strengths, range and cap from the formulary",
    evidence="K",
    cautions=("Strengths differ by country: read the ampoule.", _SIGN_OFF),
)
def dose_volume_ml(*, drug: str, mg_per_kg: float, weight_kg: float, conc_mg_ml: float) -> Graded[float]:
    """Volume to draw up for a dose by weight."""
    dose, notes = _held(drug, mg_per_kg, weight_kg)
    warnings = (*notes, *check_strength(drug, conc_mg_ml))
    return Graded(dose / conc_mg_ml, warnings=tuple(dict.fromkeys(warnings)), more={"dose_mg": dose})


@calculation(
    DRUG,
    Input("bolus_mcg", "micrograms", "one bolus", above=0, most=100_000_000),
    unit="text",
    formula="bolus against the start range and the single maximum of the formulary",
    source="formulary: label or textbook of the drug",
    evidence="C",
    cautions=("Ready-to-use and concentrate have different limits: name the product.",),
)
def dose_limit_check(*, drug: str, bolus_mcg: float) -> Graded[str]:
    """Whether one bolus lies within the limits for its drug."""
    entry = shipped().find(drug)
    fixed = [dose for dose in entry.doses if not dose.per_kg and dose.maximum] if entry else []
    if entry is None or not fixed:
        raise NotUnderstood(f"drug = {drug!r} has no single-bolus limit in the formulary.", do="Check the label.")
    dose = fixed[0]
    low, high, most = (limit * dose.in_mg * 1000 for limit in (dose.low, dose.high, dose.maximum or dose.high))
    span = f"{plain(low)}-{plain(high)} start; single max {plain(most)}"
    if bolus_mcg > most:
        slip = bolus_mcg >= 100 * low
        note = ("Milligrams typed for micrograms?",) if slip else ()
        return Graded(f"reject: above single max {plain(most)} micrograms", "reject", note)
    if low <= bolus_mcg <= high:
        return Graded(f"within {span}", "within")
    side = "below" if bolus_mcg < low else "above"
    return Graded(f"within single max {plain(most)}, {side} {span}", "within", (f"{side.title()} the start range.",))


@calculation(
    Input("tof_ratio", "", "train-of-four ratio; none when it was not measured", optional=True, least=0, most=1.5),
    Input("quantitative", kind="flag", meaning="measured by a quantitative monitor at the thumb"),
    Input("tof_count", kind="whole", optional=True, least=0, most=4),
    Input("fade_seen", kind="flag", optional=True, meaning="fade seen or felt"),
    unit="class",
    formula="adequate: ratio >= 0.9, quantitative",
    source="ASA practice guidelines, Anesthesiology 2023;138:13; ESAIC 2022",
    evidence="C",
    cautions=("Acceleromyography that was not normalised needs 0.95 to 1.0.", "Fade is invisible above about 0.4."),
)
def tof_ratio_extubation_gate(
    *, tof_ratio: float | None, quantitative: bool, tof_count: int | None, fade_seen: bool | None
) -> Graded[str]:
    """Whether recovery from a relaxant is shown to be enough for extubation."""
    if quantitative and tof_ratio and tof_count is not None and tof_count < 4:
        note = f"A ratio needs four twitches, tof_count = {tof_count}: one of the two is wrong. Measure again."
        return Graded("not adequate", "not adequate", (note,))
    if quantitative and tof_ratio is not None:
        grade = "adequate" if tof_ratio >= 0.9 else "not adequate"
    elif (tof_count is not None and tof_count < 4) or fade_seen or (tof_ratio is not None and tof_ratio < 0.9):
        grade = "not adequate"
    else:
        grade = "cannot confirm"
    notes = ("Only a measured ratio confirms recovery.",) if grade == "cannot confirm" else ()
    return Graded(grade, grade, notes)


@calculation(
    Input("ptc", "", "post-tetanic count", kind="whole", optional=True, least=0, most=20),
    Input("tof_count", kind="whole", optional=True, least=0, most=4),
    Input("tof_ratio", optional=True, least=0, most=1.5),
    unit="mg/kg",
    formula="4 at PTC 1-2 or more without a twitch; 2 at TOF count >= 2",
    source="sugammadex label; ASA practice guidelines, Anesthesiology 2023;138:13",
    evidence="C",
    cautions=("After rocuronium or vecuronium only.", "Actual weight by the label."),
)
def sugammadex_mg_per_kg(*, ptc: int | None, tof_count: int | None, tof_ratio: float | None) -> Graded[float]:
    """Sugammadex step for a measured block."""
    if tof_ratio is not None and tof_ratio > 0 and tof_count is None:
        tof_count = 4
    if tof_count is not None and tof_count >= 2:
        recovered = tof_ratio is not None and tof_ratio >= 0.9
        return Graded(
            2.0, warnings=("The ratio is 0.9 or above already: reversal may not be needed.",) if recovered else ()
        )
    if tof_count == 1:
        return Graded(4.0, warnings=("Count 1 lies between two label steps: the larger one is shown.",))
    if ptc is None:
        raise NotUnderstood(
            "ptc is missing.", do="Without a twitch the post-tetanic count decides: a whole number from 1 to 20."
        )
    if ptc == 0:
        raise OutOfRange(
            "ptc = 0: there is no routine dose at a post-tetanic count of 0; it must be at least 1.", do="Wait."
        )
    return Graded(4.0)


@calculation(
    Input("tof_count", kind="whole", optional=True, least=0, most=4),
    Input("tof_ratio", kind="number", optional=True, least=0, most=1.5),
    unit="class",
    formula="reasonable alternative at minimal block: ratio 0.4 to below 0.9",
    source="ASA practice guidelines, Anesthesiology 2023;138:13",
    evidence="C",
    cautions=("At a deeper block neostigmine does not reverse: sugammadex, or wait.",),
)
def neostigmine_suitable(*, tof_count: int | None, tof_ratio: float | None) -> Graded[str]:
    """Whether neostigmine is a reasonable alternative for this depth of block."""
    if tof_count is None and tof_ratio is None:
        raise NotUnderstood("tof_count and tof_ratio are missing.", do="Give a count from 0 to 4, a ratio, or both.")
    if tof_count is not None and tof_count < 4:
        return Graded("no", "no")
    if tof_ratio is None:
        return Graded("no", "no", ("Four twitches without a measured ratio do not show a minimal block.",))
    grade = "reasonable alternative" if 0.4 <= tof_ratio < 0.9 else "no"
    recovered = ("The ratio is 0.9 or above already: no reversal is needed.",) if tof_ratio >= 0.9 else ()
    return Graded(grade, grade, recovered)
