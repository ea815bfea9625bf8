"""All SQL about kit, beyond what every register has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TypeVar

from sqlalchemy import Engine, and_, func
from sqlmodel import Session, SQLModel, col, select

from app.kit.cylinders import Judged, judged
from app.kit.ready import Ready, ready
from app.kit.tables import (
    Cylinder,
    Kit,
    KitCheck,
    KitContent,
    KitTemplate,
    KitTemplateItem,
    Respirator,
    RespiratorStock,
)

T = TypeVar("T", bound=SQLModel)


def respirators(engine: Engine) -> list[Respirator]:
    """Models in use, by name."""
    with Session(engine) as session:
        query = select(Respirator).where(col(Respirator.active)).order_by(col(Respirator.model))
        return list(session.exec(query).all())


def stock(engine: Engine) -> list[tuple[Respirator, RespiratorStock]]:
    """Every count of stock with its model."""
    query = select(Respirator, RespiratorStock).join(
        RespiratorStock, col(RespiratorStock.respirator_id) == col(Respirator.id)
    )
    with Session(engine) as session:
        rows = session.exec(query.order_by(col(Respirator.model), col(RespiratorStock.size))).all()
        return [(model, count) for model, count in rows]


def cylinders(engine: Engine, now: datetime, today: date, *, check_h: int, least_percent: int) -> list[Judged]:
    """Every cylinder in use, judged; those that need a look first."""
    with Session(engine) as session:
        rows = session.exec(select(Cylinder).where(col(Cylinder.active)).order_by(col(Cylinder.label))).all()
    found = [judged(one, now, today, check_h=check_h, least_percent=least_percent) for one in rows]
    return sorted(found, key=lambda one: not one.needs_look)


def kits(
    engine: Engine,
    now: datetime,
    today: date,
    *,
    check_h: int,
    used: Mapping[str, datetime] | None = None,
    cylinders: Sequence[Judged] = (),
) -> list[Ready]:
    """Every kit in use, judged; those that need a look first. used: kit's name -> when a case last took it."""
    with Session(engine) as session:
        templates = {one.id: one for one in session.exec(select(KitTemplate)).all()}
        items = _by(session, KitTemplateItem, "template_id", "name")
        contents = _by(session, KitContent, "kit_id", "code")
        checks = _last_checks(session)
        found = [
            ready(
                one, templates[one.template_id], items.get(one.template_id, []), contents.get(one.id, []),
                checks.get(one.id, []), now, today, check_h=check_h, used_at=(used or {}).get(one.name),
                cylinders=[cylinder for cylinder in cylinders if cylinder.cylinder.kit_id == one.id],
            )
            for one in session.exec(select(Kit).where(col(Kit.active)).order_by(col(Kit.name))).all()
        ]  # fmt: skip
    return sorted(found, key=lambda one: not one.needs_look)


def _last_checks(session: Session) -> dict[str, list[KitCheck]]:
    """Kit -> its last check alone: a year of daily ones is not read to see today's."""
    newest = select(KitCheck.kit_id, func.max(KitCheck.checked_at).label("at")).group_by(KitCheck.kit_id).subquery()
    query = select(KitCheck).join(
        newest, and_(col(KitCheck.kit_id) == newest.c.kit_id, col(KitCheck.checked_at) == newest.c.at)
    )
    return {check.kit_id: [check] for check in session.exec(query).all()}


def _by(session: Session, table: type[T], of: str, order: str) -> dict[str, list[T]]:
    found: dict[str, list[T]] = {}
    for row in session.exec(select(table).order_by(getattr(table, order))).all():
        found.setdefault(getattr(row, of), []).append(row)
    return found
