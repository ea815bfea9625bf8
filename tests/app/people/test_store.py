"""The register of people: by name, and what an entry keeps of each."""

from datetime import date

from sqlalchemy import Engine

from app.people.store import add, all_facts, people
from app.people.tables import Person


def person(p: str, name: str, **more: object) -> Person:
    return Person(id=p, name=name, initials=name[:1], job="doctor", **more)


def test_people_are_listed_by_name_without_those_who_left(engine: Engine) -> None:
    add(engine, person("P1", "Cy"), person("P2", "Ada"), person("P3", "Bea", active=False))
    assert [one.name for one in people(engine)] == ["Ada", "Cy"]


def test_facts_of_those_who_left_are_kept_for_late_entries(engine: Engine) -> None:
    add(engine, person("P3", "Bea", active=False))
    assert all_facts(engine)["P3"]["name"] == "Bea"


def test_facts_are_what_the_rules_ask_for_and_unknown_is_left_out(engine: Engine) -> None:
    add(
        engine,
        person("P1", "Ada", resp="tight:K2", fit='{"K2": "2026-05-01"}', drill=date(2026, 8, 2), immune="yes"),
        person("P2", "Bea"),
    )
    facts = all_facts(engine)
    assert facts["P1"] == {"name": "Ada", "initials": "A", "job": "doctor", "resp": "tight:K2", "fit": {"K2": "2026-05-01"},
                           "immune": "yes", "drill": "2026-08-02"}  # fmt: skip
    assert "drill" not in facts["P2"]
    assert facts["P2"]["immune"] == "unknown"


def test_a_known_id_is_brought_up_to_date(engine: Engine) -> None:
    add(engine, person("P1", "Ada"))
    add(engine, person("P1", "Ada Two"))
    assert [one.name for one in people(engine)] == ["Ada Two"]
