"""Taking a change back: a change of its own, which names the one that it takes back."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine

from app.base.database import writing
from app.base.errors import Conflict, DoorsideError
from app.base.register.spec import Register, Row
from app.base.register.store import history
from app.base.register.store.changing import put
from app.base.register.store.history import Change
from app.base.register.store.reading import look


def undo(register: Register, engine: Engine, change_id: str, *, who: str, now: datetime) -> str:
    """Takes one change back: what it altered becomes as it was, what was altered elsewhere stays. Gives the row's id.

    Raises Unknown for no such change, Conflict when it is taken back already or altered again since
    """
    with writing(engine) as connection:
        change = history.change(register, connection, change_id)
        pair = undone(change, look(register, connection, change.row_id))
        put(register, connection, [pair], who=who, now=now, undoes={change.row_id: change.id})
        return change.row_id


def undone(change: Change, now: Row | None) -> tuple[Row | None, Row | None]:
    """A row as it is and as it would be without a change. Raises Conflict."""
    again: DoorsideError = Conflict(
        "That was changed again since.", holds="Nothing was changed.", do="Take back the later change first."
    )
    if change.undone_by is not None:
        raise Conflict("That is taken back already.", holds="Nothing was changed.")
    if (now is None) != (change.after is None):
        raise again
    if change.before is None:
        if now != change.after:
            raise again
        return now, None
    if now is None or change.after is None:
        return now, change.before
    back = dict(now)
    for name, (before, after) in change.altered().items():
        if now.get(name) != after:
            raise again
        back[name] = before
    return now, back
