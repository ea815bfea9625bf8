"""What is malformed, unknown or not permitted is refused in words; the good ones of the same list are stored."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from typing import Any

import pytest

from app.base.ids import new_id
from app.web.api.entries import ENTRIES_MOST
from app.web.security import BODY_MOST
from tests.app.web.house import House, refusal

pytestmark = pytest.mark.anyio

HUGE = 10**400


async def refused_among_good_ones(house: House, case: str, bad: Any, *, status: int = 422) -> dict[str, Any]:
    """Sends a bad tap between two good ones: those are stored, it is not, and the answer says why."""
    first, last = house.tap(case), house.tap(case)
    answer = await house.post([first, bad, last])
    assert answer.status_code == status, answer.text
    results = answer.json()["results"]
    assert [result["status"] for result in results] == ["stored", "refused", "stored"]
    assert house.stored() == [first["id"], last["id"]]
    assert results[1]["code"] == status
    return refusal(answer, 1)


async def test_an_unknown_kind_is_refused_and_the_nearest_is_named(house: House, case: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, "tube.pased", {}))
    assert "tube.pased" in told["error"]
    assert "tube.passed" in told["do"]


async def test_an_unknown_field_of_a_body_is_refused_and_the_allowed_ones_are_named(house: House, case: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, "vitals", {"spo": 97}))
    assert "vitals has no field 'spo'" in told["error"]
    assert "spo2" in told["error"]


async def test_an_unknown_field_of_the_envelope_is_refused(house: House, case: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, seq=1))
    assert told["error"].startswith("seq:")


async def test_a_missing_field_of_the_envelope_is_refused(house: House, case: str) -> None:
    tap = house.tap(case)
    del tap["device_at"]
    told = await refused_among_good_ones(house, case, tap)
    assert told["error"].startswith("device_at:")


async def test_a_missing_field_of_a_body_is_refused(house: House, case: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, "req.new", {"q": "q1"}))
    assert "item" in told["error"]


async def test_a_case_that_was_never_created_is_refused(house: House, case: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(new_id()), status=404)
    assert told["error"] == "There is no such case."
    assert told["do"] == "Open the case first."


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": 5}, {"body": []}, {"body": None}, {"body": "spo2=97"}, {"counter": "1"}, {"counter": 1.5},
        {"counter": True}, {"device_at": 1730000000}, {"device_at": None}, {"offset_ms": "0"}, {"role": 7},
        {"person": ["P1"]}, {"case": None}, {"station": {}}, {"id": 7}, {"id": None}, {"id": "not-an-id"},
        {"id": "01970000-0000-4000-8000-000000000000"}, {"case": ""}, {"kind": ""},
    ],
    ids=lambda wrong: "-".join(map(str, *wrong.items())),
)  # fmt: skip
async def test_a_field_of_the_wrong_type_is_refused(house: House, case: str, wrong: dict[str, Any]) -> None:
    await refused_among_good_ones(house, case, house.tap(case) | wrong)


@pytest.mark.parametrize("wrong", [{"spo2": "97"}, {"spo2": True}, {"spo2": [97]}, {"spo2": 101}, {"hr": {}}], ids=str)
async def test_a_figure_of_the_wrong_type_or_range_is_refused(house: House, case: str, wrong: dict[str, Any]) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, "vitals", wrong))
    assert next(iter(wrong)) in told["error"]


@pytest.mark.parametrize("one", [None, 7, "tap", [], [[]], True, 1.5], ids=repr)
async def test_something_that_is_no_entry_is_refused(house: House, case: str, one: Any) -> None:
    await refused_among_good_ones(house, case, one)


@pytest.mark.parametrize(
    "moment",
    ["", "now", "2026-11-03", "2026-11-03T14:10:00", "2026-13-03T14:10:00Z", "2026-02-30T14:10:00Z",
     "2026-11-03T25:10:00Z", "2026-11-03T14:10:00+99:00", "1e9"],
)  # fmt: skip
async def test_a_time_that_cannot_be_read_is_refused(house: House, case: str, moment: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, device_at=moment))
    assert told["error"].startswith("device_at")


@pytest.mark.parametrize(
    "moment",
    ["1999-12-31T23:59:59.999Z", "2101-01-01T00:00:00Z", "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59"],
)
async def test_a_time_outside_2000_to_2100_is_refused(house: House, case: str, moment: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, device_at=moment))
    assert "2000 to 2100" in told["error"]


@pytest.mark.parametrize("moment", ["2000-01-01T00:00:00Z", "2100-12-31T23:59:59.999Z"])
async def test_a_time_at_the_edge_of_what_is_kept_is_stored(house: House, case: str, moment: str) -> None:
    tap = house.tap(case, device_at=moment)
    answer = await house.post([tap])
    assert answer.status_code == 200
    assert house.stored() == [tap["id"]]


@pytest.mark.parametrize("bad", ["a\x00b", "a\ud800b", "\udfff"], ids=ascii)
@pytest.mark.parametrize("where", ["text", "item", "role", "person", "case", "kind", "id", "device_at", "station"])
async def test_a_nul_or_half_a_character_is_refused_wherever_it_stands(
    house: House, case: str, where: str, bad: str
) -> None:
    bodies = {"text": ("note", {"text": bad}), "item": ("kit.staged", {"tray": "clean", "has": ["tube", bad]})}
    tap = house.tap(case, *bodies[where]) if where in bodies else house.tap(case) | {where: bad}
    first, last = house.tap(case), house.tap(case)
    answer = await house.post([first, tap, last])
    refusal(answer, 1)
    assert house.stored() == [first["id"], last["id"]]


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("vitals", {"sp\ud800o2": 97}), ("tap.fix", {"ref": "x", "set_\ud800": 1}), ("tap.fix", {"ref": "x", "\ud800": 1}),
        ("role.assign", {"\ud800": "P1"}), ("role.assign", {"TL": "\ud800"}), ("tap.fix", {"ref": "x", "set_a": "\ud800"}),
        ("tap.fix", {"ref": "x", "set_a": ["\ud800"]}), ("role.assign", {"A\x00": "P1"}),
    ],
    ids=ascii,
)  # fmt: skip
async def test_half_a_character_in_the_name_of_a_field_is_refused(
    house: House, case: str, kind: str, body: dict[str, Any]
) -> None:
    await refused_among_good_ones(house, case, house.tap(case, kind, body))


async def test_half_a_character_in_the_name_of_an_envelope_field_is_refused(house: House, case: str) -> None:
    await refused_among_good_ones(house, case, house.tap(case) | {"\ud800": 1})


@pytest.mark.parametrize(
    "counter", [0, -1, -(2**63), 2**53, 2**63, 2**64, HUGE], ids=lambda n: f"{n:.3e}" if n < HUGE else "10^400"
)
async def test_a_counter_beyond_its_limits_is_refused(house: House, case: str, counter: int) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, counter=counter))
    assert told["error"].startswith("counter")


@pytest.mark.parametrize("counter", [1, 2**53 - 1])
async def test_a_counter_at_its_limits_is_stored(house: House, case: str, counter: int) -> None:
    answer = await house.post([house.tap(case, counter=counter)])
    assert answer.json()["results"][0]["status"] == "stored"


@pytest.mark.parametrize(
    "field", [{"offset_ms": HUGE}, {"offset_ms": -HUGE}, {"error_ms": HUGE}, {"error_ms": -1}, {"offset_ms": 1e14}],
    ids=lambda field: next(iter(field)),
)  # fmt: skip
async def test_a_clock_error_beyond_its_limits_is_refused(house: House, case: str, field: dict[str, Any]) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case) | field)
    assert told["error"].startswith(next(iter(field)))


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("vitals", {"hr": HUGE}), ("tap.fix", {"ref": "x", "set_hr": HUGE}), ("tap.fix", {"ref": "x", "set_hr": 2**53 + 1}),
        ("local.done", {"name": "x", "value": HUGE}), ("scope.start", {"n": -HUGE}), ("handover.done", {"items": HUGE}),
    ],
    ids=lambda part: part if isinstance(part, str) else "",
)  # fmt: skip
async def test_a_figure_that_cannot_be_kept_exactly_is_refused(
    house: House, case: str, kind: str, body: dict[str, Any]
) -> None:
    await refused_among_good_ones(house, case, house.tap(case, kind, body))


@pytest.mark.parametrize("constant", ["NaN", "Infinity", "-Infinity"])
async def test_a_constant_that_is_no_json_makes_the_list_unreadable(house: House, case: str, constant: str) -> None:
    body = json.dumps([house.tap(case, "vitals", {"spo2": "HERE"})]).replace('"HERE"', constant)
    answer = await house.post(body.encode())
    assert answer.status_code == 400
    assert "cannot be read as JSON" in refusal(answer)["error"]
    assert house.stored() == []


@pytest.mark.parametrize(("kind", "name"), [("vitals", "hr"), ("tap.fix", "set_hr")])
async def test_a_figure_that_overflows_to_infinity_is_refused(house: House, case: str, kind: str, name: str) -> None:
    good = house.tap(case)
    body = json.dumps([house.tap(case, kind, {name: "HERE"} | ({"ref": "x"} if kind == "tap.fix" else {})), good])
    answer = await house.post(body.replace('"HERE"', "1e999").encode())
    refusal(answer, 0)
    assert house.stored() == [good["id"]]


async def test_a_body_nested_too_deep_to_read_is_refused(house: House) -> None:
    answer = await house.post(b"[" * 400_000)
    assert answer.status_code == 400
    refusal(answer)


@pytest.mark.parametrize("depth", [5, 300, 900])
@pytest.mark.parametrize("kind", ["tap.fix", "role.assign", "vitals"])
async def test_a_value_nested_deep_in_a_body_is_refused(house: House, case: str, kind: str, depth: int) -> None:
    name = {"tap.fix": "set_spo2", "role.assign": "TL", "vitals": "spo2"}[kind]
    body = json.dumps({name: "HERE"} | ({"ref": "x"} if kind == "tap.fix" else {}))
    good = house.tap(case)
    sent = json.dumps([house.tap(case, kind, "BODY"), good]).replace('"BODY"', body)
    answer = await house.post(sent.replace('"HERE"', "[" * depth + "]" * depth).encode())
    refusal(answer, 0)
    assert house.stored() == [good["id"]]


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
                                   b'"[]"', b'{"taps": []}', b'{"entries": [], "seed": 1}'], ids=repr)  # fmt: skip
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


@pytest.mark.parametrize("length", [200, 201, 10_000])
@pytest.mark.parametrize("name", ["role", "person"])
async def test_a_role_or_person_longer_than_two_hundred_characters_is_refused(
    house: House, case: str, name: str, length: int
) -> None:
    tap = house.tap(case) | {name: "x" * length}
    if length > 200:
        await refused_among_good_ones(house, case, tap)
    else:
        assert (await house.post([tap])).status_code == 200


async def test_a_text_longer_than_two_thousand_characters_is_refused(house: House, case: str) -> None:
    await refused_among_good_ones(house, case, house.tap(case, "note", {"text": "x" * 2001}))


async def test_an_unpaired_browser_stores_nothing(house: House, case: str) -> None:
    answer = await house.client.post("/api/entries", json=[house.tap(case)])
    assert answer.status_code == 403
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


@pytest.mark.parametrize("kind", ["net.down", "net.up"])
async def test_only_the_server_says_that_a_link_was_lost(house: House, case: str, kind: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, kind, {"device": "X1"}), status=403)
    assert "server alone" in told["error"]


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
