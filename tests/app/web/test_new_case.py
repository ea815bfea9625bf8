"""The desk's form for a new case: the server makes the row and says which taps open it; the page makes them."""

from __future__ import annotations

import html
import json
import re

import pytest
from sqlmodel import Session

from app.people.tables import Organism
from tests.app.web.house import House

pytestmark = pytest.mark.anyio
CALL = {
    "ref": "C7",
    "procedure": "intubation",
    "precaution": "airborne",
    "age": "adult",
    "urgency": "",
    "role-AO": "Bea",
}


async def answer(house: House, **more: str) -> str:
    house.sign_in()
    said = await house.client.post("/desk/cases", data={**CALL, **more}, headers=house.as_("desk"))
    assert said.status_code == 200
    return str(said.text)


def taps(text: str) -> dict[str, dict[str, str]]:
    found = re.findall(r'data-kind="([^"]+)" data-body="([^"]+)"', text)
    return {kind: json.loads(html.unescape(body)) for kind, body in found}


async def test_the_answer_holds_the_opening_and_the_crew_without_what_was_left_empty(house: House) -> None:
    text = await answer(house)
    opening = {"ref": "C7", "procedure": "intubation", "precaution": "airborne", "age": "adult"}
    assert taps(text) == {"case.open": opening, "role.assign": {"AO": "Bea"}}
    assert re.search(r'data-at-once="[0-9a-f-]{36}"', text)


async def test_a_known_infection_brings_the_immunity_that_it_asks_for(house: House) -> None:
    fever = Organism(
        id="F", name="door fever", precaution="airborne", entry="immune", immunity="measles", source="test"
    )
    with Session(house.live.engine) as session:
        session.add(fever)
        session.commit()
    assert taps(await answer(house, pathogen="door fever"))["case.open"]["immune_needed"] == "measles"
    assert "immune_needed" not in taps(await answer(house, pathogen="something else"))["case.open"]


@pytest.mark.parametrize("wrong", [{"ref": ""}, {"ref": "x" * 41}, {"room": "R99"}])
async def test_what_makes_no_case_is_said_in_words_and_nothing_is_tapped(house: House, wrong: dict[str, str]) -> None:
    text = await answer(house, **wrong)
    assert "data-at-once" not in text
    assert re.search(r"needs a reference|not in the register", text)
