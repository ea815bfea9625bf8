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

    @property
    def kind(self) -> str | None:
        """The kind of station that is asked for, if one is."""
        name = self.name.lower()
        return name if name in ("inside", "outside", "board", "desk") else None
