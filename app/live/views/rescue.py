"""What was declared, since when, what it needs and who comes: the same words on both sides of the door."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.kinds import ROLES
from app.base.messages import N_
from app.case.state import Request
from app.case.vocabulary.kit import HelpArrive, HelpCall
from app.live.now import CaseNow
from app.live.views.situation import rung
from app.live.views.taps import Offer

COMING_MOST = 3
_KIT_OF = {"B": ("sga_sizes", "flexible_scope", "fona"), "C": ("fona",), "D": ("fona",)}
"""What of the door tray a plan uses, or the one after it."""


@dataclass(frozen=True, slots=True)
class Thing:
    """Something of the rescue: what, where it is (door, or the state of its request), since when."""

    item: str
    where: str
    since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Help:
    """Help that was called: who, since when, and once somebody came, who and when."""

    who: str
    called: datetime
    arrived: datetime | None
    came: str
    here: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class Rescue:
    """One room in rescue, or with help on its way.

    plan    letter and title, empty when nothing is declared; since: when it was declared
    limit   the department's own limit in words; needs: what is done in the room; runner: what the door does
    things  what is at the door and what is coming
    """

    room: str
    case: str
    plan: str
    title: str
    since: datetime | None
    limit: str
    needs: tuple[str, ...]
    runner: str
    comes: str
    begun: datetime | None
    things: tuple[Thing, ...]
    help: Help | None


@dataclass(frozen=True, slots=True)
class RescueView:
    """Rooms where it does not go to plan; none when all goes well."""

    rooms: tuple[Rescue, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RescueView:
        return cls(tuple(found for case in cases if (found := _rescue(case)) is not None))


def _rescue(case: CaseNow) -> Rescue | None:
    state, step, help_ = case.state, rung(case), _help(case)
    if state.closed_at is not None or (step is None and (help_ is None or help_.arrived is not None)):
        return None
    begun = state.last("fona.start")
    return Rescue(
        case.room,
        case.id,
        "" if step is None else step.step,
        "" if step is None else step.title,
        state.rescues[-1][1] if step is not None and state.rescues else None,
        "" if step is None else step.limit,
        () if step is None else step.in_room,
        "" if step is None else step.runner_does,
        "" if step is None else step.who_comes,
        begun.at if begun is not None and step is not None and step.step == "D" else None,
        () if step is None else _things(case, step.step),
        help_,
    )


def _things(case: CaseNow, plan: str) -> tuple[Thing, ...]:
    """What is asked for and not here yet, the newest first; then what of the plan's kit is here or at the door."""
    waiting = sorted(case.state.open_requests, key=_newest, reverse=True)
    coming = [Thing(r.item or "", r.state.value, r.handed_in or r.acknowledged or r.asked) for r in waiting]
    return (*coming[:COMING_MOST], *_kit(case, plan))


def _newest(request: Request) -> tuple[bool, datetime | None]:
    return (request.asked is not None, request.asked)


def _kit(case: CaseNow, plan: str) -> list[Thing]:
    """The kit that a plan needs: inside once it was received, otherwise at the door when the tray holds it."""
    tray, laid = case.protocol.tray("door"), case.state.trays.get("door")
    names = {item.code: item.name for item in tray.items} if tray is not None else {}
    found = []
    for code in _KIT_OF.get(plan, ()):
        asked = next((r for r in case.state.requests.values() if _means(case, r, code) and r.cancelled is None), None)
        if asked is not None and asked.received is not None:
            found.append(Thing(asked.item or "", N_("inside"), asked.received))
        elif asked is None and laid is not None and code in laid.has and code in names:
            found.append(Thing(names[code].partition(":")[0], N_("at the door")))
    return found


def _means(case: CaseNow, request: Request, code: str) -> bool:
    """Whether a request asks for a thing of the door tray, by the protocol's own list."""
    item = (request.item or "").casefold()
    choices = [choice for stage in case.protocol.phases for choice in stage.requests]
    return any(choice.item.casefold() == item and choice.kit_code == code for choice in choices)


def _help(case: CaseNow) -> Help | None:
    """The last call for help: open until somebody is said to have come after it."""
    state = case.state
    called = state.last("help.call")
    if called is None or not isinstance(called.body, HelpCall):
        return None
    came = next((h for h in state.all("help.arrive") if called.order < h.order), None)
    name = "" if came is None or not isinstance(came.body, HelpArrive) or came.body.p is None else came.body.p
    return Help(
        ROLES.get(called.body.who or "", called.body.who or ""),
        called.at,
        None if came is None else came.at,
        case.person(name).name if name else "",
        () if came is not None else _who_came(case, called.at),
    )


def _who_came(case: CaseNow, called: datetime) -> tuple[Offer, ...]:
    """One tap for each who may be the help: those who went in since, else the second operator, else nobody by name."""
    state = case.state
    since = [p for p in state.inside if case.person(p).stays[-1].entered >= called]
    people = since or [p for role in ("SO", "OR") for p in state.roles.get(role, ())]
    named = tuple(Offer("help.arrive", N_("is here"), case.id, {"p": p}, who=case.person(p).name) for p in people[:2])
    return named or (Offer("help.arrive", N_("Help is here"), case.id),)
