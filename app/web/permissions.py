"""Who may do what: each route names one of these (`routes.py`), and `deps.py` holds it."""

from __future__ import annotations

from enum import StrEnum
from functools import cached_property

from app.people.sign_in.values import Use


class Permission(StrEnum):
    """What a caller must be."""

    ANYONE = "anyone"
    STATION = "any paired station"
    KNOWN = "any station that was ever paired, also one that was revoked"
    INSIDE = "a paired inside station"
    OUTSIDE = "a paired outside station"
    BOARD = "a paired board"
    DESK = "a paired desk"
    DEMO = "anyone, while the demo runs"
    SETUP = "anyone, while nobody administers; the set-up code is asked for"
    VIEW = "somebody signed in at a desk"
    DOCUMENT = "somebody at a desk who may document"
    LEAD = "somebody at a desk who may lead"
    EDITOR = "somebody at a desk who may edit the department's registers"
    ADMIN = "somebody at a desk who may administer"

    @cached_property
    def kind(self) -> str | None:
        """The kind of station that is asked for, if one is."""
        if self.use is not None:
            return "desk"
        name = self.name.lower()
        return name if name in ("inside", "outside", "board", "desk") else None

    @cached_property
    def use(self) -> Use | None:
        """The kind of use that whoever is signed in must hold, if somebody must be."""
        name = self.name.lower()
        return Use(name) if name in frozenset(Use) else None
