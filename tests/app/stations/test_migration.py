"""Going to the pairings of 0002 and back loses no station and nothing that it serves."""

from __future__ import annotations

from typing import Any

from alembic import command
from sqlalchemy import Engine, text

from app.base.database import alembic_config
from app.stations.store import known, listed

WHEN, LATER = "2026-11-03 14:10:00", "2026-11-03 15:10:00"
HASH = "2bb80d537b1da3e38bd30361aa855686bde0eacd7162fef6a25fe97bf527a25b"
"""SHA-256 of `secret`."""
STATIONS: tuple[dict[str, Any], ...] = (
    {"id": "every", "all": True, "revoked": None},
    {"id": "one", "all": False, "revoked": None},
    {"id": "gone", "all": True, "revoked": LATER},
    {"id": "gone-one", "all": False, "revoked": LATER},
)


def test_stations_of_before_go_on(engine: Engine, database_url: str) -> None:
    command.downgrade(alembic_config(database_url), "0001")
    with engine.begin() as connection:
        for one in STATIONS:
            connection.execute(
                text(
                    "INSERT INTO station (id, kind, label, secret_hash, language, all_cases, created_at, revoked_at) "
                    f"VALUES (:id, 'inside', 'x', '{HASH}', 'en', :all, '{WHEN}', :revoked)"
                ),
                one,
            )
            if not one["all"]:
                connection.execute(
                    text(f"INSERT INTO station_case (station_id, case_id, paired_at) VALUES (:id, 'A', '{WHEN}')"), one
                )
    command.upgrade(alembic_config(database_url), "0002")
    found = {one.station.id: one.station for one in listed(engine)}
    assert {id_: (one.all_cases, one.cases, one.revoked) for id_, one in found.items()} == {
        "every": (True, (), False), "one": (False, ("A",), False), "gone": (False, (), True), "gone-one": (False, (), True),
    }  # fmt: skip
    assert known(engine, "every.secret", "inside").serves("any")
    assert found["gone"].served("any")
    assert found["gone-one"].served("A")
    command.downgrade(alembic_config(database_url), "0001")
    with engine.connect() as connection:
        back = connection.execute(text("SELECT id, all_cases FROM station ORDER BY id")).all()
        cases = connection.execute(text("SELECT station_id, case_id FROM station_case ORDER BY station_id")).all()
    assert [(id_, bool(every)) for id_, every in back] == [
        ("every", True), ("gone", True), ("gone-one", False), ("one", False),
    ]  # fmt: skip
    assert [tuple(row) for row in cases] == [("gone-one", "A"), ("one", "A")]
    command.upgrade(alembic_config(database_url), "head")
