"""Follow-up after an exposure: contact classes, dates, and how long to keep the record."""

from __future__ import annotations

from datetime import date, timedelta

from app.base.calculation import Graded, calculation
from app.base.checks import OutOfRange, plain
from app.base.inputs import Input


@calculation(
    Input("contacts_min", "min", "each close contact", kind="numbers", least=0, most=1440),
    Input("within_h", "h", "window in which they lay", above=0, most=720),
    Input(
        "present_for_agp_without_all_ppe",
        kind="flag",
        optional=True,
        meaning="any time at an aerosol-generating procedure",
    ),
    unit="bool",
    formula="sum >= 15 min within 24 h, or any time at an AGP without all recommended PPE",
    source="CDC guidance on exposed health-care staff (15 min in 24 h second-hand)",
    evidence="C",
    cautions=("Rules change often and are local. Occupational health assigns the class.",),
)
def prolonged_or_higher_risk_contact(
    *, contacts_min: tuple[float, ...], within_h: float, present_for_agp_without_all_ppe: bool | None
) -> Graded[bool]:
    """Whether contacts were prolonged, or the exposure of higher risk."""
    if present_for_agp_without_all_ppe or max(contacts_min, default=0) >= 15:
        return Graded(True)
    long = round(sum(contacts_min), 9) >= 15
    if within_h > 24 and long:
        raise OutOfRange(
            f"within_h = {plain(within_h)} h: the rule adds contacts of 24 h; it must be at most 24 h.",
            do="Give the contacts of each 24 h apart.",
        )
    unknown = present_for_agp_without_all_ppe is None
    note = ("Presence at an aerosol-generating procedure was not given: taken as none.",) if unknown else ()
    return Graded(long, warnings=() if long else note)


@calculation(
    Input("last_exposure", kind="date", meaning="day 0"),
    Input("days", "days", kind="whole", least=0, most=400),
    Input("label", kind="text", optional=True, meaning="which rule it is"),
    unit="date",
    formula="last_exposure + days",
    source="day 0 = last exposure",
    evidence="K",
    cautions=("A second exposure restarts the clock.", "Dates in the time zone of the site."),
)
def monitoring_last_day(*, last_exposure: date, days: int, label: str | None) -> date:
    """Last day of follow-up."""
    try:
        return last_exposure + timedelta(days=days)
    except OverflowError:
        raise OutOfRange(
            f"last_exposure = {last_exposure} is too late a date; it must be before the year 9998."
        ) from None


@calculation(
    Input("record_date", kind="date", meaning="last entry, or end of employment where the rule says so"),
    Input("years", "years", kind="whole", least=0, most=150),
    Input("feb29_rule", kind="word", choices=("first day after", "last day before"), meaning="for 29 February"),
    unit="date",
    formula="same day, years later; 29 February by the rule named",
    source="29 CFR 1910.1020(d) 30 years; COSHH reg. 11 40 years",
    evidence="C",
    cautions=("The employer's duty, set against minimisation for patient data.",),
)
def retain_until_at_least(*, record_date: date, years: int, feb29_rule: str) -> date:
    """Earliest day on which a record may go."""
    year = record_date.year + years
    if year > 9999:
        raise OutOfRange(f"years = {years} years ends after the year 9999; it must be less.")
    try:
        return record_date.replace(year=year)
    except ValueError:  # only 29 February is missing from another year
        return date(year, 3, 1) if feb29_rule == "first day after" else date(year, 2, 28)
