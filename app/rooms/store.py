"""All SQL about rooms, beyond what every register has."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Engine, and_, func
from sqlmodel import Session, col, select

from app.base import news
from app.rooms.tables import Room, RoomCheck


def rooms(engine: Engine) -> list[Room]:
    """Rooms in use, by name."""
    with Session(engine) as session:
        return list(session.exec(select(Room).where(col(Room.active)).order_by(col(Room.name))).all())


def checks(engine: Engine, since: datetime) -> dict[str, list[RoomCheck]]:
    """Room -> its checks since a moment, oldest first; of each room at least the last one."""
    found: dict[str, list[RoomCheck]] = {}
    newest = (
        select(RoomCheck.room_id, func.max(RoomCheck.checked_at).label("at")).group_by(RoomCheck.room_id).subquery()
    )
    last = select(RoomCheck).join(
        newest, and_(col(RoomCheck.room_id) == newest.c.room_id, col(RoomCheck.checked_at) == newest.c.at)
    )
    with Session(engine) as session:
        query = select(RoomCheck).where(col(RoomCheck.checked_at) >= since).order_by(col(RoomCheck.checked_at))
        for check in session.exec(query).all():
            found.setdefault(check.room_id, []).append(check)
        for check in session.exec(last).all():
            found.setdefault(check.room_id, [check])
        for room_id in session.exec(select(Room.id).where(col(Room.active))).all():
            found.setdefault(room_id, [])
    return found


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
    """New rooms; a known id is brought up to date. For set-ups: what people change goes through the register."""
    with Session(engine) as session:
        for room in added:
            session.merge(room)
        news.tell(session.connection())
        session.commit()
