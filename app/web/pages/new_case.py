"""A new case from the desk: its row is made here; its opening and its crew are taps, which the page makes then."""

from __future__ import annotations

import asyncio
import json

from fastapi import Request
from fastapi.responses import HTMLResponse

from app.base.errors import NotValid
from app.people import store as people
from app.web.api import cases
from app.web.deps import live_of
from app.web.forms import form_of
from app.web.pages.crew import CREW
from app.web.pages.frame import show

SETUP = ("ref", "procedure", "pathogen", "precaution", "urgency", "age", "difficult")
REF_MOST = 40


async def open_case(request: Request) -> HTMLResponse:
    """POST: answers the taps that open the case, as a part of the page; or in words why there is no case."""
    form = await form_of(request)
    setup = {name: form[name] for name in SETUP if form.get(name)}
    organisms = await asyncio.to_thread(people.organisms, live_of(request).engine)
    if immune := next((one.immunity for one in organisms if one.name == setup.get("pathogen")), None):
        setup["immune_needed"] = immune  # R07 asks the register of immunity for this
    crew = {code: form[f"role-{code}"] for code in CREW if form.get(f"role-{code}")}
    try:
        if not 1 <= len(form.get("ref", "")) <= REF_MOST:
            raise NotValid("A case needs a reference of at most 40 characters.")
        case = await cases.make(request, form["ref"], form.get("room") or None)
    except NotValid as error:
        return show(request, "parts/_at_once.html", error=error)
    taps = [("case.open", setup), *([("role.assign", crew)] if crew else [])]
    made = [(kind, json.dumps(body, ensure_ascii=False)) for kind, body in taps]
    return show(request, "parts/_at_once.html", error=None, case=case, taps=made)
