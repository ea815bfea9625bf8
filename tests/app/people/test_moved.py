"""Fit tests and immunity that stood in the table of people become rows of their own, and go back the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import text

from app.base.database import alembic_config, open_engine


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database that was never migrated."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'old.db'}"
    return str(request.getfixturevalue("new_postgres")(migrated=False))


def test_nothing_that_was_recorded_is_lost_on_the_way_up_and_down(url: str) -> None:
    config = alembic_config(url)
    command.upgrade(config, "0002")
    engine = open_engine(url)
    put = text(
        "INSERT INTO person (id, name, initials, job, resp, fit, immune, active) "
        "VALUES (:id, :name, 'X', 'doctor', :resp, :fit, :immune, :active)"
    )
    people = [
        {"id": "P1", "name": "Ada", "resp": "tight:K2", "fit": '{"K2": "2026-02-10", "M1": "2025-12-01"}', "immune": "yes", "active": True},
        {"id": "P2", "name": "Bo", "resp": "tight:Q7", "fit": "{}", "immune": "no", "active": False},
        {"id": "P3", "name": "Cy", "resp": "hood", "fit": "{}", "immune": "unknown", "active": True},
    ]  # fmt: skip
    with engine.begin() as connection:
        connection.execute(put, people)
    command.upgrade(config, "head")
    with engine.connect() as connection:
        tests = connection.execute(text(
            "SELECT person_id, respirator.model, CAST(tested_on AS TEXT), result FROM fit_test "
            "JOIN respirator ON respirator.id = respirator_id ORDER BY person_id, respirator.model"
        )).all()  # fmt: skip
        models = connection.execute(text("SELECT model FROM respirator ORDER BY model")).scalars().all()
        immune = connection.execute(text("SELECT person_id, condition, state FROM immunity ORDER BY person_id")).all()
    assert [tuple(one) for one in tests] == [("P1", "K2", "2026-02-10", "pass"), ("P1", "M1", "2025-12-01", "pass")]
    assert list(models) == ["K2", "M1", "Q7"]
    assert [tuple(one) for one in immune] == [("P1", "measles", "yes"), ("P2", "measles", "no")]
    engine.dispose()
    command.downgrade(config, "0002")
    with engine.connect() as connection:
        back = connection.execute(text("SELECT id, fit, immune, active FROM person ORDER BY id")).all()
    assert [(one[0], json.loads(one[1]), one[2], bool(one[3])) for one in back] == [
        (person["id"], json.loads(str(person["fit"])), person["immune"], person["active"]) for person in people
    ]
    engine.dispose()
