"""The worksheet's page and its fragment: figures go by a body, nothing is kept, nothing shows up in an address."""

from __future__ import annotations

import logging
import re
from urllib.parse import urlencode

import pytest
from sqlalchemy import inspect, text

from app.live.worksheet.fields import NAMES
from app.web.pages.worksheet import FORM_MOST
from tests.app.web.house import House, refusal

pytestmark = pytest.mark.anyio
FIGURES = "/worksheet/figures"
FORM = {"content-type": "application/x-www-form-urlencoded"}
PATIENT = "sex=M&age_y=50&height_cm=175&weight_kg=92%2C5&drugs=relaxant"


async def figures(house: House, body: str | bytes, **headers: str) -> str:
    answer = await house.client.post(FIGURES, content=body, headers={**FORM, **house.as_("desk"), **headers})
    assert answer.status_code == 200, answer.text
    return answer.text


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


async def test_the_page_opens_empty_and_says_who_checks_it_and_what_comes_first(house: House) -> None:
    answer = await house.client.get("/worksheet", headers=house.as_("desk"))
    said = words(answer.text)
    assert "To be checked by two people. Local policy and licensed practice come first." in said
    assert "to be signed by your pharmacy" in said
    assert "fig-value" not in answer.text
    assert answer.headers["cache-control"] == "no-store"


async def test_figures_come_back_for_what_was_typed_each_in_its_own_place(house: House) -> None:
    html = await figures(house, PATIENT)
    said = words(html)
    assert "70.5 kg rounded down" in said
    assert "564 mL" in said
    places = re.findall(r'id="(figures-[a-z]+)" class="ws-figures" hx-swap-oob="morph"', html)
    assert places == [f"figures-{name}" for name in ("patient", "breath", "tube", "apnoea", "journey", "air", "doses")]


async def test_every_value_of_the_fragment_has_its_source_and_caution_behind_it(house: House) -> None:
    rows = re.findall(r'<article class="fig".*?</article>', await figures(house, PATIENT), re.DOTALL)
    assert len(rows) >= 4
    for row in rows:
        assert re.search(r"<dt>Source</dt><dd>\w", row)
        assert re.search(r"<dt>Caution</dt><dd>\w", row)
        assert re.search(r"<dt>From</dt><dd>\w", row)


async def test_the_answer_holds_no_field_so_that_nothing_typed_can_be_lost(house: House) -> None:
    assert not re.search(r"<(?:input|select|textarea|form)\b", await figures(house, PATIENT))


async def test_no_id_stands_twice_on_the_page(house: House) -> None:
    answer = await house.client.get("/worksheet", headers=house.as_("desk"))
    for html in (answer.text, await figures(house, PATIENT + "&height_cm=175&sex=")):
        found = re.findall(r'\sid="([^"]+)"', html)
        assert len(found) == len(set(found))


async def test_what_was_typed_is_shown_as_text_and_never_as_markup(house: House) -> None:
    html = await figures(house, "sex=M&height_cm=%3Cb%3E1%3C%2Fb%3E")
    assert "<b>1</b>" not in html
    assert "cannot be read" in html


async def test_a_case_fills_in_its_room_and_no_name(house: House, case: str) -> None:
    opening = {"ref": "C1", "procedure": "intubation", "age": "adult", "pbw": 58}
    await house.post([house.tap(case, "case.open", opening), house.tap(case, "role.assign", {"TL": "Ada"})])
    answer = await house.client.get(f"/worksheet?case={case}", headers=house.as_("desk"))
    assert 'name="pbw_kg" type="text" inputmode="decimal" maxlength="40" value="58"' in answer.text
    assert "464 mL" in words(answer.text)
    assert "Ada" not in answer.text


async def test_a_case_that_does_not_exist_or_is_not_this_screens_is_refused(house: House, case: str) -> None:
    assert (await house.client.get("/worksheet?case=none", headers=house.as_("desk"))).status_code == 404
    house.pair("desk", await house.case("C2"))
    answer = await house.client.get(f"/worksheet?case={case}", headers=house.as_("desk"))
    assert answer.status_code == 403
    refusal(answer)


async def test_figures_are_never_taken_from_an_address(house: House) -> None:
    assert (await house.client.get(f"{FIGURES}?{PATIENT}", headers=house.as_("desk"))).status_code == 405
    html = (await house.client.get(f"/worksheet?{PATIENT}", headers=house.as_("desk"))).text
    assert "fig-value" not in html


async def test_another_site_cannot_ask_for_figures(house: House) -> None:
    headers = {**FORM, **house.as_("desk"), "sec-fetch-site": "cross-site"}
    assert (await house.client.post(FIGURES, content=PATIENT, headers=headers)).status_code == 403


async def test_nothing_of_a_worksheet_is_kept_or_logged(house: House, caplog: pytest.LogCaptureFixture) -> None:
    engine = house.live.engine

    def everything() -> list[object]:
        with engine.connect() as connection:
            names = inspect(engine).get_table_names()
            return [tuple(row) for name in names for row in connection.execute(text(f'SELECT * FROM "{name}"'))]

    before = everything()
    with caplog.at_level(logging.DEBUG):
        await figures(house, PATIENT.replace("175", "173.4"))
    assert everything() == before
    assert "173.4" not in "".join(record.getMessage() for record in caplog.records if record.name != "httpcore")


@pytest.mark.parametrize("body", [b"\xff\xfe", b"&".join(b"a%d=1" % n for n in range(200))], ids=["bytes", "fields"])
async def test_what_is_no_form_is_refused_in_words(house: House, body: bytes) -> None:
    answer = await house.client.post(FIGURES, content=body, headers={**FORM, **house.as_("desk")})
    assert answer.status_code == 400
    assert refusal(answer)["holds"] == "Nothing of it was kept."


async def test_a_form_that_is_too_long_is_refused(house: House) -> None:
    answer = await house.client.post(FIGURES, content=b"a" * (FORM_MOST + 1), headers={**FORM, **house.as_("desk")})
    assert answer.status_code == 413
    refusal(answer)


@pytest.mark.parametrize("figure", ["1e400", "-1", "NaN", "Infinity", "0x10", "١٧٥", "1_75", "\x00", "🫁", "9" * 100])
async def test_odd_figures_in_every_field_give_sentences_and_never_an_error(house: House, figure: str) -> None:
    html = await figures(house, urlencode(dict.fromkeys(sorted(NAMES), figure)))
    for shown in re.findall(r'class="(?:fig-value|use-amount)">([^<]*)', html):
        assert re.fullmatch(r"[0-9.:–/ ]+", shown), shown


async def test_the_desk_and_a_case_lead_to_the_worksheet(house: House, case: str) -> None:
    assert 'href="/worksheet"' in (await house.client.get("/desk", headers=house.as_("desk"))).text
    shown = (await house.client.get(f"/case/{case}", headers=house.as_("desk"))).text
    assert f'href="/worksheet?case={case}"' in shown
