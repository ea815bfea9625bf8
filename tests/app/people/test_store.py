"""The register of people: by name, and what an entry keeps of each."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from app.kit.tables import Respirator
from app.people.store import add, all_facts, immunity, may_enter, people
from app.people.tables import FitTest, Immunity, Person, Practice


def person(p: str, name: str, **more: object) -> Person:
    return Person(id=p, name=name, initials=name[:1], job="doctor", **more)


def keep(engine: Engine, *rows: object) -> None:
    with Session(engine) as session:
        for row in rows:
            session.add(row)
            session.flush()
        session.commit()


def test_people_are_listed_by_name_without_those_who_left(engine: Engine) -> None:
    add(engine, person("P1", "Cy"), person("P2", "Ada"), person("P3", "Bea", active=False))
    assert [one.name for one in people(engine)] == ["Ada", "Cy"]


def test_facts_of_those_who_left_are_kept_for_late_entries(engine: Engine) -> None:
    add(engine, person("P3", "Bea", active=False))
    assert all_facts(engine)["P3"]["name"] == "Bea"


def fit_test(n: int, on: date, **more: object) -> FitTest:
    told = {"method": "bitter aerosol", "result": "pass", **more}
    return FitTest(id=f"T{n}", person_id="P1", respirator_id="K2", tested_on=on, **told)


def test_facts_are_what_the_rules_ask_for_and_of_health_only_that_somebody_may_not_enter(engine: Engine) -> None:
    add(engine, person("P1", "Ada", resp="tight:K2", drill=date(2026, 8, 2), no_entry=True), person("P2", "Bea"))
    keep(engine, Respirator(id="K2", model="K2"), fit_test(1, date(2026, 5, 1)))
    keep(engine, Immunity(id="I1", person_id="P1", condition="measles", state="yes"))
    facts = all_facts(engine)
    assert facts["P1"] == {"name": "Ada", "initials": "A", "job": "doctor", "resp": "tight:K2", "fit": {"K2": "2026-05-01"}, "drill": "2026-08-02", "no_entry": True}  # fmt: skip
    assert facts["P2"] == {"name": "Bea", "initials": "B", "job": "doctor", "resp": "none", "fit": {}}


def test_a_test_that_failed_later_ends_the_earlier_pass(engine: Engine) -> None:
    add(engine, person("P1", "Ada"))
    keep(
        engine,
        Respirator(id="K2", model="K2"),
        fit_test(1, date(2026, 5, 1)),
        fit_test(2, date(2026, 6, 1), result="fail"),
    )
    assert all_facts(engine)["P1"]["fit"] == {}


SIX_GOOD_ONE_POOR = "900 900 900 900 900 900 90"


@pytest.mark.parametrize(("reading", "counts"), [("us", True), ("uk", False), ("both", False)])
def test_a_test_counts_by_the_reading_that_the_department_has_chosen(
    engine: Engine, reading: str, counts: bool
) -> None:
    """Harmonic mean 391 passes the US level of 100 [M]; one exercise of 90 fails the UK reading [C2]."""
    add(engine, person("P1", "Ada"))
    keep(engine, Practice(id="department", name="D", fit_reading=reading), Respirator(id="K2", model="K2"))
    keep(engine, fit_test(1, date(2026, 5, 1), method="ambient particle count", factors=SIX_GOOD_ONE_POOR, result=None))
    assert ("K2" in all_facts(engine)["P1"]["fit"]) is counts


def test_immunity_is_answered_for_what_a_case_asks_and_never_named(engine: Engine) -> None:
    add(engine, person("P1", "Ada"))
    keep(engine, Immunity(id="I1", person_id="P1", condition="Measles", state="yes"))
    keep(engine, Immunity(id="I2", person_id="P1", condition="varicella", state="no"))
    recorded = immunity(engine)["P1"]
    asked = ("measles", "Varicella", "mumps", "yes", "no", None, "none")
    assert [may_enter(recorded, one) for one in asked] == ["yes", "no", "unknown", "no", None, None, None]
