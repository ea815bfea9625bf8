"""Organisms: the precaution, who may enter, and what follows an exposure, by country.

The rows that come with Doorside are for a department's infection prevention and occupational health to read and change;
each names its source with its mark (`[V]` read, `[G]` guideline not re-read, `[M]` from memory, `[L]` local).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from app.base.messages import N_
from app.base.register.spec import Field, Names, Problem, Register, Row
from app.people.tables import FollowUp, Organism

PRECAUTIONS = {
    "contact": N_("contact"), "droplet": N_("droplet"), "airborne": N_("airborne"), "enhanced": N_("enhanced"),
}  # fmt: skip
ENTRY = {
    "anyone": N_("anybody dressed for it"),
    "fit-tested": N_("only fit-tested staff"),
    "immune": N_("only staff recorded immune"),
    "trained": N_("only trained staff, with an observer"),
}


def _organism(row: Row, names: Names) -> Iterable[Problem]:
    if row["entry"] == "immune" and not row["immunity"]:
        yield Problem(N_("Say which immunity is asked for."), column="immunity")


def _common() -> Sequence[Row]:
    rows: tuple[tuple[str, str, str, str | None, bool, str], ...] = (
        ("Pulmonary tuberculosis", "airborne", "fit-tested", None, False, "TB19 [V]; precaution [G]"),
        ("Measles", "airborne", "immune", "measles", False, "CDC24, MEA18 [V]; precaution [G]"),
        ("Novel or avian influenza A", "airborne", "fit-tested", None, True, "FLU [V]; precaution [G]"),
        ("MERS", "airborne", "fit-tested", None, True, "MERS16 [V]; precaution [G]"),
        ("Viral haemorrhagic fever", "enhanced", "trained", None, True, "CDCVHF [V]"),
        ("Resistant organism", "contact", "anyone", None, False, "CDCISO [G]"),
        ("Severe respiratory illness, not named", "airborne", "fit-tested", None, True, "CDCISO [G]"),
    )
    return [
        {
            "name": name, "precaution": level, "entry": entry, "immunity": immunity, "eyes": eyes, "source": source,
            "active": True,
        }
        for name, level, entry, immunity, eyes, source in rows
    ]  # fmt: skip


ORGANISMS = Register(
    name="organisms",
    title=N_("Organisms"),
    one=N_("Organism"),
    about=N_("For each organism the precaution, who may enter, and where the department has it from."),
    table=Organism,
    fields=(
        Field("name", N_("Organism"), required=True),
        Field("precaution", N_("Precaution"), "choice", choices=PRECAUTIONS, required=True),
        Field("entry", N_("Who may enter"), "choice", choices=ENTRY, required=True),
        Field("immunity", N_("Immunity asked for"), hint=N_("One word, as the register of immunity has it: measles.")),
        Field("eyes", N_("Eyes covered too"), "yes", default=False),
        Field("source", N_("Source"), required=True),
        Field("active", N_("In use"), "yes", default=True),
    ),
    key=("name",),
    listed=("name", "precaution", "entry", "immunity", "source"),
    order=("-active", "name"),
    check=_organism,
    starters=_common,
)

COUNTRIES = {"US": "US", "UK": "UK", "CA": "CA", "AU": "AU", "any": N_("any")}


def _span(row: Row, names: Names) -> Iterable[Problem]:
    first, last = row["first_day"], row["last_day"]
    if isinstance(first, int) and isinstance(last, int) and last < first:
        yield Problem(N_("The last day is before the first."), column="last_day")


FOLLOW_UPS = Register(
    name="follow-ups",
    title=N_("Follow-up by country"),
    one=N_("Follow-up"),
    about=N_("What follows an exposure. Day 0 is the last exposure; a second one begins the count anew."),
    table=FollowUp,
    fields=(
        Field("organism_id", N_("Organism"), "ref", ref="organisms", required=True),
        Field("country", N_("Country"), "choice", choices=COUNTRIES, required=True),
        Field("who", N_("For whom"), required=True),
        Field("first_day", N_("From day"), "whole", unit="d", least=0, most=400),
        Field("last_day", N_("To day"), "whole", unit="d", least=0, most=400),
        Field("what", N_("What is done"), required=True),
        Field("source", N_("Source"), required=True),
    ),
    key=("organism_id", "country", "who"),
    listed=("organism_id", "country", "who", "first_day", "last_day", "what"),
    order=("organism_id", "country"),
    check=_span,
)

FOLLOW_UP_ROWS: tuple[tuple[str, str, str, int | None, int | None, str, str], ...] = (
    (
        "Pulmonary tuberculosis", "US", "everybody exposed", None, None,
        "Test when the exposure is known; again 8 to 10 weeks after the last one if negative.", "TB19 [V]",
    ),
    (
        "Measles", "US", "not recorded immune", 5, 21,
        "Off work from day 5 after the first to day 21 after the last. Counts up to 2 h after the patient left.",
        "CDC24, MEA18 [V]",
    ),
    ("Measles", "US", "recorded immune", 5, 21, "Watched daily. Counts up to 2 h after the patient left.", "MEA18 [V]"),
    (
        "Measles", "AU", "not recorded immune", None, None,
        "As local rules say. Counts up to 30 min after the patient left.", "MEA18 [V]",
    ),
    ("Novel or avian influenza A", "US", "everybody exposed", 0, 10, "Watched for 10 days.", "FLU [V]"),
    ("MERS", "any", "everybody exposed", 0, 14, "Watched for 14 days.", "MERS16 [V]"),
    ("Viral haemorrhagic fever", "any", "everybody exposed", 0, 21, "Watched for 21 days.", "CDCVHF [G]"),
    (
        "Viral haemorrhagic fever", "any", "after a breach", 0, 21,
        "High risk: occupational health is told at once.", "CDCVHF [V]",
    ),
)  # fmt: skip


def common_follow_ups(names: Names) -> list[Row]:
    """The rows that come with Doorside, for those of their organisms that are in the register."""
    return [
        {
            "organism_id": ids[0], "country": country, "who": who, "first_day": first, "last_day": last, "what": what,
            "source": source,
        }
        for organism, country, who, first, last, what, source in FOLLOW_UP_ROWS
        if (ids := names.ids("organisms", organism))
    ]  # fmt: skip
