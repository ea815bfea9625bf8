"""Whole lists: too large, unreadable, sent twice, sent by the wrong station; and what is stored although it is odd."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator

import pytest

from app.base.ids import new_id
from app.web.api.entries import ENTRIES_MOST
from app.web.security import BODY_MOST
from tests.app.web.house import House, refusal

pytestmark = pytest.mark.anyio


@pytest.mark.parametrize("constant", ["NaN", "Infinity", "-Infinity"])
async def test_a_constant_that_is_no_json_makes_the_list_unreadable(house: House, case: str, constant: str) -> None:
    body = json.dumps([house.tap(case, "vitals", {"spo2": "HERE"})]).replace('"HERE"', constant)
    answer = await house.post(body.encode())
    assert answer.status_code == 400
    assert "cannot be read as JSON" in refusal(answer)["error"]
    assert house.stored() == []


async def test_a_body_nested_too_deep_to_read_is_refused(house: House) -> None:
    answer = await house.post(b"[" * 400_000)
    assert answer.status_code == 400
    refusal(answer)


async def test_a_body_of_ten_megabytes_is_refused_by_its_declared_length(house: House) -> None:
    answer = await house.post(b"[" + b" " * 10_000_000 + b"]")
    assert answer.status_code == 413
    assert f"{BODY_MOST:,}" in refusal(answer)["error"]


async def test_a_body_of_ten_megabytes_of_undeclared_length_is_refused_without_being_read_to_its_end(
    house: House,
) -> None:
    sent = 0

    async def parts() -> AsyncIterator[bytes]:
        nonlocal sent
        for _ in range(1000):
            sent += 10_000
            yield b" " * 10_000

    answer = await house.client.post("/api/entries", content=parts(), headers=house.as_("inside"))
    assert answer.status_code == 413
    refusal(answer)
    assert sent < 2 * BODY_MOST


async def test_a_length_that_is_a_lie_does_not_open_the_door(house: House) -> None:
    answer = await house.post(b"[" + b" " * 1_500_000 + b"]", headers={"content-length": "2"})
    assert answer.status_code == 413


@pytest.mark.parametrize("given", [b"", b"tap", b"\xff\xfe\xfa", b'{"entries": 3}', b'{"more": true}', b"3", b"null",
                                   b'"[]"', b'{"taps": []}', b'{"entries": [], "seed": 1}',
                                   b'{"entries": [], "more": "yes"}'], ids=repr)  # fmt: skip
async def test_a_body_that_is_no_list_is_refused(house: House, given: bytes) -> None:
    answer = await house.post(given)
    assert answer.status_code == 400
    told = refusal(answer)
    assert told["holds"] == "Nothing of it was stored."


async def test_five_hundred_entries_fit_in_a_list_and_one_more_does_not(house: House, case: str) -> None:
    taps = [house.tap(case, "hold", {}) for _ in range(ENTRIES_MOST + 1)]
    answer = await house.post(taps)
    assert answer.status_code == 413
    assert str(ENTRIES_MOST + 1) in refusal(answer)["error"]
    assert house.stored() == []
    answer = await house.post(taps[1:])
    assert answer.status_code == 200
    assert house.stored() == [tap["id"] for tap in taps[1:]]


async def test_an_empty_list_is_answered_with_an_empty_list(house: House) -> None:
    answer = await house.post([])
    assert answer.status_code == 200
    assert answer.json() == {"results": []}


async def test_a_list_that_is_too_long_for_one_request_says_that_there_is_more(house: House, case: str) -> None:
    answer = await house.post({"entries": [house.tap(case)], "more": True})
    assert answer.status_code == 200


async def test_an_unpaired_browser_stores_nothing(house: House, case: str) -> None:
    answer = await house.client.post("/api/entries", json=[house.tap(case)])
    assert answer.status_code == 401
    assert "stays on it" in refusal(answer)["holds"]
    assert house.stored() == []


async def test_a_tap_of_another_station_than_the_one_that_sends_it_is_refused(house: House, case: str) -> None:
    good = house.tap(case) | {"station": house.station("outside")}
    answer = await house.post([house.tap(case), good], "outside")
    assert answer.status_code == 403
    assert "not paired" in refusal(answer, 0)["error"]
    assert house.stored() == [good["id"]]


async def test_a_station_writes_only_to_cases_it_was_paired_to(house: House, case: str) -> None:
    own = await house.case("C2")
    house.pair("inside", own)
    bad, good = house.tap(case), house.tap(own)
    answer = await house.post([bad, good])
    assert answer.status_code == 403
    assert "never paired" in refusal(answer, 0)["error"]
    assert house.stored() == [good["id"]]


async def test_the_same_tap_twice_in_a_list_is_stored_once(house: House, case: str) -> None:
    tap = house.tap(case)
    answer = await house.post([tap, tap])
    assert answer.status_code == 200
    first, second = answer.json()["results"]
    assert (first["status"], second["status"]) == ("stored", "already")
    assert first["seq"] == second["seq"] == 1
    assert house.stored() == [tap["id"]]


async def test_a_tap_sent_twice_is_stored_once_and_answered_as_the_first_time(house: House, case: str) -> None:
    tap = house.tap(case)
    first = (await house.post([tap])).json()["results"][0]
    second = (await house.post([tap])).json()["results"][0]
    assert second == first | {"status": "already"}
    assert house.stored() == [tap["id"]]


async def test_another_content_under_a_known_id_is_refused_and_the_first_stands(house: House, case: str) -> None:
    tap = house.tap(case)
    await house.post([tap])
    good = house.tap(case)
    answer = await house.post([tap | {"body": {"spo2": 50}}, good])
    assert answer.status_code == 409
    assert "stands as it was" in refusal(answer, 0)["holds"]
    assert house.stored() == [tap["id"], good["id"]]


async def test_a_known_id_in_another_case_is_refused(house: House, case: str) -> None:
    tap = house.tap(case)
    await house.post([tap])
    answer = await house.post([tap | {"case": await house.case("C2")}])
    assert answer.status_code == 409
    assert "another case" in refusal(answer, 0)["error"]


async def test_what_comes_before_a_case_is_opened_and_after_it_is_closed_is_stored(house: House, case: str) -> None:
    early = house.tap(case)
    course = [house.tap(case, "case.open", {}), house.tap(case, "case.close", {}), house.tap(case, "case.sign", {})]
    late = house.tap(case)
    for taps in ([early], course, [late]):
        assert (await house.post(taps)).status_code == 200
    assert house.stored() == [tap["id"] for tap in (early, *course, late)]


async def test_a_correction_of_something_that_has_not_arrived_is_stored(house: House, case: str) -> None:
    answer = await house.post(
        [house.tap(case, "tap.void", {"ref": new_id()}), house.tap(case, "tap.fix", {"ref": "?"})]
    )
    assert answer.status_code == 200


async def test_a_procedure_without_a_protocol_spoils_neither_its_list_nor_any_page(house: House, case: str) -> None:
    taps = [house.tap(case, "case.open", {"procedure": "something else", "age": "old"}), house.tap(case)]
    assert (await house.post(taps)).status_code == 200
    assert house.stored() == [tap["id"] for tap in taps]
    for page, kind in (("/outside", "outside"), ("/board", "board"), (f"/case/{case}", "desk")):
        assert (await house.client.get(page, headers=house.as_(kind))).status_code == 200, page


async def test_words_of_a_station_are_shown_as_they_are_and_never_as_code(house: House, case: str) -> None:
    item = "0.9 % saline <b>500 mL</b> %(q)s {q}"
    await house.post([house.tap(case, "req.new", {"q": "q1", "item": item}), house.tap(case, "plan.set", {"A": item}),
                      house.tap(case, "note", {"text": item})])  # fmt: skip
    shown = "0.9 % saline &lt;b&gt;500 mL&lt;/b&gt; %(q)s {q}"
    for page, kind in (("/outside", "outside"), (f"/inside?case={case}", "inside"), (f"/case/{case}", "desk")):
        answer = await house.client.get(page, headers=house.as_(kind))
        assert answer.status_code == 200, page
        assert shown in answer.text, page
        assert "<b>500 mL" not in answer.text
