"""Signing in at a desk through its pages: cookies, places to return to, idle time, the first set-up, rights."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest
from sqlalchemy import text
from sqlmodel import Session

from app.base.time import utc_now
from app.people import store as people
from app.people.sign_in import store
from app.people.sign_in.pins import hashed
from app.people.sign_in.values import Rights, Use
from app.people.tables import Person, Shift
from app.web.sessions import COOKIE
from tests.app.web.house import House, refusal

pytestmark = pytest.mark.anyio
PIN, WRONG = "274931", "905173"
HTML = {"accept": "text/html"}


@pytest.fixture
def bo(house: House) -> str:
    """Somebody who may document, with a PIN, and nobody signed in yet."""
    people.add(house.live.engine, Person(id="U-Bo", name="Bo Hale", initials="BH", job="nurse"))
    store.set_rights(house.live.engine, "U-Bo", Rights(Use.DOCUMENT), now=utc_now(), how="test")
    store.set_pin(house.live.engine, "U-Bo", hashed(PIN), first=False, now=utc_now(), how="test")
    house.session = ""
    return "U-Bo"


async def post(house: House, path: str, **form: str) -> httpx.Response:
    return await house.client.post(path, data=form, headers=house.as_("desk") | HTML)


def take_session(house: House, answer: httpx.Response) -> None:
    """What a browser does with the cookie of an answer."""
    house.session = answer.cookies.get(COOKIE, "")
    house.client.cookies.clear()


# in and out


async def test_a_right_pin_leads_back_to_where_somebody_came_from(house: House, bo: str) -> None:
    answer = await post(house, "/sign-in", person=bo, pin=PIN, next="/case/1?x=2")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/case/1?x=2"
    cookie = answer.headers["set-cookie"]
    assert re.match(rf"{COOKIE}=[\w-]{{43}}; HttpOnly; Path=/; SameSite=strict$", cookie), cookie
    take_session(house, answer)
    assert "Bo Hale" in (await house.client.get("/desk", headers=house.as_("desk"))).text


@pytest.mark.parametrize(
    "target", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)", "", "/\n/x", "x"]
)
async def test_nobody_is_led_to_another_site(house: House, bo: str, target: str) -> None:
    answer = await post(house, "/sign-in", person=bo, pin=PIN, next=target)
    assert answer.headers["location"] == "/desk"


async def test_a_wrong_pin_is_told_on_the_page_with_the_name_still_chosen(house: House, bo: str) -> None:
    answer = await post(house, "/sign-in", person=bo, pin=WRONG, next="/desk/cases")
    assert answer.status_code == 401
    assert "That PIN is not right." in answer.text
    assert 'value="U-Bo" selected' in answer.text
    assert 'value="/desk/cases"' in answer.text
    assert WRONG not in answer.text
    assert "set-cookie" not in answer.headers


async def test_after_too_many_wrong_pins_the_wait_is_told_in_seconds(house: House, bo: str) -> None:
    for _ in range(5):
        await post(house, "/sign-in", person=bo, pin=WRONG)
    answer = await post(house, "/sign-in", person=bo, pin=PIN)
    assert answer.status_code == 429
    assert re.search(r"next try counts in \d+ s", answer.text)


async def test_one_tap_signs_out_and_a_kept_cookie_opens_nothing_more(house: House, bo: str) -> None:
    take_session(house, await post(house, "/sign-in", person=bo, pin=PIN))
    answer = await post(house, "/sign-out", next="/desk")
    assert answer.status_code == 303
    assert "clear-site-data" not in answer.headers, "the outbox stays"
    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert (await house.client.post("/api/here", headers=house.as_("desk"))).status_code == 401


async def test_whoever_is_idle_is_signed_out_and_a_sign_of_life_keeps_them_in(house: House) -> None:
    begun = utc_now()

    def at(minutes: float) -> None:
        moment: datetime = begun + timedelta(minutes=minutes)
        house.app.state.sessions.now = lambda: moment

    async def here() -> int:
        return (await house.client.post("/api/here", headers=house.as_("desk"))).status_code

    at(9)
    assert await here() == 204
    with house.live.engine.begin() as connection:  # the sign of life is written beside the answer
        connection.execute(text("UPDATE desk_session SET used_at = used_at"))
    store.used(house.live.engine, store.hash_of(house.session), house.app.state.sessions.now())
    at(18.9)
    assert await here() == 204
    store.used(house.live.engine, store.hash_of(house.session), house.app.state.sessions.now())
    at(30)
    assert await here() == 401


async def test_the_session_of_a_revoked_desk_is_refused(house: House) -> None:
    assert (await house.client.post("/api/here", headers=house.as_("desk"))).status_code == 204
    with house.live.engine.begin() as connection:
        connection.execute(text("UPDATE station SET revoked_at = created_at WHERE kind = 'desk'"))
    house.app.state.proofs.forget()
    assert (await house.client.post("/api/here", headers=house.as_("desk"))).status_code == 403


async def test_a_session_taken_to_another_desk_opens_nothing(house: House) -> None:
    stolen = house.session
    house.pair("desk")
    house.session = stolen
    assert (await house.client.post("/api/here", headers=house.as_("desk"))).status_code == 401


async def test_a_page_that_needs_a_name_offers_to_sign_in_and_comes_back(house: House, bo: str) -> None:
    answer = await house.client.get("/desk/people-rights?person=U-Bo", headers=house.as_("desk") | HTML)
    assert answer.status_code == 401
    assert 'action="/sign-in"' in answer.text
    assert 'value="/desk/people-rights?person=U-Bo"' in answer.text


async def test_a_script_is_told_to_sign_in_by_a_word(house: House, bo: str) -> None:
    answer = await house.client.post("/api/cases", json={"ref": "C1"}, headers=house.as_("desk"))
    assert answer.status_code == 401
    assert answer.json()["reason"] == "sign-in"


async def test_a_desk_without_anybody_shows_its_lists_and_where_to_sign_in(house: House, bo: str) -> None:
    await house.case("HX 7")
    page = await house.client.get("/desk", headers=house.as_("desk"))
    assert "HX 7" in page.text
    assert "/sign-in?next=/desk" in page.text
    assert "data-person" not in page.text


# taps of a desk


def desk_tap(house: House, case: str, **other: Any) -> dict[str, Any]:
    return house.tap(case, "note", {"text": "said at the desk"}, station=house.station("desk"), **other)


async def test_a_tap_of_a_desk_waits_until_somebody_has_signed_in(house: House, bo: str, case: str) -> None:
    tap = desk_tap(house, case)
    answer = await house.post([tap], "desk")
    told = refusal(answer, 0)
    assert (told["code"], told["reason"]) == (401, "sign-in")
    assert house.stored() == []
    take_session(house, await post(house, "/sign-in", person=bo, pin=PIN))
    assert (await house.post([tap], "desk")).status_code == 200
    assert house.stored() == [tap["id"]]


async def test_a_tap_carries_who_is_signed_in_and_the_record_keeps_it(house: House, bo: str, case: str) -> None:
    take_session(house, await post(house, "/sign-in", person=bo, pin=PIN))
    page = await house.client.get("/desk", headers=house.as_("desk"))
    assert f'data-person="{bo}"' in page.text
    await house.post([desk_tap(house, case, person=bo)], "desk")
    live = await house.live.cases.get(case)
    assert [entry.tap.person for entry in live.record.entries] == [bo]


async def test_nobody_speaks_in_anothers_name(house: House, bo: str, case: str) -> None:
    house.sign_in(name="Cy Ott")
    assert refusal(await house.post([desk_tap(house, case, person=bo)], "desk"), 0)["code"] == 401
    assert refusal(await house.post([desk_tap(house, case, person="nobody")], "desk"), 0)["code"] == 401


async def test_a_tap_made_while_its_person_was_there_is_taken_after_they_left(house: House, bo: str, case: str) -> None:
    take_session(house, await post(house, "/sign-in", person=bo, pin=PIN))
    tap = desk_tap(house, case, person=bo)
    await post(house, "/sign-out")
    house.session = ""
    assert (await house.post([tap], "desk")).status_code == 200


async def test_whoever_may_only_view_makes_no_entry(house: House, case: str) -> None:
    person = house.sign_in(Rights(Use.VIEW), "Vi Ames")
    assert refusal(await house.post([desk_tap(house, case, person=person)], "desk"), 0)["code"] == 422
    assert house.stored() == []


async def test_a_tap_inside_needs_nobody_and_names_nobody(house: House, bo: str, case: str) -> None:
    assert (await house.post([house.tap(case)])).status_code == 200
    assert refusal(await house.post([house.tap(case, person=bo)]), 0)["code"] == 422


# the first set-up


@pytest.fixture
async def empty(house: House) -> House:
    """A house in which nobody administers and this browser is nothing yet."""
    with house.live.engine.begin() as connection:
        for table in ("desk_session", "right_change", "person_right", "person"):
            connection.execute(text(f"DELETE FROM {table}"))
    house.session = ""
    return house


def setup(house: House, **other: str) -> dict[str, str]:
    code = house.app.state.setup.code
    return {"code": code, "name": "Una Quist", "job": "consultant", "pin": PIN, "again": PIN} | other


async def test_the_code_makes_the_first_administrator_and_this_browser_a_desk(empty: House) -> None:
    page = await empty.client.get("/setup")
    assert page.status_code == 200
    assert empty.app.state.setup.code not in page.text
    answer = await empty.client.post("/setup", data=setup(empty))
    assert answer.headers["location"] == "/desk"
    desk = await empty.client.get("/desk/people-rights")  # the client holds the two cookies that it was given
    assert desk.status_code == 200
    assert "Una Quist" in desk.text
    assert (await empty.client.get("/setup")).status_code == 404
    assert (await empty.client.post("/setup", data=setup(empty))).status_code == 404


@pytest.mark.parametrize(
    ("wrong", "status"),
    [({"code": ""}, 403), ({"code": "AAAA-AAAA-AAAA-AAAA"}, 403), ({"code": "é"}, 403), ({"name": " "}, 422),
     ({"pin": "123456", "again": "123456"}, 422), ({"again": WRONG}, 422), ({"name": "x" * 81}, 422)],
)  # fmt: skip
async def test_a_set_up_that_will_not_do_makes_nothing(empty: House, wrong: dict[str, str], status: int) -> None:
    answer = await empty.client.post("/setup", data=setup(empty, **wrong))
    assert answer.status_code == status
    assert 'role="alert"' in answer.text
    assert PIN not in answer.text
    assert not store.has_administrator(empty.live.engine)
    assert "set-cookie" not in answer.headers


def test_a_code_is_taken_whatever_its_case_and_its_dashes() -> None:
    from app.web.setup_code import SetUp

    made = SetUp()
    assert made.fits(made.code.lower().replace("-", " "))
    assert SetUp().code != made.code


# rights


async def test_an_administrator_gives_rights_and_a_first_pin_that_is_shown_once(house: House, bo: str) -> None:
    house.sign_in()
    answer = await post(house, f"/desk/people-rights/{bo}", level="lead", editor="on")
    assert answer.status_code == 303
    answer = await post(house, f"/desk/people-rights/{bo}/pin")
    (pin,) = re.findall(r'<b class="pin">(\d+)</b>', answer.text)
    assert pin not in (await house.client.get("/desk/people-rights", headers=house.as_("desk"))).text
    assert "document → lead + editor" in " ".join(answer.text.split())
    house.session = ""
    first = await post(house, "/sign-in", person=bo, pin=pin, next="/desk")
    assert first.status_code == 200
    assert 'action="/sign-in/pin"' in first.text
    assert "set-cookie" not in first.headers
    own = await post(house, "/sign-in/pin", person=bo, pin=pin, new="350917", again="350917", next="/desk")
    assert own.status_code == 303
    take_session(house, own)
    assert (await house.client.post("/api/here", headers=house.as_("desk"))).status_code == 204


async def test_the_last_administrator_cannot_lock_the_department_out(house: House) -> None:
    answer = await post(house, "/desk/people-rights/U-Una", level="lead")
    assert answer.status_code == 409
    assert "left to administer" in answer.text
    refused = await post(house, "/desk/people-rights/U-Una/pin")
    assert refused.status_code == 403


@pytest.mark.parametrize("form", [{"level": "king"}, {"level": "admin"}])
async def test_a_right_that_is_none_is_refused(house: House, bo: str, form: dict[str, str]) -> None:
    house.sign_in()
    assert (await post(house, f"/desk/people-rights/{bo}", **form)).status_code == 422


async def test_nothing_of_a_pin_stands_in_an_address(house: House, bo: str) -> None:
    for path in ("/sign-in?next=/desk", f"/sign-in/pin?person={bo}"):
        page = (await house.client.get(path, headers=house.as_("desk"))).text
        assert re.findall(r'<form[^>]*method="(\w+)" action="/sign-in', page) == ["post"]
        assert not {"pin", "new"} & parse_qs(urlsplit(path).query).keys()


async def test_who_writes_at_a_desk_is_named_in_the_record_and_is_no_member_of_the_crew(
    house: House, case: str
) -> None:
    person = house.sign_in(name="Vi Ames")
    await house.post([desk_tap(house, case, person=person)], "desk")
    (seen,) = house.live.seen((case,))
    assert [one.id for one in seen.crew] == []
    assert "by Vi Ames" in (await house.client.get(f"/case/{case}", headers=house.as_("desk"))).text


# the crew of a new case


async def test_the_crew_form_says_who_can_take_a_role_and_why_not_without_a_health_fact(house: House) -> None:
    engine = house.live.engine
    people.add(
        engine,
        Person(id="P1", name="Ready Rae", initials="RR", job="nurse", hood=True, drill=utc_now().date()),
        Person(id="P2", name="Barred Bo", initials="BB", job="nurse", hood=True, drill=utc_now().date(), no_entry=True),
    )
    answer = await post(house, "/desk/crew", precaution="airborne", **{"role-AO": "P1"})
    assert answer.status_code == 200
    page = " ".join(answer.text.split())
    assert '<option value="P1" selected>Ready Rae, nurse · hood</option>' in page
    assert "Barred Bo, nurse: entry condition not met" in page
    assert "no shift with its people is entered" in page
    now = utc_now()
    with Session(engine) as session:
        session.add(Shift(id="S", name="Late", starts_at=now - timedelta(hours=1), ends_at=now + timedelta(hours=1)))
        session.commit()
    page = (await post(house, "/desk/crew")).text
    assert "Ready Rae" in page, "a shift that names nobody leaves nobody out"
    assert "not on this shift" not in page


async def test_whoever_is_not_on_the_shift_can_be_picked_below_those_who_are(house: House) -> None:
    engine, now = house.live.engine, utc_now()
    hooded = {"job": "nurse", "hood": True, "drill": now.date()}
    people.add(
        engine,
        Person(id="P1", name="Here Hal", initials="HH", **hooded),
        Person(id="P2", name="Home Hedy", initials="HO", **hooded),
        Person(id="P3", name="Rusty Rob", initials="RU", job="nurse", hood=True),
    )
    with Session(engine) as session:
        hour = timedelta(hours=1)
        session.add(Shift(id="S", name="Late", starts_at=now - hour, ends_at=now + hour, people="P1"))
        session.commit()
    page = " ".join((await post(house, "/desk/crew", precaution="airborne", **{"role-AO": "P2"})).text.split())
    operator = page[page.index('name="role-AO"') :].partition("</select>")[0]
    groups = re.findall(r'<optgroup label="([^"]+)">(.*?)</optgroup>', operator)
    listed = {label: re.findall(r">([^<]+)</option>", said) for label, said in groups}
    assert list(listed) == ["can take it, least exposed this week first", "look again", "not on this shift"]
    first, again, others = listed.values()
    assert (first, again) == (["Here Hal, nurse · hood"], [])
    assert others[:2] == ["Home Hedy, nurse · hood", "Rusty Rob, nurse: drill out of date"], "the best first here, too"
    assert '<option value="P2" selected>' in operator


async def test_the_crew_form_is_for_whoever_may_document(house: House) -> None:
    house.sign_in(Rights(Use.VIEW), "Vi Ames")
    assert (await post(house, "/desk/crew")).status_code == 403
