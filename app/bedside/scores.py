"""Published indices and scores. Each has a low positive predictive value; none is a reason to delay."""

from __future__ import annotations

import re
from collections.abc import Mapping

from app.base.calculation import Graded, calculation
from app.base.checks import NotUnderstood, OutOfRange, plain
from app.base.inputs import Input
from app.bedside.given import FIO2, RR, SPO2_PCT, VT_ML

_ROX_FAILURE = ((12.0, 3.85), (6.0, 3.47), (2.0, 2.85))
MACOCHA_POINTS: Mapping[str, int] = {
    "Mallampati III/IV": 5,
    "sleep apnoea": 2,
    "cervical mobility": 1,
    "mouth opening <3 cm": 1,
    "coma": 1,
    "hypoxaemia": 1,
    "non-anaesthetist": 1,
}
_MACOCHA_WORDS: Mapping[str, tuple[str, ...]] = {
    "Mallampati III/IV": ("mallampati",),
    "sleep apnoea": ("osa", "sleep"),
    "cervical mobility": ("cervical", "neck"),
    "mouth opening <3 cm": ("mouth",),
    "coma": ("coma",),
    "hypoxaemia": ("hypoxaemi", "hypoxemi", "hypoxi", "spo2"),
    "non-anaesthetist": ("anaesthetist", "anesthesiologist", "anaesthesiologist", "anesthetist", "operator"),
}


@calculation(
    SPO2_PCT,
    FIO2,
    RR,
    Input("hours_on_hfnc", "h", "time on nasal high flow", least=0, most=720),
    unit="index",
    formula="(SpO2 / FiO2) / RR; low risk >= 4.88; high risk < 2.85 from 2 h, < 3.47 from 6 h, < 3.85 from 12 h",
    source="Roca et al., Am J Respir Crit Care Med 2019;199:1368",
    evidence="C",
    cautions=("Derived in pneumonia on nasal high flow.", "A high index never overrules a tired or drowsy patient."),
)
def rox_index(*, spo2_pct: float, fio2: float, rr: float, hours_on_hfnc: float) -> Graded[float]:
    """ROX index with its band."""
    index = spo2_pct / fio2 / rr
    if hours_on_hfnc < 2:
        return Graded(index, "indeterminate", ("No cut-off is published before 2 h.",))
    failure = next(limit for hours, limit in _ROX_FAILURE if hours_on_hfnc >= hours)
    held = round(index, 9)
    return Graded(index, "low risk" if held >= 4.88 else "high risk" if held < failure else "indeterminate")


@calculation(
    RR,
    VT_ML,
    unit="breaths/min/L",
    formula="RR / VT in litres; below 105 predicts success",
    source="Yang & Tobin, N Engl J Med 1991;324:1445",
    evidence="C",
    cautions=("Measured on minimal support for 1 min: pressure support lowers it.", "No instruction to extubate."),
)
def rsbi(*, rr: float, vt_ml: float) -> Graded[float]:
    """Rapid shallow breathing index."""
    index = rr * 1000 / vt_ml
    return Graded(index, "below 105" if round(index, 9) < 105 else "105 or above")


@calculation(
    Input("vt_cuff_up_ml", "mL", least=50, most=1200),
    Input("mean_vt_cuff_down_ml", "mL", "mean of the lowest 3 of 6 expired volumes", least=0, most=1200),
    unit="mL",
    formula="VT cuff up - VT cuff down; low leak below 110 mL",
    source="Miller & Cole, Chest 1996;110:1035",
    evidence="C",
    cautions=("Positive predictive value 0.42, negative 0.94.", "In infectious patients the test spreads aerosol."),
)
def cuff_leak_ml(*, vt_cuff_up_ml: float, mean_vt_cuff_down_ml: float) -> Graded[float]:
    """Cuff leak volume; `percent` is its share of the cuff-up volume."""
    if mean_vt_cuff_down_ml > vt_cuff_up_ml:
        raise OutOfRange(
            f"mean_vt_cuff_down_ml = {plain(mean_vt_cuff_down_ml)} mL must be at most vt_cuff_up_ml in mL."
        )
    leak = vt_cuff_up_ml - mean_vt_cuff_down_ml
    grade = "pass" if round(leak, 9) >= 110 else "low leak"
    return Graded(leak, grade, more={"percent": 100 * leak / vt_cuff_up_ml})


def _macocha_item(text: str) -> str:
    lower = text.lower().strip()
    for item, marks in _MACOCHA_WORDS.items():
        if any(mark in lower for mark in marks) and _is_a_finding(item, lower):
            return item
    raise NotUnderstood(
        f"present: {text[:60]!r} is not an item of the score.", do=f"Items: {', '.join(MACOCHA_POINTS)}."
    )


def _is_a_finding(item: str, lower: str) -> bool:
    """Whether the words say that the item was found: not class I or II, not "no coma", not an anaesthetist."""
    denied = re.search(r"\b(no|not|without|absent)\b|\bnon", lower) is not None
    if item == "non-anaesthetist":
        return denied or not re.search(r"an(a)?esth", lower)
    classes = re.findall(r"\b(i{1,3}|iv|[1-4])\b", lower) if item == "Mallampati III/IV" else []
    return not denied and (not classes or bool({"iii", "iv", "3", "4"} & set(classes)))


@calculation(
    Input("present", kind="words", meaning="items found present; [] when all were looked for and none found"),
    unit="points",
    formula="Mallampati III/IV 5, sleep apnoea 2, the other five 1 each; 3 or more predicts difficulty",
    source="De Jong et al., Am J Respir Crit Care Med 2013;187:832",
    evidence="S",
    cautions=("An item not listed counts as looked for and absent: never leave out what was not assessed.",),
)
def macocha(*, present: tuple[str, ...]) -> Graded[float]:
    """MACOCHA score for difficult intubation."""
    parts = [part.strip() for text in present for part in re.split(r"[,;+&]| and ", text)]
    if present and not any(parts):
        raise NotUnderstood("present names nothing.", do="Give the items found, or [] when none was found.")
    named = [text for text in parts if text and text.lower() not in ("none", "nothing")]
    every = any(text.lower() in ("all", "all seven", "all items") for text in named)
    items = tuple(MACOCHA_POINTS) if every else tuple(dict.fromkeys(_macocha_item(text) for text in named))
    points = sum(MACOCHA_POINTS[item] for item in items)
    grade = "predicts difficult" if points >= 3 else "below cut-off"
    return Graded(points, grade, more={"counted": items})


@calculation(
    Input("hr", "beats/min", least=20, most=300),
    Input("sbp", "mmHg", "systolic blood pressure", least=20, most=300),
    unit="ratio",
    formula="HR / systolic BP; above cut-off from 0.8",
    source="Heffner, J Crit Care 2012 (0.8); Trivedi 2015 (0.9)",
    evidence="S",
    cautions=("Area under the curve only about 0.61.", "Beta-blockers, pacing and pain break it."),
)
def shock_index(*, hr: float, sbp: float) -> Graded[float]:
    """Shock index before intubation."""
    ratio = hr / sbp
    high = ("At or above 0.9 too, the stricter cut-off.",) if round(ratio, 9) >= 0.9 else ()
    return Graded(ratio, "above cut-off" if round(ratio, 9) >= 0.8 else "below cut-off", high)


@calculation(
    Input("spo2_pct", "%", "at laryngoscopy", optional=True, above=0, most=100),
    Input("age_y", "years", optional=True, least=0, most=120),
    Input("vomit_blood_fluid", kind="flag", optional=True, meaning="vomit, blood or fluid in the airway"),
    unit="text",
    formula="H: SpO2 <= 93 %; E: age <= 8 years; V: vomit, blood or fluid",
    source="Nausheen et al., Scand J Trauma Resusc Emerg Med 2019;27:50; Davis & Olvera 2017",
    evidence="C",
    cautions=(
        "A, second E and N, and obesity under the first E, are judged at the bedside.",
        "Items are counted, no points.",
    ),
)
def heaven_items(*, spo2_pct: float | None, age_y: float | None, vomit_blood_fluid: bool | None) -> Graded[str]:
    """Which HEAVEN criteria these figures meet."""
    found: list[tuple[str, bool]] = []
    if spo2_pct is not None:
        found.append(("H", spo2_pct <= 93))
    if age_y is not None:
        found.append(("E", age_y <= 8))
    if vomit_blood_fluid is not None:
        found.append(("V", vomit_blood_fluid))
    if not found:
        raise NotUnderstood(
            "spo2_pct, age_y and vomit_blood_fluid are missing.", do="Give at least one: %, years, yes or no."
        )
    ordered = sorted(found, key=lambda item: not item[1])
    text = ", ".join(f"{item} {'positive' if met else 'negative'}" for item, met in ordered)
    return Graded(text, more={"positive": tuple(item for item, met in found if met)})
