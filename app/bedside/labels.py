"""User-applied syringe labels: drug -> class -> colour, after ISO 26825:2020.

Colour supports reading and never replaces it; on screen the class is always written out too.
"""

from __future__ import annotations

from collections.abc import Mapping

from app.base.calculation import Graded, calculation
from app.base.checks import NotUnderstood, did_you_mean
from app.bedside.given import DRUG

STRIPES = "with white diagonal stripes"

COLOURS: Mapping[str, str] = {
    "induction": "yellow",
    "benzodiazepine": "orange",
    "benzodiazepine antagonist": f"orange {STRIPES}",
    "relaxant": "red (warm red)",
    "relaxant reversal": f"red {STRIPES}, black line under name",
    "opioid": "blue",
    "opioid antagonist": f"blue {STRIPES}",
    "vasopressor": "violet",
    "hypotensive": f"violet {STRIPES}",
    "local anaesthetic": "grey",
    "anticholinergic": "green",
    "anti-emetic": "salmon",
    "other": "white",
}
"""Class of a drug -> colour word of the standard."""

_DRUGS: Mapping[str, str] = {
    "induction": "propofol thiopental thiopentone etomidate ketamine esketamine methohexital",
    "benzodiazepine": "midazolam diazepam lorazepam remimazolam",
    "benzodiazepine antagonist": "flumazenil",
    "relaxant": "rocuronium suxamethonium succinylcholine atracurium cisatracurium vecuronium mivacurium pancuronium",
    "relaxant reversal": "neostigmine sugammadex edrophonium pyridostigmine",
    "opioid": (
        "fentanyl alfentanil remifentanil sufentanil morphine diamorphine pethidine meperidine hydromorphone oxycodone "
        "tramadol"
    ),
    "opioid antagonist": "naloxone",
    "vasopressor": (
        "ephedrine phenylephrine noradrenaline norepinephrine adrenaline epinephrine metaraminol vasopressin "
        "dopamine methoxamine"
    ),
    "hypotensive": (
        "nitroglycerin nitroglycerine glyceryl trinitrate gtn nitroprusside phentolamine hydralazine labetalol"
    ),
    "local anaesthetic": "lidocaine lignocaine bupivacaine levobupivacaine ropivacaine prilocaine mepivacaine",
    "anticholinergic": "atropine glycopyrronium glycopyrrolate hyoscine scopolamine",
    "anti-emetic": "ondansetron granisetron metoclopramide droperidol cyclizine dexamethasone",
    "other": "heparin protamine insulin oxytocin potassium calcium magnesium tranexamic saline water",
}
_CLASS_OF: Mapping[str, str] = {drug: group for group, drugs in _DRUGS.items() for drug in drugs.split()}
_PANEL = frozenset({"suxamethonium", "succinylcholine", "adrenaline", "epinephrine"})
"""Whole words: noradrenaline has no panel."""
_GAP = "The class of this drug is from memory: check it against the standard."


def label_class(drug: str) -> str | None:
    """The label class of a drug named anywhere in a text, or None.

    >>> label_class("lidocaine 2%"), label_class("neostigmine (reversal)")
    ('local anaesthetic', 'relaxant reversal')
    """
    return next((_CLASS_OF[word] for word in _words(drug) if word in _CLASS_OF), None)


def _words(drug: str) -> list[str]:
    return "".join(letter if letter.isalpha() else " " for letter in drug.lower()).split()


@calculation(
    DRUG,
    unit="colour",
    formula="class of the drug -> colour of the standard",
    source="ISO 26825:2020",
    evidence="C",
    cautions=("Read the name: colour supports reading and never replaces it.",),
)
def syringe_label_colour(*, drug: str) -> Graded[str]:
    """Colour of the user-applied syringe label."""
    group = label_class(drug)
    if group is None:
        hint = did_you_mean(drug, tuple(_CLASS_OF)) or "Read the label on the ampoule."
        raise NotUnderstood(f"drug = {drug!r} is not in the list of label classes.", do=hint)
    warnings = []
    if _PANEL.intersection(_words(drug)):
        warnings.append("Its label carries a black panel behind or around the name (from memory).")
    if group in ("hypotensive", "opioid antagonist", "benzodiazepine antagonist", "other"):
        warnings.append(_GAP)
    return Graded(COLOURS[group], warnings=tuple(warnings), more={"label_class": group})
