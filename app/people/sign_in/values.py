"""Plain values about signing in: kinds of use, what a person may do, who is signed in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Use(StrEnum):
    """A kind of use. Work on cases is a ladder, view < document < lead; the two others stand beside it."""

    VIEW = "view"
    DOCUMENT = "document"
    LEAD = "lead"
    EDITOR = "editor"
    ADMIN = "admin"


LEVELS = (Use.VIEW, Use.DOCUMENT, Use.LEAD)
"""The ladder of work on cases: each holds those before it."""


@dataclass(frozen=True, slots=True)
class Rights:
    """What a person may do at a desk.

    level   how far they go in work on cases: view, document or lead; None = not at all
    editor  may change the department's registers
    admin   may say who signs in and with what rights

    Whoever keeps the registers need not be a clinician, and whoever leads a case need not keep registers: so these two
    are not steps above `lead`. Everyone who may do anything may view.
    """

    level: Use | None = None
    editor: bool = False
    admin: bool = False

    @property
    def uses(self) -> frozenset[Use]:
        """Every kind of use that is allowed."""
        held = set(LEVELS[: LEVELS.index(self.level) + 1]) if self.level is not None else set()
        held |= {use for use, given in ((Use.EDITOR, self.editor), (Use.ADMIN, self.admin)) if given}
        return frozenset(held | {Use.VIEW} if held else held)

    def shape(self) -> dict[str, object]:
        """As the history keeps them."""
        return {"level": self.level, "editor": self.editor, "admin": self.admin}


ALL_RIGHTS = Rights(Use.LEAD, editor=True, admin=True)


@dataclass(frozen=True, slots=True)
class SignedIn:
    """Who is signed in at a desk.

    id       of the person, as the register of people has it
    session  hash of the session's secret
    used_at  last sign of life that is stored
    """

    id: str
    name: str
    rights: Rights
    session: str
    used_at: datetime

    def may(self, use: Use) -> bool:
        """Whether they hold a kind of use."""
        return use in self.rights.uses


@dataclass(frozen=True, slots=True)
class Member:
    """A person of the register as the page of rights shows them. `has_pin`: whether one was ever given."""

    id: str
    name: str
    job: str
    rights: Rights
    has_pin: bool
    must_change: bool


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the history of rights: when, whose, what, and who did it (a name, or how)."""

    at: datetime
    name: str
    what: str
    by: str
    before: dict[str, object]
    after: dict[str, object]
