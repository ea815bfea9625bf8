"""Questions that many rules put to a state. Unknown is None and is never taken for yes or no."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from app.case.happening import Happening
from app.case.state import Person, State
from app.case.steps import airway_step
from app.protocol.library import age_group

STEP_KINDS = ("drug.given", "ext.out", "tr.incise", "tx.depart")
"""Kinds among which the airway step is found; of `drug.given` only the induction."""
LEVELS = {"contact": 1, "droplet": 2, "airborne": 3, "enhanced": 4}
"""Ensembles and precautions, least protection first."""
_NO_RESPIRATOR = frozenset({"none", "mask", "surgical", "surgical mask", "no"})
_FIGURE = re.compile(r"\d+(?:\.\d+)?")


def body(h: Happening) -> Any:
    """A happening's body where its kind is known, and with it the body's fields."""
    return h.body


def is_induction(h: Happening) -> bool:
    return h.kind == "drug.given" and body(h).class_ == "induction"


def is_step(h: Happening) -> bool:
    """Whether a happening could be the airway step (job map 6)."""
    return h.kind in STEP_KINDS and (h.kind != "drug.given" or is_induction(h))


def inductions(state: State) -> tuple[Happening, ...]:
    return tuple(h for h in state.all("drug.given") if is_induction(h))


def is_airway_step(before: State, h: Happening) -> bool:
    """Whether this happening is the airway step of its case: the first of its kind or kin."""
    return is_step(h) and airway_step(before) is None


def staff_entry(h: Happening) -> bool:
    """An entry of somebody who is not a visitor."""
    return str(body(h).visit) != "visitor"


def first_entry(before: State, h: Happening) -> bool:
    """Whether this entry into the room is the first of the team."""
    return staff_entry(h) and not any(staff_entry(earlier) for earlier in before.all("room.in"))


def immediate(state: State) -> bool:
    return state.setup.urgency == "immediate"


def is_child(state: State) -> bool:
    """A child by word or by years (below `CHILD_BELOW_YEARS`); unknown counts as adult, as protocols do."""
    return age_group("" if state.setup.age is None else str(state.setup.age)) == "child"


def age_years(state: State) -> float | None:
    """Age [a] where it was said in years."""
    age = state.setup.age
    if isinstance(age, str):
        return float(age) if _FIGURE.fullmatch(age) else None
    return age


def level(text: str | None) -> int | None:
    """How much a precaution or ensemble protects, 1 to 4; 0 for none; None when unknown.

    >>> level("airborne + contact"), level("none"), level(None)
    (3, 0, None)
    """
    if text is None:
        return None
    if text == "none":
        return 0
    return max((rank for word, rank in LEVELS.items() if word in text.casefold()), default=None)


def airborne(state: State) -> bool:
    """Whether the case is on airborne precautions or stricter."""
    return (level(state.setup.precaution) or 0) >= LEVELS["airborne"]


def enhanced(state: State, person: Person | None = None) -> bool:
    """Whether the case, or what this person wears, is of the highest level."""
    worn = level(person.ensemble) if person is not None else None
    return LEVELS["enhanced"] in (worn, level(state.setup.precaution))


def worn_respirator(person: Person) -> str | None:
    """What is worn over the face: as dressing or entry said, otherwise what the register says is normally worn."""
    told = person.respirator or person.facts.get("resp")
    return None if told is None else str(told)


def tight_model(respirator: str | None) -> str | None:
    """Model of a tight-fitting respirator, "" when unnamed; None for anything else."""
    if respirator is None or not respirator.startswith("tight"):
        return None
    return respirator.partition(":")[2]


def is_respirator(text: str | None) -> bool:
    return text is not None and text.casefold() not in _NO_RESPIRATOR


@lru_cache(maxsize=64)
def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")


def local_day(state: State, at: datetime) -> date:
    """The hospital's date at a moment."""
    return at.astimezone(_zone(state.room.tz)).date()


def day_of(told: object) -> date | None:
    """A date as registers write it, YYYY-MM-DD; None for anything else."""
    try:
        return date.fromisoformat(str(told))
    except ValueError:
        return None


def local_time_nearest(state: State, told: str, at: datetime) -> datetime | None:
    """The moment nearest to `at` at which the hospital's clocks show HH:MM; None when it is no time."""
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", told.strip())
    if match is None:
        return None
    zone = _zone(state.room.tz)
    here = at.astimezone(zone)
    same_day = here.replace(hour=int(match[1]), minute=int(match[2]), second=0, microsecond=0, fold=0)
    moments = [(same_day + timedelta(days=days)).astimezone(at.tzinfo) for days in (-1, 0, 1)]
    return min(moments, key=lambda moment: abs(moment - at))


def names(item: str, *words: str) -> bool:
    """Whether an item's name holds one of these words."""
    return any(word in item.casefold() for word in words)


def at_hand(state: State, *words: str) -> bool:
    """Whether something by one of these names lies on the clean or door tray, in the room, or was handed in.

    A door tray that was staged as complete without a list has what belongs on it.
    """
    tray = state.trays.get("door")
    if tray is not None and not tray.has and not any(names(item, *words) for item in tray.missing):
        return True
    places = (state.places.get(place, {}) for place in ("clean", "door", "room"))
    return any(names(item, *words) for place in places for item in place) or any(
        request.handed_in is not None and names(request.item or "", *words) for request in state.requests.values()
    )


def front_of_neck_at_hand(state: State) -> bool:
    return at_hand(state, "fona", "front-of-neck", "front of neck")


def reintubation_at_hand(state: State) -> bool:
    return at_hand(state, "reintub", "re-intub")


def first_figure(told: float | str | None) -> float | None:
    """The figure in a size such as 8.0 or "4.5 cuffed"; None without one."""
    if isinstance(told, str):
        match = _FIGURE.search(told)
        return None if match is None else float(match[0])
    return told


def happened_since(state: State, kind: str, since: Happening, fits: Callable[[Any], bool] = lambda body: True) -> bool:
    """Whether a happening of that kind, with a body that fits, came after another."""
    for h in reversed(state.all(kind)):
        if h.order <= since.order:
            return False
        if fits(h.body):
            return True
    return False
