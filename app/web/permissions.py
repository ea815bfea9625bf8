"""Who may do what: each route names one of these (`routes.py`), and `deps.py` holds it."""

from __future__ import annotations

from enum import StrEnum


class Permission(StrEnum):
    """What a caller must be."""

    ANYONE = "anyone"
    STATION = "any paired station"
    INSIDE = "a paired inside station"
    OUTSIDE = "a paired outside station"
    BOARD = "a paired board"
    DESK = "a paired desk"
    DEMO = "anyone, while the demo runs"
    VIEW = "somebody signed in at a desk"
    DOCUMENT = "somebody at a desk who may document"
    LEAD = "somebody at a desk who may lead"
    EDITOR = "somebody at a desk who may edit the department's registers"
    ADMIN = "somebody at a desk who may administer"

    @property
    def kind(self) -> str | None:
        """The kind of station that is asked for, if one is."""
        name = self.name.lower()
        if name in ("view", "document", "lead", "editor", "admin"):
            return "desk"
        return name if name in ("inside", "outside", "board", "desk") else None
