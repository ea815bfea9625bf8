"""Pairing by a code, what a station says of itself, revoking, and taps that wait for a lead."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import text

from app.base.time import utc_now
from app.journal import store as journal
from app.people.sign_in.values import Rights, Use
from app.rooms import store as rooms
from app.rooms.tables import Room
from app.stations import codes, store
from app.stations import held as held_store
from app.stations.values import Pairing, Plan, Station
from app.web.api.stations import elsewhere
from app.web.deps import cookie_name
from tests.app.web.house import House

pytestmark = pytest.mark.anyio


def code_for(house: House, **plan: Any) -> str:
    given = Plan(**({"kind": "inside", "label": "Tablet 2"} | plan))
    return codes.make(house.live.engine, given, house.app.state.code_key, utc_now())


async def use(house: House, code: str, headers: dict[str, str] | None = None) -> Any:
    return await house.client.post("/pair", data={"code": code}, headers=headers or {})


def take_cookie(house: House, answer: Any, kind: str) -> str:
    """Makes the cookie of an answer the one that the house sends; gives the station's id."""
    set_cookie = answer.headers["set-cookie"]
    house.cookies[kind] = re.search(rf"{cookie_name(kind)}=([^;]+)", set_cookie)[1]  # type: ignore[index]
    house.client.cookies.clear()
    return house.station(kind)


async def revoke(house: House, kind: str = "inside") -> None:
    answer = await house.client.post(f"/desk/stations/{house.station(kind)}/revoke", headers=house.as_("desk"))
    assert answer.status_code == 303


async def decide(house: House, do: str, *taps: dict[str, Any]) -> None:
    fields = {f"tap-{tap['id']}": "on" for tap in taps}
    answer = await house.client.post("/desk/stations/held", data={"do": do, **fields}, headers=house.as_("desk"))
    assert answer.status_code == 303


async def statuses(house: House, taps: list[Any]) -> list[str]:
    return [result["status"] for result in (await house.post(taps)).json()["results"]]


async def test_a_code_made_at_the_desk_pairs_a_screen_and_opens_its_page(house: House) -> None:
    form = {"kind": "outside", "label": "Door 4", "language": "de", "serves": "all"}
    shown = await house.client.post("/desk/stations/codes", data=form, headers=house.as_("desk"))
    code = re.search(r'class="code">([^<]+)<', shown.text)[1]  # type: ignore[index]
    assert "<svg" in shown.text
    assert "style=" not in shown.text, "the policy refuses it"
    assert f"/pair#{code}" not in shown.text.replace(" ", ""), "only the picture carries the code in an address"
    answer = await use(house, code)
    assert (answer.status_code, answer.headers["location"]) == (303, "/outside")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "secure" not in cookie, "over http a secure cookie would never come back"
    id_ = take_cookie(house, answer, "outside")
    station = store.of_id(house.live.engine, id_)
    assert station is not None
    assert (station.kind, station.label, station.language, station.all_cases) == ("outside", "Door 4", "de", True)
    assert (await house.client.get("/outside", headers=house.as_("outside"))).status_code == 200


async def test_under_https_the_cookie_is_sent_over_https_alone(house: House) -> None:
    answer = await house.client.post("https://door/pair", data={"code": code_for(house)})
    assert "secure" in answer.headers["set-cookie"].lower()


@pytest.mark.parametrize(
    ("typed", "status", "words"),
    [("", 422, "8 characters"), ("ABCD0FGH", 422, "8 characters"), ("23456789", 404, "not known"), ("x" * 3000, 422, "8 characters")],
)  # fmt: skip
async def test_a_wrong_code_is_told_in_words_and_pairs_nothing(
    house: House, typed: str, status: int, words: str
) -> None:
    before = len(store.listed(house.live.engine))
    answer = await use(house, typed)
    assert answer.status_code == status
    assert words in answer.text
    assert "set-cookie" not in answer.headers
    assert len(store.listed(house.live.engine)) == before


async def test_the_sixth_attempt_of_a_minute_is_not_even_looked_at(house: House) -> None:
    for _ in range(5):
        assert (await use(house, "23456789")).status_code == 404
    answer = await use(house, code_for(house))
    assert answer.status_code == 429
    assert "Wait" in answer.text
    assert "set-cookie" not in answer.headers


async def test_a_browser_that_was_a_station_goes_on_under_its_id(house: House, case: str) -> None:
    before = house.station("inside")
    tap = house.tap(case)
    answer = await use(house, code_for(house, cases=(case,)), house.as_("inside"))
    assert take_cookie(house, answer, "inside") == before
    assert await statuses(house, [tap]) == ["stored"]


async def test_another_kind_of_screen_in_the_same_browser_is_another_station(house: House) -> None:
    answer = await use(house, code_for(house, kind="board"), house.as_("inside"))
    assert take_cookie(house, answer, "board") != house.station("inside")


async def test_the_page_of_stations_says_how_each_is(house: House, case: str) -> None:
    said = {
        "station": house.station("inside"), "page": "inside", "cases": [case], "battery_percent": 12, "charging": False,
        "offset_ms": -2500, "error_ms": 40, "waiting": 3, "refused": 1, "version": "0.0.1",
    }  # fmt: skip
    answer = await house.client.post("/api/station", json=said, headers=house.as_("inside"))
    assert answer.json() == {"go": None}
    page = (await house.client.get("/desk/stations", headers=house.as_("desk"))).text
    for words in ("The inside", "battery 12 %", "clock off by -2.5 s ± 0.0 s", "3 waiting to be sent", "1 refused",
                  "shows version 0.0.1: reload it"):  # fmt: skip
        assert words in page
    assert "has not told its battery and clock yet" in page, "the others"


async def test_reports_that_bring_no_news_are_not_written_down(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    written: list[int] = []
    monkeypatch.setattr(store, "report", lambda _engine, _id, said: written.append(said.waiting))
    for waiting in (0, 0, 0, 2, 3, 0):
        said = {"station": house.station("inside"), "waiting": waiting}
        assert (await house.client.post("/api/station", json=said, headers=house.as_("inside"))).status_code == 200
    assert written == [0, 2, 0]


async def test_a_screen_cannot_report_for_another(house: House) -> None:
    said = {"station": house.station("board"), "waiting": 9}
    assert (await house.client.post("/api/station", json=said, headers=house.as_("inside"))).status_code == 403


async def test_what_a_revoked_station_sends_is_held_and_enters_the_record_by_a_leads_word(
    house: House, case: str
) -> None:
    taps = [house.tap(case, body={"spo2": 90 + n}) for n in range(3)]
    await revoke(house)
    answer = await house.post(taps)
    assert answer.status_code == 202
    assert [result["status"] for result in answer.json()["results"]] == ["held"] * 3
    assert await statuses(house, taps) == ["held"] * 3
    assert house.stored() == []
    page = (await house.client.get("/desk/stations", headers=house.as_("desk"))).text
    assert page.count('type="checkbox" name="tap-') == 3
    assert "Figures read" in page
    desk = (await house.client.get("/desk", headers=house.as_("desk"))).text
    assert "3 taps wait for a lead" in desk
    assert 'href="/desk/stations#held"' in desk
    await decide(house, "accepted", *taps)
    assert "for a lead" not in (await house.client.get("/desk", headers=house.as_("desk"))).text
    assert house.stored() == [tap["id"] for tap in taps], "once, in the order in which they were made"
    assert {entry.tap.station for entry in journal.entries(house.live.engine, case)} == {house.station("inside")}
    assert await statuses(house, taps) == ["already"] * 3, "the screen drops them now"
    assert 'name="tap-' not in (await house.client.get("/desk/stations", headers=house.as_("desk"))).text


async def test_the_desk_hears_that_other_taps_wait_than_it_shows_and_takes_none_that_it_has_not_shown(
    house: House, case: str
) -> None:
    async def asked(mark: str) -> str | None:
        answer = await house.client.get(f"/desk/stations/list?held={mark}", headers=house.as_("desk"))
        return answer.headers.get("hx-trigger")

    def mark_in(html: str) -> str:
        return re.search(r'id="held-mark" name="held" value="(\w+)"', html)[1]  # type: ignore[index]

    seen, unseen = house.tap(case), house.tap(case)
    await revoke(house)
    page = (await house.client.get("/desk/stations", headers=house.as_("desk"))).text
    assert await asked(mark_in(page)) is None
    await house.post([seen])
    assert await asked(mark_in(page)) == "held"
    part = (await house.client.get("/desk/stations/held?lead=true", headers=house.as_("desk"))).text
    assert await asked(mark_in(part)) is None
    assert "<html" not in part
    shown = re.findall(r'type="hidden" name="tap-([\w-]+)"', part)
    assert shown == [seen["id"]], "what the button for all of them sends"
    await house.post([unseen])
    await decide(house, "accepted", *({"id": id_} for id_ in shown))
    assert house.stored() == [seen["id"]]
    assert await asked(mark_in(part)) == "held", "another waits, and one no more"


async def test_a_lead_may_refuse_one_and_take_another(house: House, case: str) -> None:
    good, bad = house.tap(case), house.tap(case)
    await revoke(house)
    await house.post([good, bad])
    await decide(house, "refused", bad)
    await decide(house, "accepted", good)
    assert await statuses(house, [good, bad]) == ["already", "refused"]
    refused = (await house.post([bad])).json()["results"][0]
    assert refused["code"] == 422, "an outbox shows what is refused so, and does not send it again"
    assert "A lead" in refused["error"]
    assert house.stored() == [good["id"]]


async def test_only_a_lead_decides_and_revokes(house: House, case: str) -> None:
    tap = house.tap(case)
    await revoke(house)
    await house.post([tap])
    house.sign_in(Rights(Use.DOCUMENT), "Cy Ott")
    everything = {"do": "accepted", f"tap-{tap['id']}": "on"}
    answer = await house.client.post("/desk/stations/held", data=everything, headers=house.as_("desk"))
    assert answer.status_code == 403
    assert house.stored() == []
    revoking = f"/desk/stations/{house.station('board')}/revoke"
    assert (await house.client.post(revoking, headers=house.as_("desk"))).status_code == 403


async def test_the_record_of_decisions_says_who(house: House, case: str) -> None:
    tap = house.tap(case)
    await revoke(house)
    await house.post([tap])
    await decide(house, "accepted", tap)
    with house.live.engine.connect() as connection:
        row = connection.execute(text("SELECT decision, decided_by FROM held_tap")).one()
    assert tuple(row) == ("accepted", "U-Una")


async def test_a_stolen_or_made_up_secret_stores_nothing(house: House, case: str) -> None:
    tap, stolen = house.tap(case), house.cookies["inside"]
    await revoke(house)
    answer = await use(house, code_for(house), house.as_("inside"))
    take_cookie(house, answer, "inside")
    house.cookies["inside"] = stolen
    for _ in range(2):
        answer = await house.post([tap])
        assert answer.status_code == 401
        house.cookies["inside"] = f"{house.station('inside')}.guessed"
    assert house.stored() == []
    assert held_store.waiting(house.live.engine) == []


async def test_a_revoked_session_is_refused_everywhere_and_told_so(house: House, case: str) -> None:
    for kind, paths in (
        ("board", ("/board", f"/wall/{case}", "/diagnostics")),
        ("desk", ("/desk", f"/case/{case}", "/desk/stations")),
    ):
        store.revoke(house.live.engine, house.station(kind), utc_now())
        await house.app.state.lines.look()
        for path in paths:
            answer = await house.client.get(path, headers=house.as_(kind))
            assert answer.status_code == 403, path
            assert answer.json()["reason"] == "revoked"
    said = {"station": house.station("board")}
    answer = await house.client.post("/api/station", json=said, headers=house.as_("board"))
    assert (answer.status_code, answer.json()["reason"]) == (403, "revoked")


async def test_a_tap_made_after_its_station_went_to_another_case_is_held(house: House, case: str) -> None:
    other = await house.case("C2")
    house.pair("inside", case)
    early = house.tap(case)
    store.pair(house.live.engine, kind="inside", label="x", now=utc_now() + timedelta(seconds=1), cases=(other,),
               renews=(id_ := house.station("inside")))  # fmt: skip
    station = store.of_id(house.live.engine, id_)
    assert station is not None
    late = house.tap(case, device_at=(utc_now() + timedelta(seconds=4)).isoformat(timespec="milliseconds"))
    unsure = late | {"id": house.tap(case)["id"], "error_ms": 30_000}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.web.api.entries.known_stations_of", lambda _request: {id_: station})
        patch.setattr("app.web.deps.known_stations_of", lambda _request: {id_: station})
        assert await statuses(house, [early, late, unsure, house.tap(other)]) == ["stored", "held", "stored", "stored"]


async def test_a_case_that_begins_in_a_room_opens_on_the_rooms_screen_and_closes_there(house: House) -> None:
    rooms.add(house.live.engine, Room(id="R4", name="Room 4", ach=12, clear=99))
    house.live.registers.read()
    station = take_cookie(house, await use(house, code_for(house, room="R4")), "inside")
    page = await house.client.get("/inside", headers=house.as_("inside"))
    assert 'data-cases=""' in page.text or "data-cases" not in page.text

    def paired_to() -> tuple[str, ...]:
        return store.of_id(house.live.engine, station).cases  # type: ignore[union-attr]

    made = await house.client.post("/api/cases", json={"ref": "C7", "room": "R4"}, headers=house.as_("desk"))
    case = made.json()["case"]
    assert paired_to() == (case,)
    said = {"station": station, "page": "choose", "cases": []}
    answer = await house.client.post("/api/station", json=said, headers=house.as_("inside"))
    assert answer.json() == {"go": "/inside"}
    page = await house.client.get("/inside", headers=house.as_("inside"))
    assert f'data-cases="{case}"' in page.text
    await house.post([house.tap(case, "case.open", {"ref": "C7"}), close := house.tap(case, "case.close", {})])
    assert paired_to() == ()
    undo = house.tap(case, "tap.void", {"ref": close["id"]}, station=house.station("desk"))
    await house.post([undo], "desk")
    assert paired_to() == (case,), "the closing did not happen"


async def test_a_screen_paired_to_a_room_finds_the_case_that_is_open_there(house: House) -> None:
    case, _ = await house.case("C1", "R4"), await house.case("C2", "R5")
    station = take_cookie(house, await use(house, code_for(house, room="R4")), "inside")
    assert store.of_id(house.live.engine, station).cases == (case,)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("page", "cases", "go"),
    [
        ("inside", ["A"], None), ("inside", ["gone"], "/inside"), ("choose", [], "/inside"), ("choose", ["A", "B"], None),
        ("", [], None), ("diagnostics", [], None),
    ],
)  # fmt: skip
def test_a_screen_in_a_room_stays_where_it_is_while_it_may(page: str, cases: list[str], go: str | None) -> None:
    since = utc_now()
    station = Station(
        "S", "inside", "x", "en", (Pairing("A", since), Pairing("B", since), Pairing("gone", since, since))
    )
    assert elsewhere(station, page, cases) == go


def test_a_list_of_cases_is_drawn_anew_when_another_begins() -> None:
    since = utc_now()
    some = Station("S", "outside", "x", "en", (Pairing("A", since), Pairing("B", since)))
    assert elsewhere(some, "outside", ["A"]) == "/outside"
    assert elsewhere(some, "outside", ["B", "A"]) is None
    every = Station("S", "board", "x", "en", (Pairing("*", since),))
    assert elsewhere(every, "board", ["*"]) is None
    assert elsewhere(every, "board", ["A"]) == "/board"


async def test_the_diagnostics_page_says_what_to_do_for_each_thing(house: House) -> None:
    page = (await house.client.get("/diagnostics", headers=house.as_("inside"))).text
    checks = re.findall(r'data-check="(\w+)"(.*?)</li>', page, re.DOTALL)
    assert len(checks) == 13
    for name, words in checks:
        assert 'class="do"' in words, f"{name} does not say what to do"


async def test_over_plain_http_on_a_network_every_page_says_so(house: House) -> None:
    words = "Not encrypted: anyone on this network can read along."
    paths = ("/", "/pair", "/trust", "/board", "/desk/stations", "/nowhere")
    for host, url, told in (("127.0.0.1", "http", False), ("0.0.0.0", "http", True), ("0.0.0.0", "https", False)):
        house.app.state.settings = replace(house.app.state.settings, host=host)
        for path in paths:
            headers = house.as_("board", "desk") | {"accept": "text/html"}
            page = await house.client.get(f"{url}://door{path}", headers=headers)
            assert (words in page.text) == told, (host, url, path)
