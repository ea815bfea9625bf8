"""Catching the commonest serious drug slip: a number right in digits and wrong by a hundred or a thousand.

Bounds come from the formulary. A drug that is not on it is computed all the same, and the result says that nothing
was checked.
"""

from __future__ import annotations

from app.base.checks import OutOfRange, plain
from app.bedside.formulary import UNITS, Drug, shipped

FAR = 20.0
"""This many times outside the published range is read as a slip, not as a choice."""


def not_listed(drug: str) -> tuple[str, ...]:
    """The warning for a drug that the formulary does not hold."""
    return () if shipped().find(drug) else (f"{drug} is not in the formulary: range and maximum were not checked.",)


def check_dose(drug: str, mg_per_kg: float, name: str = "mg_per_kg") -> tuple[str, ...]:
    """Warnings for a dose per kg; `name` is its input.

    Raises OutOfRange when it is far outside every published range.
    """
    entry = shipped().find(drug)
    bounds = entry.bounds(per_kg=True) if entry else None
    if entry is None or bounds is None:
        return not_listed(drug)
    low, high = bounds
    if not low / FAR <= mg_per_kg <= high * FAR:
        raise OutOfRange(
            f"{name} = {plain(mg_per_kg)} mg/kg of {entry.name} is far from its range of {plain(low)} to "
            f"{plain(high)} mg/kg.",
            do="Were milligrams and micrograms mixed up?",
        )
    if not low <= mg_per_kg <= high:
        return (f"Outside the published range for {entry.name}: {plain(low)} to {plain(high)} mg/kg.",)
    return ()


def check_strength(drug: str, conc_mg_ml: float, name: str = "conc_mg_ml") -> tuple[str, ...]:
    """Warnings for a concentration; `name` is its input.

    Raises OutOfRange when it is off by about a hundred or more.
    """
    entry = shipped().find(drug)
    if entry is None:
        return not_listed(drug)
    known = entry.strengths_mg_ml
    allowed = f"{', '.join(plain(each) for each in entry.strengths)} {entry.strength_unit}"
    if not min(known) / FAR <= conc_mg_ml <= max(known) * FAR:
        raise OutOfRange(
            f"{name}: {plain(conc_mg_ml)} mg/mL is far from the known strengths of {entry.name}: {allowed}.",
            do="Were milligrams and micrograms mixed up?",
        )
    if not any(abs(conc_mg_ml - each) < 1e-9 for each in known):
        return (f"Not a listed strength of {entry.name} ({allowed}): check the ampoule.",)
    return ()


def check_rate(drug: str, per_kg_min_mg: float, name: str = "mcg_kg_min") -> tuple[str, ...]:
    """Warnings for an infusion in mg/kg/min; `name` is its input.

    Raises OutOfRange when it is far outside the published range.
    """
    entry = shipped().find(drug)
    if entry is None or entry.infusion is None:
        return () if entry else not_listed(drug)
    hours = 60.0 if entry.infusion.unit.endswith("/h") else 1.0
    low, high = (limit * entry.infusion.in_mg / hours for limit in (entry.infusion.low, entry.infusion.high))
    words = f"{plain(entry.infusion.low)} to {plain(entry.infusion.high)} {entry.infusion.unit}"
    if not low / FAR <= per_kg_min_mg <= high * FAR:
        raise OutOfRange(
            f"{name}: this rate of {entry.name} is far from its range of {words}.",
            do="Were milligrams and micrograms mixed up?",
        )
    return () if low * 0.999 <= per_kg_min_mg <= high * 1.001 else (f"Outside the published range: {words}.",)


def cap_mg(entry: Drug | None) -> float | None:
    """The most in one dose that holds for every use of a drug by weight, or None [mg]."""
    if entry is None:
        return None
    limits = [dose.maximum * UNITS[dose.amount_unit] for dose in entry.doses if dose.per_kg and dose.maximum]
    scaled = [dose for dose in entry.doses if dose.per_kg]
    return max(limits) if limits and len(limits) == len(scaled) else None


def over_a_use(entry: Drug | None, mg_per_kg: float, mg: float) -> tuple[str, ...]:
    """Warnings for a dose that is more than one of the drug's uses allows, when it may be meant for that use."""
    return tuple(
        f"{dose.use}: at most {plain(dose.maximum * dose.in_mg)} mg."
        for dose in (entry.doses if entry else ())
        if dose.per_kg and dose.maximum and mg > dose.maximum * dose.in_mg
        and dose.low * dose.in_mg * 0.999 <= mg_per_kg <= dose.high * dose.in_mg * 1.001
    )  # fmt: skip
