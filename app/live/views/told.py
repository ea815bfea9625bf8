"""What an entry said, as messages and figures: names of people, of things and of steps in place of their codes.

`sentence` and `word` say it; `told` and `word` in `drawing` put it into the reader's language.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from typing import Any

from app.base.messages import N_, Filled
from app.base.moments import parse_moment
from app.case.happening import Happening
from app.case.sentences import Detail
from app.case.sentences import sentence as said
from app.case.vocabulary.course import RoleAssign
from app.live.now import CaseNow
from app.live.views.taps import READY, RIGHT

LISTS = frozenset({"has", "missing", "expired", "lost"})


def sentence(case: CaseNow, h: Happening) -> tuple[str, Mapping[str, Any]]:
    """The message of an entry, and what stands in its places."""
    told = said(h)
    places = copy(told.params)  # it has a sign for what was not said
    for field in told.people:
        places[field] = case.person(str(places[field])).name
    if h.kind == "role.assign" and isinstance(h.body, RoleAssign):
        places["roles"] = ", ".join(f"{role} {case.person(p).name}" for role, p in h.body.roles().items())
    elif h.kind == "local.done" and "name" in places:
        places["name"] = _done(case, str(places["name"]), str(getattr(h.body, "value", "")))
    elif h.kind == "doff.step" and "step" in places:
        places["step"] = _step(case, str(getattr(h.body, "p", "")), str(places["step"]), doffs=True)
    return told.message, places


def word(case: CaseNow, one: Detail) -> Any:
    """One more thing that an entry said: a name, a message, several, a moment or a figure."""
    field = one.field.removeprefix("set_")
    if one.person:
        return case.person(str(one.value)).name
    if field == "at" and isinstance(one.value, str):
        try:
            return parse_moment(one.value)
        except ValueError:
            return one.value
    if field in LISTS and isinstance(one.value, str):
        names = {item.code: item.name for tray in case.protocol.kit for item in tray.items}
        return tuple(names.get(code, code) for code in one.value.split(", "))
    return one.value


def _done(case: CaseNow, name: str, value: str) -> str:
    if name.startswith(RIGHT):
        return Filled(N_("dressing right: {step}"), step=_step(case, value, name.removeprefix(RIGHT), doffs=False))
    return Filled(N_("made ready: {item}"), item=name.removeprefix(READY)) if name.startswith(READY) else name


def _step(case: CaseNow, p: str, code: str, *, doffs: bool) -> str:
    """A step's words in the ensemble that somebody wears."""
    worn = case.protocol.ensemble(case.person(p).ensemble or case.state.setup.precaution or "")
    steps = () if worn is None else worn.doffing if doffs else worn.donning
    return next((step.text for step in steps if step.code == code), code)
