"""Doses and volumes of the department's drug list for this patient: ranges to choose from, never a choice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.base.calculation import EVIDENCE
from app.base.checks import Missing, Refused, plain
from app.base.messages import N_
from app.bedside.draw_up import Amount, Volume, Weighed, amount_of
from app.bedside.formulary import DoseRange, Drug, shipped
from app.live.worksheet.fields import Given
from app.live.worksheet.figure import words

GROUPS: Mapping[str, tuple[str, frozenset[str]]] = {
    "induction": (
        N_("Induction, opioid"), frozenset({"induction", "benzodiazepine", "opioid", "local anaesthetic"})),
    "relaxant": (N_("Relaxant"), frozenset({"relaxant"})),
    "reversal": (N_("Reversal"), frozenset({"relaxant reversal", "opioid antagonist", "benzodiazepine antagonist"})),
    "pressure": (N_("Blood pressure, pulse"), frozenset({"vasopressor", "anticholinergic", "hypotensive"})),
    "other": (N_("Other"), frozenset({"anti-emetic", "other"})),
}  # fmt: skip
"""Box on the page -> its words and the label classes that it shows."""
SCALARS: Mapping[str, str] = {
    "TBW": N_("actual weight"),
    "IBW": N_("ideal weight"),
    "LBW": N_("lean weight"),
    "ABW": N_("adjusted weight"),
}
_CHILD_WORDS = ("child", "infant")
CAUTIONS = (
    N_("Ranges, rounded down and capped where the source caps them; the clinician chooses the dose."),
    N_("In shock the induction dose is usually halved or more."),
    N_("Read the ampoule: strengths differ by country."),
)


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a drug: the amount, how it came about, what to draw up; or what is missing."""

    use: str
    amount: str = ""
    unit: str = ""
    usual: str = ""
    per: str = ""
    weight: str = ""
    scalar: str = ""
    cap: str = ""
    evidence: str = ""
    volumes: tuple[tuple[str, str], ...] = ()
    lacks: tuple[str, ...] = ()
    refused: str = ""


@dataclass(frozen=True, slots=True)
class DrugRow:
    """One drug with its label colour as a word."""

    name: str
    label: str
    colour: str
    onset: str
    source: str
    cautions: tuple[str, ...]
    uses: tuple[Use, ...]


@dataclass(frozen=True, slots=True)
class Doses:
    """All drugs that are shown. `lacks`: nobody has said whether the patient is an adult."""

    version: str
    signed_by: str
    groups: tuple[tuple[str, str, bool], ...]
    drugs: tuple[DrugRow, ...]
    lacks: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS


def doses(given: Given) -> Doses:
    """The drug list for this patient."""
    formulary = shipped()
    listed = {label for drug in formulary.drugs for label in (drug.label,)}
    groups = tuple(
        (name, label, name in given.drug_groups) for name, (label, classes) in GROUPS.items() if classes & listed
    )
    wanted = {each for name in given.drug_groups if name in GROUPS for each in GROUPS[name][1]}
    rows: tuple[DrugRow, ...] = ()
    if (child := given.child) is not None:
        rows = tuple(_row(drug, given, child) for drug in formulary.drugs if drug.label in wanted)
    lacks = (words("age_y"),) if child is None else ()
    return Doses(formulary.version, formulary.signed_by, groups, tuple(row for row in rows if row.uses), lacks)


def _row(drug: Drug, given: Given, child: bool) -> DrugRow:
    uses = tuple(_use(drug, dose, given) for dose in drug.doses if for_child(dose) is child)
    source = f"{drug.source} [{drug.evidence}: {EVIDENCE[drug.evidence]}]"
    return DrugRow(drug.name, drug.label, drug.colour, drug.onset, source, drug.cautions, uses)


def for_child(dose: DoseRange) -> bool:
    """Whether a use is a child's: the list's amounts are adult unless the use says otherwise."""
    return any(word in dose.use for word in _CHILD_WORDS)


def _use(drug: Drug, dose: DoseRange, given: Given) -> Use:
    span = plain(dose.low) if dose.low == dose.high else f"{plain(dose.low)}–{plain(dose.high)}"
    per = f"{span} {dose.unit}"
    evidence = f"{dose.evidence}: {EVIDENCE[dose.evidence]}"
    needs = [] if not dose.per_kg else ["weight_kg"] + ([] if dose.scalar == "TBW" else ["height_cm", "sex"])
    if lacks := tuple(words(name) for name in needs if not given.text(name)):
        return Use(dose.use, per=per, scalar=SCALARS.get(dose.scalar or "", ""), evidence=evidence, lacks=lacks)
    try:
        amount = amount_of(drug, dose, _weighed(given, dose))
    except Missing as missing:
        return Use(dose.use, per=per, evidence=evidence, lacks=(_worded(missing),))
    except Refused as refused:
        return Use(dose.use, per=per, evidence=evidence, refused=_worded(refused))
    return _filled(dose, amount, per, evidence)


def _weighed(given: Given, dose: DoseRange) -> Weighed:
    if not dose.per_kg:
        return Weighed(0.0)
    weight = given.number("weight_kg")
    return Weighed(
        float("nan") if weight is None else weight, given.number("height_cm"), given.value("sex").upper() or None
    )


def _filled(dose: DoseRange, amount: Amount, per: str, evidence: str) -> Use:
    return Use(
        dose.use,
        amount=_span(amount.low, amount.high),
        unit=amount.unit,
        usual="" if amount.usual is None or amount.low == amount.high else plain(amount.usual),
        per=per,
        weight="" if amount.weight_kg is None else f"{amount.weight_kg:.1f}",
        scalar=SCALARS.get(amount.scalar or "", ""),
        cap=f"{plain(dose.maximum)} {amount.unit}" if amount.capped and dose.maximum is not None else "",
        evidence=evidence,
        volumes=tuple((f"{plain(each.strength)} {each.strength_unit}", _millilitres(each)) for each in amount.volumes),
    )


def _span(low: float, high: float) -> str:
    return plain(low) if low == high else f"{plain(low)}–{plain(high)}"


def _millilitres(volume: Volume) -> str:
    """Empty when it is too little to draw up: the strength must be diluted first."""
    return _span(volume.low_ml, volume.high_ml) if volume.low_ml > 0 else ""


def _worded(refused: Refused) -> str:
    text = " ".join((refused.what, refused.do)).strip()
    for name in ("weight_kg", "height_cm", "sex"):
        text = text.replace(name, words(name))
    return text
