"""The department's drug list: read from text, checked, and asked for doses.

The file is data that a pharmacy owns and signs; this module reads it and refuses what could hurt: an unknown field,
a range upside down, a strength without a unit, a label class that the standard does not know.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from app.base.calculation import EVIDENCE
from app.base.errors import NotValid
from app.bedside.labels import COLOURS

UNITS: Mapping[str, float] = {"mg": 1.0, "micrograms": 0.001}
"""Unit of an amount -> mg in one. A bare "m" prefix is never accepted."""
SCALARS = ("TBW", "IBW", "LBW", "ABW")
_DRUG_KEYS = frozenset(
    (
        "name",
        "also",
        "label",
        "strengths",
        "strength_unit",
        "onset",
        "source",
        "evidence",
        "cautions",
        "doses",
        "infusion",
    )
)
_DOSE_KEYS = frozenset(("use", "low", "high", "usual", "unit", "scalar", "max", "evidence"))


@dataclass(frozen=True, slots=True)
class DoseRange:
    """One use of a drug.

    low, high, usual  in `unit`: mg or micrograms, alone (per dose) or with /kg
    maximum           most in one dose, in the unit of the amount; None when the source gives none
    scalar            the weight it is scaled to, None for a fixed dose
    """

    use: str
    low: float
    high: float
    unit: str
    scalar: str | None
    usual: float | None
    maximum: float | None
    evidence: str

    @property
    def amount_unit(self) -> str:
        """mg or micrograms."""
        return self.unit.split("/")[0]

    @property
    def per_kg(self) -> bool:
        """Whether it is scaled to a weight."""
        return "/kg" in self.unit

    @property
    def in_mg(self) -> float:
        """mg in one of its amount units."""
        return UNITS[self.amount_unit]


@dataclass(frozen=True, slots=True)
class Drug:
    """One drug of the list. `strengths` are in `strength_unit` (mg/mL or micrograms/mL)."""

    name: str
    also: tuple[str, ...]
    label: str
    strengths: tuple[float, ...]
    strength_unit: str
    onset: str
    source: str
    evidence: str
    cautions: tuple[str, ...]
    doses: tuple[DoseRange, ...]
    infusion: DoseRange | None

    @property
    def colour(self) -> str:
        """Label colour of its class."""
        return COLOURS[self.label]

    @property
    def strengths_mg_ml(self) -> tuple[float, ...]:
        """Strengths in mg/mL."""
        return tuple(each * UNITS[self.strength_unit.split("/")[0]] for each in self.strengths)

    def bounds(self, *, per_kg: bool) -> tuple[float, float] | None:
        """Smallest and largest dose over its uses, in mg/kg or mg; None when it has no such use."""
        fits = [dose for dose in self.doses if dose.per_kg is per_kg]
        if not fits:
            return None
        return min(dose.low * dose.in_mg for dose in fits), max(dose.high * dose.in_mg for dose in fits)


@dataclass(frozen=True, slots=True)
class Formulary:
    """A version of the list, and who answers for it."""

    version: str
    signed_by: str
    drugs: tuple[Drug, ...]

    def find(self, text: str) -> Drug | None:
        """The drug that a text names: the longest of its names whose words all stand in the text."""
        words = set(_words(text))
        named = [
            (len(name), drug)
            for drug in self.drugs
            for name in (drug.name, *drug.also)
            if words.issuperset(_words(name))
        ]
        return max(named, key=lambda pair: pair[0])[1] if named else None


def read_formulary(text: str) -> Formulary:
    """A formulary from the text of its file.

    Raises NotValid with a sentence that names the drug and the field.
    """
    import yaml  # here, so that a calculation without drugs starts at once

    try:
        data = yaml.safe_load(text)
    except yaml.YAMLError as error:
        raise NotValid(f"The formulary is not readable as YAML: {str(error).splitlines()[0]}.") from None
    if not isinstance(data, dict) or data.get("format") != 1 or not isinstance(data.get("drugs"), list):
        raise NotValid("The formulary must have format: 1, version, signed_by and a list of drugs.")
    drugs = tuple(_drug(each) for each in data["drugs"])
    names = [name for drug in drugs for name in (drug.name, *drug.also)]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise NotValid(f"The formulary names {', '.join(twice)} more than once.")
    return Formulary(str(data.get("version") or ""), str(data.get("signed_by") or "nobody"), drugs)


@lru_cache(maxsize=1)
def shipped() -> Formulary:
    """The list that the product ships, "to be signed by your pharmacy"."""
    from importlib.resources import files

    return read_formulary(files("app.bedside").joinpath("data/formulary.yaml").read_text("utf-8"))


def _drug(data: Any) -> Drug:
    name = str(data.get("name") or "") if isinstance(data, dict) else ""
    if not name:
        raise NotValid("Every drug of the formulary needs a name.")
    _only(name, data, _DRUG_KEYS)
    _known(name, "label", data.get("label"), COLOURS)
    _known(name, "evidence", data.get("evidence"), EVIDENCE)
    _known(name, "strength_unit", data.get("strength_unit"), [f"{unit}/mL" for unit in UNITS])
    strengths = data.get("strengths")
    if not isinstance(strengths, list) or not strengths or not all(_positive(each) for each in strengths):
        raise NotValid(f"{name}: strengths must be a list of numbers above 0 in {data['strength_unit']}.")
    doses = tuple(_dose(name, each, data["evidence"]) for each in data.get("doses") or ())
    if not doses:
        raise NotValid(f"{name}: at least one dose range is needed.")
    infusion = data.get("infusion")
    return Drug(
        name=name,
        also=tuple(str(each) for each in data.get("also") or ()),
        label=data["label"],
        strengths=tuple(float(each) for each in strengths),
        strength_unit=data["strength_unit"],
        onset=str(data.get("onset") or ""),
        source=str(data.get("source") or ""),
        evidence=data["evidence"],
        cautions=tuple(str(each) for each in data.get("cautions") or ()),
        doses=doses,
        infusion=_dose(name, {"use": "infusion", **infusion}, data["evidence"]) if infusion else None,
    )


def _dose(name: str, data: Any, evidence: str) -> DoseRange:
    if not isinstance(data, dict) or not data.get("use"):
        raise NotValid(f"{name}: every dose needs a use.")
    where = f"{name}, {data['use']}"
    _only(where, data, _DOSE_KEYS)
    endings = ("", "/kg", "/kg/min", "/kg/h")
    _known(where, "unit", data.get("unit"), [unit + ending for unit in UNITS for ending in endings])
    numbers: list[Any] = [data.get("low"), data.get("usual", data.get("low")), data.get("high")]
    if not all(_positive(each) for each in numbers) or not numbers[0] <= numbers[1] <= numbers[2]:
        raise NotValid(f"{where}: low, usual and high must be numbers above 0 in that order, in {data['unit']}.")
    if "max" in data and not _positive(data["max"]):
        raise NotValid(f"{where}: max must be a number above 0.")
    if "/kg" in data["unit"]:
        _known(where, "scalar", data.get("scalar"), SCALARS)
    _known(where, "evidence", data.get("evidence", evidence), EVIDENCE)
    maximum, usual = data.get("max"), data.get("usual")
    return DoseRange(
        use=str(data["use"]),
        low=float(data["low"]),
        high=float(data["high"]),
        unit=data["unit"],
        scalar=data.get("scalar"),
        usual=None if usual is None else float(usual),
        maximum=None if maximum is None else float(maximum),
        evidence=data.get("evidence", evidence),
    )


def _positive(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 < value < 1e9


def _only(where: str, data: Mapping[str, Any], allowed: frozenset[str]) -> None:
    extra = sorted(str(key) for key in data if key not in allowed)
    if extra:
        raise NotValid(f"{where}: unknown field {', '.join(extra)}. Known: {', '.join(sorted(allowed))}.")


def _known(where: str, field: str, value: Any, allowed: Iterable[str]) -> None:
    if value not in tuple(allowed):
        raise NotValid(f"{where}: {field} is {value!r}; it must be one of {', '.join(allowed)}.")


def _words(text: str) -> list[str]:
    kept = "".join(letter if letter.isalnum() or letter == "-" else " " for letter in text.lower())
    return kept.split()
