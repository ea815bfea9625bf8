"""All SQL about rooms."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from app.rooms.tables import Room


def rooms(engine: Engine) -> list[Room]:
    """Rooms in use, by name."""
    with Session(engine) as session:
        return list(session.exec(select(Room).where(col(Room.active)).order_by(col(Room.name))).all())


def all_facts(engine: Engine) -> dict[str, dict[str, Any]]:
    """What the first entry of a case keeps of its room."""
    with Session(engine) as session:
        return {room.id: facts(room) for room in session.exec(select(Room)).all()}


def facts(room: Room) -> dict[str, Any]:
    """What is known of a room; what nobody measured is left out."""
    said = {
        "id": room.id,
        "name": room.name,
        "ach": room.ach,
        "clear": room.clear,
        "anteroom": room.anteroom,
        "mixing": room.mixing,
    }
    return {name: value for name, value in said.items() if value is not None}


def add(engine: Engine, *added: Room) -> None:
    """New rooms; a known id is brought up to date."""
    with Session(engine) as session:
        for room in added:
            session.merge(room)
        session.commit()
