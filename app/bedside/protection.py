"""Respirators, fit tests and stocks of protective equipment."""

from __future__ import annotations

import re
from collections.abc import Mapping

from app.base.calculation import Graded, calculation
from app.base.checks import NotUnderstood, OutOfRange, plain
from app.base.inputs import Input

_TABLE: Mapping[str, Mapping[str, int]] = {
    "air-purifying": {"quarter": 5, "half": 10, "full": 50},
    "papr": {"half": 50, "full": 1000, "hood": 25, "loose": 25},
    "supplied-air demand": {"half": 10, "full": 50},
    "supplied-air continuous": {"half": 50, "full": 1000, "hood": 25, "loose": 25},
    "supplied-air pressure-demand": {"half": 50, "full": 1000},
    "scba demand": {"half": 10, "full": 50, "hood": 50},
    "scba pressure-demand": {"full": 10_000, "hood": 10_000},
}
_WITH_EVIDENCE = 1000
_FILTER_CLASS = re.compile(r"\b[nrp](95|99|100)\b|\bffp")


def _kind(text: str) -> str:
    pressure = ("pressure" in text or "positive" in text) and "negative" not in text
    if "scba" in text or "self-contained" in text:
        return "scba pressure-demand" if pressure else "scba demand"
    if "papr" in text or "powered" in text:
        return "papr"
    if re.search(r"\bsar\b|suppl(ied|ying)|air.?line", text):
        mode = "continuous" if "continuous" in text else "pressure-demand" if pressure else "demand"
        return f"supplied-air {mode}"
    return "air-purifying"


def _face(text: str) -> str:
    marks = (
        ("quarter", ("quarter",)), ("loose", ("loose",)), ("hood", ("hood", "helmet")), ("full", ("full",)),
        ("half", ("half", "filtering")),
    )  # fmt: skip
    found = next((face for face, words in marks if any(word in text for word in words)), "")
    return found or ("half" if _FILTER_CLASS.search(text) else "")


@calculation(
    Input("respirator", kind="text", meaning="kind and facepiece, for example PAPR full facepiece"),
    unit="APF",
    formula="OSHA Table 1 by kind of respirator and facepiece",
    source="OSHA 29 CFR 1910.134(d)(3)(i)(A), Table 1",
    evidence="C",
    cautions=("UK factors differ for the same object: store the scheme with the number.", "Not a fit factor."),
)
def osha_apf(*, respirator: str) -> Graded[int]:
    """Assigned protection factor, US scheme."""
    text = respirator.lower()
    respirator_too = _FILTER_CLASS.search(text) or "respirator" in text
    if not respirator_too and ("surgical" in text or ("mask" in text and "procedure" in text)):
        raise NotUnderstood(f"respirator = {respirator!r}: a surgical mask is not a respirator and has no APF.")
    kind, face = _kind(text), _face(text)
    factor = _TABLE[kind].get(face)
    if factor is None:
        faces = ", ".join(_TABLE[kind])
        raise NotUnderstood(
            f"respirator = {respirator!r} is not a row of the table.", do=f"For {kind} name a facepiece: {faces}."
        )
    if face == "hood" and factor == 25:
        without = any(word in text for word in ("without", "no manufacturer", "no evidence"))
        if "evidence" in text and not without:
            return Graded(_WITH_EVIDENCE)
        return Graded(factor, warnings=("1000 only with the manufacturer's test evidence: say so if it is held.",))
    return Graded(factor)


_FACTORS = Input("exercise_fit_factors", "", "one per exercise", kind="numbers", above=0, most=1e7)
_PASS = Input("pass_level", "", "100 half mask; full facepiece 500 (US) or 2000 (UK)", above=0, most=1e6)
_RULES = "The US test passes on the overall value, the UK test needs every exercise: one can pass and the other fail."


def _some(factors: tuple[float, ...]) -> None:
    if not factors:
        raise OutOfRange("exercise_fit_factors is empty: it must hold at least one factor above 0.")


@calculation(
    _FACTORS,
    _PASS,
    unit="[FF,pass]",
    formula="number of exercises / sum(1/factor); pass from pass_level",
    source="OSHA 29 CFR 1910.134, Appendix A",
    evidence="M",
    cautions=(_RULES,),
)
def osha_overall_fit_factor(*, exercise_fit_factors: tuple[float, ...], pass_level: float) -> tuple[float, bool]:
    """Overall fit factor and whether it passes, US scheme."""
    _some(exercise_fit_factors)
    overall = len(exercise_fit_factors) / sum(1 / factor for factor in exercise_fit_factors)
    return overall, round(overall, 9) >= pass_level


@calculation(
    _FACTORS,
    _PASS,
    unit="bool",
    formula="every factor at or above pass_level",
    source="HSE INDG479 (2019)",
    evidence="C",
    cautions=(_RULES, "Seven exercises of at least one minute."),
)
def uk_fit_test_pass_every_exercise(*, exercise_fit_factors: tuple[float, ...], pass_level: float) -> Graded[bool]:
    """Whether a fit test passes, UK scheme."""
    _some(exercise_fit_factors)
    few = len(exercise_fit_factors) < 7
    warnings = (f"Only {len(exercise_fit_factors)} exercises: the UK test has seven.",) if few else ()
    return Graded(min(exercise_fit_factors) >= pass_level, warnings=warnings)


@calculation(
    Input("apf", "", "assigned protection factor", least=1, most=100_000),
    unit="%",
    formula="100 / APF",
    source="definition of the protection factor",
    evidence="K",
    cautions=("A class value for a fitted, trained wearer, not a measurement on a person.",),
)
def max_inhaled_percent(*, apf: float) -> float:
    """Share of the outside concentration that may be inhaled."""
    return 100 / apf


@calculation(
    Input("open", "items", "opening stock", least=0, most=1e9),
    Input("received", "items", least=0, most=1e9),
    Input("close", "items", "closing stock", least=0, most=1e9),
    Input("days", "days", "a moving window of at least 7", above=0, most=3660),
    unit="items/day",
    formula="(open + received - close) / days",
    source="definition",
    evidence="K",
    cautions=("Show the window and a range.",),
)
def burn_rate_per_day(*, open: float, received: float, close: float, days: float) -> Graded[float]:
    """Items used a day."""
    used = open + received - close
    if used < 0:
        raise OutOfRange(
            f"close = {plain(close)} items is more than open + received: it must be at most that. Recount."
        )
    return Graded(used / days, warnings=("A window under 7 days says little.",) if days < 7 else ())


@calculation(
    Input("stock", "items", least=0, most=1e9),
    Input("burn_rate_per_day", "items/day", above=0, most=1e9),
    Input("deliveries", "", "list of [day, items]: counted when they come before the stock runs out",
          kind="table", optional=True, least=0, most=1e9),
    unit="days",
    formula="stock / burn rate, with each delivery that comes in time added",
    source="definition",
    evidence="K",
    cautions=("Shown rounded down.", "Assumes a steady use: show a range."),
)  # fmt: skip
def days_of_supply(
    *, stock: float, burn_rate_per_day: float, deliveries: tuple[tuple[float, float], ...] | None
) -> Graded[float]:
    """Days until the stock runs out."""
    lasts, late = stock / burn_rate_per_day, 0
    for day, items in sorted(deliveries or ()):
        if day <= round(lasts, 9):
            lasts += items / burn_rate_per_day
        else:
            late += 1
    return Graded(lasts, warnings=(f"{late} deliveries come after the stock has run out.",) if late else ())


@calculation(
    Input("people_in", "", "people who enter the room", kind="whole", least=0, most=1000),
    Input("doffing_observer", "", "observers who dress too", kind="whole", least=0, most=100),
    Input("entries", "", "times each dresses", kind="whole", least=1, most=1000),
    Input("items", "", "items per person and entry", kind="mapping", least=0, most=1000),
    unit="items",
    formula="(people_in + doffing_observer) x entries x items",
    source="definition",
    evidence="K",
    cautions=("Without spares for damage and repeat entries.",),
)
def ppe_items_for_procedure(
    *, people_in: int, doffing_observer: int, entries: int, items: dict[str, float]
) -> dict[str, float]:
    """Items of protective equipment that a procedure takes."""
    return {name: (people_in + doffing_observer) * entries * count for name, count in items.items()}


@calculation(
    Input("donnings", "", "so far", kind="whole", least=0, most=1000),
    Input("hours_worn", "h", "so far", least=0, most=1000),
    Input("max_donnings", "", "5 in the shortage guidance", kind="whole", least=1, most=100),
    Input("max_hours", "h", "8 in the shortage guidance", above=0, most=100),
    unit="text",
    formula="limit reached when donnings or hours are at their limit",
    source="CDC/NIOSH extended-use guidance, shortage only",
    evidence="M",
    cautions=("A shortage measure, ended by CDC in May 2021.", "Discard after an aerosol-generating procedure."),
)
def n95_reuse_counter_before_next_use(
    *, donnings: int, hours_worn: float, max_donnings: int, max_hours: float
) -> Graded[str]:
    """Whether a respirator may be put on once more under shortage rules."""
    grade = "limit reached" if donnings >= max_donnings or hours_worn >= max_hours else "allowed"
    return Graded(grade, grade)
