"""From a drug's published range to amounts and volumes for one patient: scaled, capped, rounded to the safe side.

It shows ranges and never chooses. Amounts and volumes are rounded down, never past a cap; the weight that was used
stands beside each with its name, so that a second person can repeat it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from app.base.checks import Missing, within
from app.bedside.body import scalar_weight_kg
from app.bedside.formulary import UNITS, DoseRange, Drug


@dataclass(frozen=True, slots=True)
class Weighed:
    """What doses are scaled to. Height [cm] and sex may be unknown: doses by actual weight [kg] still work."""

    weight_kg: float
    height_cm: float | None = None
    sex: str | None = None

    def scaled_kg(self, scalar: str) -> float:
        """The weight of a scalar [kg]. Raises Missing or OutOfRange naming what the scalar needs."""
        within("weight_kg", self.weight_kg, least=2, most=350, unit="kg")
        if scalar == "TBW":
            return self.weight_kg
        height = within("height_cm", self.height_cm, least=121, most=230, unit="cm")
        if self.sex not in ("M", "F"):
            raise Missing("sex is missing.", do=f"Give M or F: {scalar} depends on it.")
        return scalar_weight_kg(scalar, sex=self.sex, weight_kg=self.weight_kg, height_cm=height)


@dataclass(frozen=True, slots=True)
class Volume:
    """What to draw up of one strength: from `low_ml` to `high_ml` [mL], rounded down."""

    strength: float
    strength_unit: str
    low_ml: float
    high_ml: float


@dataclass(frozen=True, slots=True)
class Amount:
    """One use of a drug for one patient.

    low, high, usual  in `unit` (mg or micrograms), rounded down; usual None when the source names none
    weight_kg         the weight used, None for a fixed dose; `scalar` names it
    capped            whether the maximum of the source held the upper end back
    """

    use: str
    low: float
    high: float
    usual: float | None
    unit: str
    scalar: str | None
    weight_kg: float | None
    capped: bool
    evidence: str
    volumes: tuple[Volume, ...]


def rounded_down(value: float) -> float:
    """Towards the safe side, in steps that can be measured: 1 from 10 up, 0.1 from 1 up, 0.01 below.

    >>> rounded_down(157.8), rounded_down(8.4), rounded_down(0.129)
    (157.0, 8.4, 0.12)
    """
    steps = 1 if value >= 10 else 10 if value >= 1 else 100
    return floor(value * steps + 1e-9) / steps


def amounts(drug: Drug, patient: Weighed) -> tuple[Amount, ...]:
    """Every use of a drug for a patient. Raises Refused when a scalar cannot be worked out."""
    return tuple(amount_of(drug, dose, patient) for dose in drug.doses)


def amount_of(drug: Drug, dose: DoseRange, patient: Weighed) -> Amount:
    """One use of a drug for a patient, with the volume of each strength."""
    weight = patient.scaled_kg(dose.scalar) if dose.per_kg and dose.scalar else None
    most = float("inf") if dose.maximum is None else dose.maximum
    factor = 1.0 if weight is None else weight
    low, high = min(dose.low * factor, most), min(dose.high * factor, most)
    per_ml = UNITS[drug.strength_unit.split("/")[0]]
    return Amount(
        use=dose.use,
        low=rounded_down(low),
        high=rounded_down(high),
        usual=None if dose.usual is None else rounded_down(min(dose.usual * factor, most)),
        unit=dose.amount_unit,
        scalar=dose.scalar,
        weight_kg=weight,
        capped=dose.high * factor > most,
        evidence=dose.evidence,
        volumes=tuple(
            Volume(
                strength,
                drug.strength_unit,
                rounded_down(low * dose.in_mg / (strength * per_ml)),
                rounded_down(high * dose.in_mg / (strength * per_ml)),
            )
            for strength in drug.strengths
        ),
    )
