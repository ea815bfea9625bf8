"""What `case.open` is pinned to when it arrives: the protocol's version with its rules, stored with the entry."""

from __future__ import annotations

from typing import Any

import pytest

from app.base.database import open_engine
from app.journal.entry import Tap
from app.live.facts import Registers
from app.protocol.library import protocol_for
from app.protocol.pinned import rules_of


@pytest.fixture
def registers(sqlite_url: str) -> Any:
    engine = open_engine(sqlite_url)
    yield Registers(engine)
    engine.dispose()


def opened(**body: Any) -> Tap:
    return Tap("e1", "c1", "case.open", body, "desk", 1, "2026-11-03T14:10:00.000Z")


@pytest.mark.parametrize(
    ("body", "procedure", "age"),
    [
        ({"procedure": "tracheostomy", "age": "adult"}, "tracheostomy", "adult"),
        ({"procedure": "intubation", "age": 6}, "intubation", "child"),
        ({}, "intubation", "adult"),
    ],
)
def test_opening_a_case_pins_version_and_rules_of_its_protocol(
    registers: Registers, body: dict[str, Any], procedure: str, age: str
) -> None:
    protocol = protocol_for(procedure, age)
    told = registers.facts(opened(**body))["protocol"]
    assert (told["id"], told["version"]) == (protocol.id, protocol.version)
    assert rules_of(told) == protocol.rules


def test_a_procedure_that_no_protocol_covers_pins_nothing(registers: Registers) -> None:
    assert "protocol" not in registers.facts(opened(procedure="dialysis"))


def test_no_other_entry_carries_a_protocol(registers: Registers) -> None:
    tap = Tap("e2", "c1", "vitals", {"spo2": 97}, "desk", 2, "2026-11-03T14:10:00.000Z")
    assert registers.facts(tap) == {}


@pytest.mark.parametrize("body", [{"set_p": "P6"}, {"set_AO": "P6"}, {"set_checker": "P6"}])
def test_a_correction_that_names_somebody_new_carries_what_the_registers_say_of_them(
    registers: Registers, body: dict[str, Any]
) -> None:
    registers.people = {"P6": {"id": "P6", "name": "Ada"}}
    tap = Tap("e3", "c1", "tap.fix", {"ref": "e2", **body}, "desk", 3, "2026-11-03T14:11:00.000Z")
    assert registers.facts(tap)["people"]["P6"]["name"] == "Ada"
