"""Who can take a role in this case: a pure choice over what the registers say, so that nobody is picked by habit.

First who may and can (signed off for the role, protected by a respirator that is in stock, drilled, entry condition
met), and of those the one who was least exposed this week. Nobody is left out: whoever does not fit comes after the
others with the reason, for a charge anaesthetist may know better. Ties fall by name, so the order is repeatable.
Spreading exposure and avoiding vulnerable staff: UK20 [G]; the order of the reasons: local default [L].
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from app.base.kinds import OUTSIDE_ROLES
from app.base.messages import N_

ELSEWHERE = N_("in another case now")
NO_ENTRY = N_("entry condition not met")
NO_RESPIRATOR = N_("no fit test for a model in stock")
NO_DRILL = N_("drill out of date")
NOT_SIGNED_OFF = N_("not signed off for this role")
_TIGHT = ("airborne", "enhanced")


@dataclass(frozen=True, slots=True)
class Known:
    """What the registers say of one person.

    roles      codes of roles that they are signed off for; empty: nobody entered any, so nothing is held against them
    fitted     models in which their last fit test counts and is in date
    may_enter  yes, no or unknown for what this case asks for; None when it asks for nothing
    no_entry   may not enter, for a reason that is known nowhere here
    worn       how often they wore a respirator in the last seven days
    elsewhere  has a role in a case that is open now
    """

    id: str
    name: str
    job: str
    roles: frozenset[str] = frozenset()
    fitted: frozenset[str] = frozenset()
    hood: bool = False
    drill: date | None = None
    may_enter: str | None = None
    no_entry: bool = False
    worn: int = 0
    elsewhere: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """One person for one role. `lacks` are messages, none when they are ready; `models`: what is in stock for them."""

    person: Known
    lacks: tuple[str, ...]
    models: tuple[str, ...]

    @property
    def ready(self) -> bool:
        return not self.lacks


def choices(
    people: Iterable[Known],
    *,
    role: str,
    precaution: str | None,
    stock: frozenset[str] | None,
    today: date,
    drill_days: int,
) -> tuple[Choice, ...]:
    """Everybody for one role, the best first.

    precaution  of the case; None is unknown and asks for what airborne asks for
    stock       models of which some are left; None where no stock is counted, so every fitted model counts
    drill_days  how long a drill is valid; day `drill_days` is still valid (R06) [days]
    """
    found = [_choice(one, role, precaution, stock, today, drill_days) for one in people]
    return tuple(sorted(found, key=lambda c: (len(c.lacks), c.person.worn, c.person.name, c.person.id)))


def _choice(
    one: Known, role: str, precaution: str | None, stock: frozenset[str] | None, today: date, drill_days: int
) -> Choice:
    models = tuple(sorted(one.fitted if stock is None else one.fitted & stock))
    lacks = [ELSEWHERE] if one.elsewhere else []
    if role not in OUTSIDE_ROLES:
        if one.no_entry or one.may_enter in ("no", "unknown"):
            lacks.append(NO_ENTRY)
        if precaution in (None, *_TIGHT) and not models and not one.hood:
            lacks.append(NO_RESPIRATOR)
    if one.roles and role not in one.roles:
        lacks.append(NOT_SIGNED_OFF)
    if one.drill is None or (today - one.drill).days > drill_days:
        lacks.append(NO_DRILL)
    return Choice(one, tuple(lacks), models)
