"""What is malformed, unknown or not permitted is refused in words; the good ones of the same list are stored."""

from __future__ import annotations

import json
from typing import Any

import pytest

from app.base.ids import new_id
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


@pytest.mark.parametrize(("kind", "name"), [("vitals", "hr"), ("tap.fix", "set_hr")])
async def test_a_figure_that_overflows_to_infinity_is_refused(house: House, case: str, kind: str, name: str) -> None:
    good = house.tap(case)
    body = json.dumps([house.tap(case, kind, {name: "HERE"} | ({"ref": "x"} if kind == "tap.fix" else {})), good])
    answer = await house.post(body.replace('"HERE"', "1e999").encode())
    refusal(answer, 0)
    assert house.stored() == [good["id"]]


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


@pytest.mark.parametrize("length", [200, 201, 10_000])
@pytest.mark.parametrize("name", ["role", "person"])
async def test_a_role_or_person_longer_than_two_hundred_characters_is_refused(
    house: House, case: str, name: str, length: int
) -> None:
    tap = house.tap(case) | {name: "x" * length}
    if length > 200 or name == "person":  # a tablet names nobody, however short: people sign in at desks
        await refused_among_good_ones(house, case, tap)
    else:
        assert (await house.post([tap])).status_code == 200


async def test_a_text_longer_than_two_thousand_characters_is_refused(house: House, case: str) -> None:
    await refused_among_good_ones(house, case, house.tap(case, "note", {"text": "x" * 2001}))


@pytest.mark.parametrize("kind", ["net.down", "net.up"])
async def test_only_the_server_says_that_a_link_was_lost(house: House, case: str, kind: str) -> None:
    told = await refused_among_good_ones(house, case, house.tap(case, kind, {"device": "X1"}), status=403)
    assert "server alone" in told["error"]
